"""A job card made on a page: from a job, a recipe, a conveyor or words, to a file or a live job."""

import re
import tomllib

import pytest
from starlette.testclient import TestClient

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.flows.knowhow import prepared, recipes
from recorder.model.job import in_force
from recorder.model.reading import Role

CONVEYOR = {"from_conveyor": "Oven outfeed 3"}
WHOLE = {
    **CONVEYOR, "v_job_number": "6120", "v_splice_type": "finger", "v_finger_length": "80 mm",
    "v_finger_pitch": "20 mm", "v_template": "T80-20 <b>",
}  # fmt: skip


def text_of(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def job_of(home: Home, day: int) -> str:
    return next(each.name for each in home.jobs.glob(f"202611{day:02d}-09*"))


def test_nothing_is_begun_without_a_source(reader: TestClient, shop: Home) -> None:
    page = reader.get("/prepare").text
    assert "Make the draft" in page
    assert "Start the job with this card" not in page
    assert job_of(shop, 6) in page  # that it can be made from
    assert "Larkfield Bakery / Packing hall 2 / Oven outfeed 3" in page


def test_the_words_that_the_page_gives_as_an_example_say_the_whole_job(reader: TestClient) -> None:
    (hint,) = re.findall(r"As you would say it: “(.*)”", reader.get("/prepare").text)
    text = text_of(reader.post("/prepare", data={"said": hint}).text)
    assert "Finger length 80 mm said" in text
    assert "nothing is missing" in text


def test_each_value_tells_where_it_comes_from(reader: TestClient, shop: Home) -> None:
    asked = {"from_job": job_of(shop, 5), "v_belt_width": "24 inch", "said": "template T9"}
    text = text_of(reader.get("/prepare", params=asked).text)
    assert "Belt width 609.6 mm" in text
    assert "Belt material PU-20 green job 5105" in text
    assert "Top platen 183 °C job 5105" in text
    assert "Belt width: 609.6 mm (24 in) (typed); job 5105 says 600 mm." in text


def test_what_is_missing_is_asked_and_a_template_proposed(reader: TestClient) -> None:
    sent = {**CONVEYOR, "v_splice_type": "finger", "v_finger_length": "80 mm"}
    page = reader.post("/prepare", data={**sent, "v_finger_pitch": "20 mm"})
    text = text_of(page.text)
    assert "Still to say" in text
    assert "Job number May stay open." in text
    assert "Take T80-20 &lt;b&gt;" in text
    assert "Press P2: overdue for its check since 2025-10-01" in text
    taken = reader.post("/prepare", data={**sent, "v_finger_pitch": "20 mm", "take": "template"})
    assert 'name="v_template" value="T80-20 &lt;b&gt;"' in taken.text
    assert "nothing is missing" in text_of(taken.text)


def test_doubtful_words_are_asked_and_not_taken(reader: TestClient) -> None:
    said = {"said": "customer Larkfield Bakery, pressure 22 bar"}
    page = reader.post("/prepare", data=said).text
    assert "Heard 22 bar or 2.2 bar: 22 bar is outside 0.3 bar to 6 bar." in text_of(page)
    assert "Pressure 22 bar said" not in text_of(page)
    taken = text_of(reader.post("/prepare", data={**said, "take": "pressure"}).text)
    assert "Pressure 22 bar typed" in taken


def test_a_setting_that_differs_is_asked_about_and_not_forbidden(
    reader: TestClient, shop: Home
) -> None:
    sent = {"from_job": job_of(shop, 5), "v_top_temperature": "195 °C"}
    text = text_of(reader.post("/prepare", data=sent).text)
    assert "195 °C is asked for; " in text
    assert "195 °C (typed)" not in text  # it is asked about already
    assert "179 °C to 183 °C" in text
    meant = reader.post("/prepare", data={**sent, "take": "top_temperature"})
    assert 'type="hidden" name="meant" value="top_temperature"' in meant.text
    assert "195 °C is asked for." not in text_of(meant.text)
    assert "Top platen 195 °C typed" in text_of(meant.text)


def test_the_length_is_worked_out_from_the_drive_of_the_conveyor(reader: TestClient) -> None:
    text = text_of(reader.post("/prepare", data={**WHOLE, "l_trim": "20 mm"}).text)
    assert "Endless, along the middle of the belt 9113.3 mm" in text
    assert "Punched, from tip to tip 9193.3 mm" in text
    assert "Cut, between square ends 9233.3 mm" in text


@pytest.mark.parametrize(
    ("more", "status", "told"),
    [
        ({"v_belt_width": "600"}, 422, "say the unit too"),
        ({"l_centres": "100 mm"}, 422, "No belt runs like this"),
        ({"l_trim": "-5 mm"}, 422, "cannot be negative"),
        ({"from_recipe": "Nothing"}, 404, "no recipe"),
        ({"from_job": "20200101-000000-none"}, 404, "No job answers"),
        ({"from_conveyor": "Nowhere"}, 404, "no conveyor"),
    ],
)
@pytest.mark.parametrize("path", ["/prepare", "/prepare/card"])
def test_what_cannot_be_is_told_and_the_form_stays(
    reader: TestClient, path: str, more: dict[str, str], status: int, told: str
) -> None:
    page = reader.post(path, data={**WHOLE, **more})
    assert page.status_code == status
    assert told.casefold() in text_of(page.text).casefold()
    assert 'value="6120"' in page.text


def test_the_card_is_a_file_for_people_and_one_for_the_program(reader: TestClient) -> None:
    sheet = reader.post("/prepare/card", data={**WHOLE, "as": "pdf"})
    assert sheet.content.startswith(b"%PDF-")
    assert sheet.headers["content-disposition"].endswith('"job_card-6120-Oven-outfeed-3.pdf"')
    card = reader.post("/prepare/card", data={**WHOLE, "as": "toml"})
    assert tomllib.loads(card.text)["template"] == "T80-20 <b>"


def test_a_live_job_begins_with_the_card(client: TestClient, worked: Home) -> None:
    answer = client.post("/prepare/start", data={**WHOLE, "v_dwell_time": "3 min"})
    assert answer.status_code == 303
    folder = JobFolder(worked.jobs / answer.headers["location"].removeprefix("/live/"))
    job = folder.load()
    assert in_force(job.readings)["customer"].value == "Larkfield Bakery"
    assert in_force(job.readings, role=Role.ASKED)["dwell_time"].value == 180.0
    assert job.belt_length


def test_a_card_waits_until_its_job_begins(client: TestClient, worked: Home) -> None:
    for _ in range(2):
        kept = client.post("/prepare/keep", data=WHOLE)
        assert kept.headers["location"] == "/prepare#waiting"
    first, second = prepared.prepared(worked)
    page = text_of(client.get("/prepare").text)
    assert "Cards that wait 6120, Larkfield Bakery, Oven outfeed 3" in page
    assert "2 cards wait" in text_of(client.get("/").text)
    assert client.post("/prepare/discard", data={"name": first.name}).status_code == 303
    begun = client.post("/prepare/begin", data={"name": second.name})
    assert begun.headers["location"].startswith("/live/")
    assert prepared.prepared(worked) == ()
    for name in (second.name, "../settings", ""):
        assert client.post("/prepare/begin", data={"name": name}).status_code == 404


def test_a_recipe_leads_to_a_card(client: TestClient, worked: Home) -> None:
    recipes.keep(worked, JobFolder(worked.jobs / job_of(worked, 1)).load(), 1, "Oven 70")
    found = re.search(r'href="(/prepare\?[^"]+)"', client.get("/recipes/oven-70").text)
    assert found
    text = text_of(client.get(found[1]).text)
    assert "Top platen 179 °C recipe Oven 70, version 1" in text


def test_the_start_page_tells_what_is_overdue_whatever_else_is_damaged(
    client: TestClient, worked: Home
) -> None:
    page = text_of(client.get("/").text)
    assert "✗ Press P2: overdue for its check since 2025-10-01" in page
    assert page.index("Start a job") < page.index("Prepare a job") < page.index("overdue")
    worked.inventory.write_text("[[press")
    worked.index.unlink()
    assert "Start a job" in client.get("/").text
