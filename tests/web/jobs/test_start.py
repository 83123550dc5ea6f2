"""The start page: what runs first, then a new job, then the last ones."""

import re

from starlette.testclient import TestClient

from recorder.archive.jobs.folder import JobFolder
from tests.web.jobs.places import Made


def test_a_job_is_begun_by_one_touch_and_shown_first(client: TestClient, made: Made) -> None:
    assert "under way" not in client.get("/").text
    answer = client.post("/jobs")
    assert answer.status_code == 303
    job_id = re.fullmatch(r"/live/([0-9a-z-]+)", answer.headers["location"])
    assert job_id
    assert not JobFolder(made.home.jobs / job_id[1]).load().complete
    page = client.get("/").text
    assert page.index("A job is under way") < page.index("Start a job") < page.index("Last jobs")
    assert f'href="/live/{job_id[1]}"' in page


def test_a_job_that_runs_is_not_among_the_last_ones(client: TestClient) -> None:
    job_id = client.post("/jobs").headers["location"].removeprefix("/live/")
    assert f"/jobs/{job_id}" not in client.get("/").text
    assert "still being recorded" in client.get(f"/jobs/{job_id}").text


def test_the_last_jobs_tell_whether_something_waits(client: TestClient) -> None:
    page = client.get("/").text
    assert page.index("4817, Larkfield Bakery") < page.index("0077, Veldt Sugar")
    assert "something waits for you" in page


def test_a_record_that_cannot_be_read_hides_no_other(client: TestClient, made: Made) -> None:
    made.jobs["heard"].record.write_text("{")
    page = client.get("/")
    assert page.status_code == 200
    assert "0077, Veldt Sugar" in page.text


def test_the_cautions_stand_on_the_page(client: TestClient) -> None:
    page = client.get("/").text
    for word in ("Isolation.", "Heat.", "Crushing.", "Fumes.", "Electricity."):
        assert word in page
    assert "a record, not an instruction" in page


def test_who_cannot_sign_is_told_before_the_job(device: TestClient) -> None:
    page = device.get("/").text
    assert "no report can be signed" in page
    assert "No job is finished yet" in page
