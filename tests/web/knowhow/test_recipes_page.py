"""What was used on such a belt, on a page; a recipe kept from a job, compared and retired."""

import re
from urllib.parse import unquote

import pytest
from starlette.testclient import TestClient

from recorder.archive.disk.home import Home
from recorder.flows.knowhow import recipes as flow
from tests.web.knowhow.places import pressed

BELT = {"belt_material": "pu-20 GREEN", "belt_thickness": "2 mm", "belt_width": "0.6 m"}


def text_of(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)).replace(" ,", ",")


def job_of(home: Home, day: int) -> str:
    return next(each.name for each in home.jobs.glob(f"202611{day:02d}-09*"))


def test_accepted_and_rejected_stand_side_by_side(reader: TestClient, shop: Home) -> None:
    page = reader.get("/recipes", params=BELT)
    text = text_of(page.text)
    assert page.status_code == 200
    assert "5 of 6 splices accepted" in text
    assert "from 44 to 97 % (Wilson interval, 95 %)" in text
    assert "Top platen 181 °C 179 to 183 °C s 1.6 K n 5 – 165 °C n 1" in text
    assert "Press P2 (5)" in text
    assert f'href="/jobs/{job_of(shop, 6)}"' in page.text


def test_each_number_leads_to_its_jobs(reader: TestClient, shop: Home) -> None:
    page = reader.get("/recipes", params=BELT).text
    found = re.search(r'class="jobs" href="([^"]+)">5 jobs', page)
    assert found
    archive = text_of(reader.get(unquote(found[1]).replace("&amp;", "&")).text)
    assert "5 jobs" in archive
    assert "5106" not in archive  # which was rejected


def test_values_are_shown_in_the_wanted_unit(reader: TestClient, shop: Home) -> None:
    text = text_of(reader.get("/recipes", params={**BELT, "unit": ["degF", "psi"]}).text)
    assert "358 °F 354 to 361 °F s 2.8 °F" in text
    assert "31.9 psi" in text


def test_without_a_question_it_is_the_belt_of_the_last_job(
    client: TestClient, worked: Home
) -> None:
    last = pressed(worked, 28, belt_width=450.0)
    page = client.get("/recipes")
    assert page.text == client.get("/recipes", params={"job": last.id}).text
    text = text_of(page.text)
    assert "Nobody has joined just such a belt yet" in text
    assert "150 mm wider" in text
    assert 'value="450 mm"' in page.text


@pytest.mark.parametrize(
    ("asked", "status", "told"),
    [
        ({"belt_width": "600"}, 422, "say the unit too"),
        ({"belt_width": "600 bar"}, 422, "bar"),
        ({"guide_profile": "round"}, 422, "round"),
        ({"unit": "parsec", **BELT}, 422, "parsec"),
        ({"belt_width": "600 mm"}, 200, "Tell the material above"),
        ({"job": "20200101-000000-none"}, 404, "No job answers"),
        ({"job": "../../x"}, 404, "No job answers"),
        ({"belt_material": "<script>" * 20}, 200, "Nobody has joined just such a belt"),
    ],
)
def test_what_cannot_be_asked_is_told_beside_the_form(
    reader: TestClient, shop: Home, asked: dict[str, str], status: int, told: str
) -> None:
    page = reader.get("/recipes", params=asked)
    assert page.status_code == status
    assert told in text_of(page.text)
    assert 'name="belt_material"' in page.text
    assert "<script>" not in page.text.replace("<script type=", "")


def test_an_archive_without_belts_says_so(device: TestClient) -> None:
    page = device.get("/recipes")
    assert page.status_code == 200
    assert "No job tells of its belt yet" in page.text


def test_a_recipe_is_kept_from_a_job_compared_and_retired(client: TestClient, worked: Home) -> None:
    first, second = job_of(worked, 1), job_of(worked, 5)
    assert "Keep as recipe" in client.get(f"/jobs/{first}").text
    sent = {"recipe": "Oven 70 <b>", "splice": "1"}
    kept = client.post(f"/jobs/{first}/recipe", data=sent)
    assert (kept.status_code, kept.headers["location"]) == (303, "/recipes/oven-70-b")
    client.post(f"/jobs/{second}/recipe", data={"recipe": "oven 70 B", "splice": "1"})
    text = text_of(client.get("/recipes/oven-70-b").text)
    assert "Recipe, version 2" in text
    assert "Top platen 183 °C 179 to 183 °C in the jobs" in text
    assert "Imke Dorn" in text

    page = client.get("/recipes/oven-70-b", params={"with": "Oven 70 <b>:1"})
    assert "Top platen ▲ differs 183 °C (179 to 183 °C) 179 °C (179 to 183 °C)" in text_of(
        page.text
    )
    page = client.get("/recipes/oven-70-b", params={"with": "nothing"})
    assert (page.status_code, 'role="alert"' in page.text) == (404, True)

    assert "Oven 70 &lt;b&gt;" in client.get("/recipes", params=BELT).text
    refused = client.post("/recipes/oven-70-b/retire", data={"reason": " "})
    assert refused.status_code == 422
    retired = client.post("/recipes/oven-70-b/retire", data={"reason": "a new platen"})
    assert retired.headers["location"] == "/recipes/oven-70-b"
    assert "version 3, retired" in text_of(client.get("/recipes/oven-70-b").text)
    assert [each.retired for each in flow.versions(worked, "oven 70 b")] == [False] * 2 + [True]


def test_only_an_accepted_splice_makes_a_recipe(client: TestClient, worked: Home) -> None:
    rejected = job_of(worked, 6)
    assert "Keep as recipe" not in client.get(f"/jobs/{rejected}").text
    page = client.post(f"/jobs/{rejected}/recipe", data={"recipe": "Bad", "splice": "1"})
    assert page.status_code == 422
    assert "came out as rejected" in text_of(page.text)
    assert not flow.recipes(worked)


@pytest.mark.parametrize("name", ["", "x" * 81, "///", "\u202e", "a\x00b"])
def test_no_recipe_has_such_a_name(reader: TestClient, shop: Home, name: str) -> None:
    job = job_of(shop, 1)
    page = reader.post(f"/jobs/{job}/recipe", data={"recipe": name, "splice": "1"})
    assert page.status_code == 422
    assert "cannot be the name of a recipe" in text_of(page.text)
    assert not flow.recipes(shop)


def test_a_recipe_that_others_changed_is_told_and_hides_nothing_else(
    client: TestClient, worked: Home
) -> None:
    client.post(f"/jobs/{job_of(worked, 1)}/recipe", data={"recipe": "Oven", "splice": "1"})
    path = next(worked.recipes.glob("*.jsonl"))
    path.write_text(path.read_text().replace("179.0", "199.0", 1))
    page = client.get("/recipes", params=BELT)
    assert page.status_code == 200
    assert "is not as it was kept" in text_of(page.text)
    assert "5 of 6 splices accepted" in text_of(page.text)
    assert str(worked.root) not in page.text
    assert client.get("/recipes/oven").status_code == 422
