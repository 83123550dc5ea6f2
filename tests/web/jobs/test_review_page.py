"""The page of a job: what waits stands first, and answers are kept."""

import io
import re
import wave

import pytest
from starlette.testclient import TestClient

from recorder.archive.jobs.events import read
from recorder.model.job import in_force, to_confirm
from recorder.model.reading import Standing
from recorder.web.jobs import history
from tests.web.jobs.places import Made

HEARD = "/jobs/20261125-093000-6ab6"


def text_of(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def place_of(made: Made, field: str) -> int:
    readings = made.jobs["heard"].load().readings
    return max(place for place, reading in enumerate(readings) if reading.field == field)


def test_doubts_stand_before_everything_that_is_known(client: TestClient) -> None:
    page = client.get(HEARD)
    assert page.status_code == 200
    text = text_of(page.text)
    assert text.index("172 °C ?") < text.index("All values") < text.index("Who did what")
    assert "Yes, 172 °C" in text
    assert "No, 178 °C" in text
    assert "Asked because the hearings differ." in text


def test_what_a_complete_record_lacks_is_asked_for(client: TestClient) -> None:
    text = text_of(client.get(HEARD).text)
    assert "Not said yet" in text
    assert text.index("Pressure") < text.index("All values")


def test_yes_is_kept_with_an_event_of_the_technician(client: TestClient, made: Made) -> None:
    place = place_of(made, "top_temperature")
    answer = client.post(f"{HEARD}/confirm", data={"place": place})
    assert (answer.status_code, answer.headers["location"]) == (303, f"{HEARD}#waiting")
    held = in_force(made.jobs["heard"].load().readings)["top_temperature"]
    assert held.standing is Standing.CONFIRMED
    event = read(made.jobs["heard"].events).events[-1]
    assert (event.what.value, event.who.person) == ("confirmed", "Imke Dorn")


def test_a_candidate_is_taken(client: TestClient, made: Made) -> None:
    place = place_of(made, "top_temperature")
    client.post(f"{HEARD}/replace", data={"place": place, "candidate": 0})
    assert in_force(made.jobs["heard"].load().readings)["top_temperature"].value == 178.0


def test_a_value_in_another_unit_is_typed(client: TestClient, made: Made) -> None:
    place = place_of(made, "top_temperature")
    client.post(f"{HEARD}/replace", data={"place": place, "text": "345 °F"})
    held = in_force(made.jobs["heard"].load().readings)["top_temperature"]
    assert held.shown() == "174 °C (345 °F)"


def test_a_flag_is_answered_by_its_value(client: TestClient, made: Made) -> None:
    assert "Yes, yes" not in text_of(client.get(HEARD).text)
    place = place_of(made, "isolation_confirmed")
    client.post(f"{HEARD}/replace", data={"place": place, "text": "no"})
    assert in_force(made.jobs["heard"].load().readings)["isolation_confirmed"].value is False


def test_a_value_that_cannot_be_is_refused_beside_its_field(client: TestClient, made: Made) -> None:
    place, before = place_of(made, "top_temperature"), made.jobs["heard"].load()
    answer = client.post(f"{HEARD}/replace", data={"place": place, "text": "7 <bar>"})
    assert answer.status_code == 422
    assert f'id="d{place}-wrong" role="alert"' in answer.text
    assert 'value="7 &lt;bar&gt;"' in answer.text
    assert made.jobs["heard"].load() == before


def test_a_missing_value_is_entered(client: TestClient, made: Made) -> None:
    sent = {"field": "pressure", "text": "32 psi", "splice": 1, "run": 1}
    assert client.post(f"{HEARD}/enter", data=sent).status_code == 303
    assert in_force(made.jobs["heard"].load().readings)["pressure"].shown() == "2.21 bar (32 psi)"


def test_a_refused_missing_value_is_told_beside_it(client: TestClient) -> None:
    sent = {"field": "pressure", "text": "32", "splice": 1, "run": 1}
    answer = client.post(f"{HEARD}/enter", data=sent)
    assert answer.status_code == 422
    assert 'id="l-pressure-wrong"' in answer.text


def test_an_answer_that_came_too_late_says_so(client: TestClient, made: Made) -> None:
    place = place_of(made, "outcome")
    client.post(f"{HEARD}/replace", data={"place": place, "text": "rework"})
    late = client.post(f"{HEARD}/confirm", data={"place": place})
    assert late.status_code == 409
    assert "holds readings that came in meanwhile" in late.text
    assert in_force(made.jobs["heard"].load().readings)["outcome"].value == "rework"


@pytest.mark.parametrize("sent", [{}, {"place": "x"}, {"place": "-1"}, {"place": "9" * 40}])
def test_a_form_that_is_none_changes_nothing(
    client: TestClient, made: Made, sent: dict[str, str]
) -> None:
    before = made.jobs["heard"].load()
    assert client.post(f"{HEARD}/confirm", data=sent).status_code == 409
    assert made.jobs["heard"].load() == before


def test_the_history_of_a_value_stays_on_the_page(client: TestClient, made: Made) -> None:
    place = place_of(made, "outcome")
    client.post(f"{HEARD}/replace", data={"place": place, "text": "rework"})
    text = text_of(client.get(HEARD).text)
    assert "Before, the newest first accepted" in text
    assert "corrected: Outcome rework" in text


def test_of_a_long_history_the_newest_is_shown(
    client: TestClient, made: Made, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(history, "MOST_SHOWN", 2)
    text = text_of(client.get(HEARD).text)
    every = len(read(made.jobs["heard"].events).events)
    assert f"{every} events, the last one" in text
    assert f"{every - 2} earlier events stand in events.jsonl" in text


def test_the_words_behind_a_value_can_be_heard(client: TestClient, made: Made) -> None:
    answer = client.get(f"{HEARD}/clip/{place_of(made, 'top_temperature')}")
    assert answer.headers["content-type"] == "audio/wav"
    with wave.open(io.BytesIO(answer.content)) as sound:
        assert sound.getnframes() / sound.getframerate() == pytest.approx(3.0)


@pytest.mark.parametrize("place", ["99", "-1", "x", "../../job.json"])
def test_behind_no_value_there_is_nothing(client: TestClient, place: str) -> None:
    assert client.get(f"{HEARD}/clip/{place}").status_code in (400, 404)


def test_names_of_strangers_are_text(client: TestClient) -> None:
    page = client.get("/jobs/20261124-093000-6ab6").text
    assert "<script>alert" not in page
    assert "<img src=x" not in page
    assert "&lt;script&gt;alert(1)" in page


def test_where_the_home_lies_is_told_to_nobody(client: TestClient, made: Made) -> None:
    made.jobs["heard"].record.write_text("{")
    for accept in ("text/html", "application/json"):
        answer = client.get(HEARD, headers={"accept": accept})
        assert answer.status_code == 422
        assert str(made.home.root) not in answer.text
        assert "cannot be read as a job" in answer.text


def test_nothing_waits_once_everything_is_answered(client: TestClient, made: Made) -> None:
    job = made.jobs["no_photo"].load()
    for reading in to_confirm(job):
        client.post(f"/jobs/{job.id}/confirm", data={"place": job.readings.index(reading)})
    for field, value in (("cool_down_temperature", "60 degC"), ("bubbles", "no")):
        client.post(
            f"/jobs/{job.id}/enter", data={"field": field, "text": value, "splice": 1, "run": 1}
        )
    assert "Nothing waits" in client.get(f"/jobs/{job.id}").text
