"""Records as older programs wrote them, stored beside this file, come up to this schema."""

import json
import shutil
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.jobs import events
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.reports import reports
from recorder.archive.jobs.schemas import STEPS, job_in
from recorder.archive.jobs.writing import FIRST_WITH_EVENTS
from recorder.errors import BadJobFolder
from recorder.model.event import What
from recorder.model.evidence import digest
from recorder.model.job import SCHEMA_VERSION
from tests.archive.sample_jobs import reading

RECORDS = Path(__file__).parent / "records"
OLD = range(1, SCHEMA_VERSION)


def stored(version: int) -> bytes:
    return (RECORDS / f"schema_{version}.json").read_bytes()


def id_of(version: int) -> str:
    return str(json.loads(stored(version))["id"])


@pytest.fixture(params=OLD)
def old(home: Home, request: pytest.FixtureRequest) -> JobFolder:
    """The folder of a job as that version left it."""
    folder = JobFolder(home.jobs / id_of(request.param))
    folder.path.mkdir()
    folder.record.write_bytes(stored(request.param))
    if request.param >= FIRST_WITH_EVENTS:
        shutil.copy(RECORDS / f"schema_{request.param}.jsonl", folder.events)
    return folder


def test_every_older_schema_has_its_step_and_its_stored_record() -> None:
    assert sorted(STEPS) == list(OLD)
    for version in OLD:
        assert json.loads(stored(version))["schema_version"] == version


@pytest.mark.parametrize("version", OLD)
def test_nothing_is_lost_on_the_way(version: int) -> None:
    job = job_in(stored(version))
    assert job.schema_version == SCHEMA_VERSION
    assert job.title() == "4817, Larkfield Bakery"
    told = json.loads(stored(version))
    new = json.loads(job.model_dump_json())
    for name in told.keys() - {"schema_version", "reports", "media"}:
        assert new[name] == told[name]
    assert [{"removed": None} | m for m in told["media"]] == new["media"]
    assert job.recordings == ()


@pytest.mark.parametrize("old", range(1, FIRST_WITH_EVENTS), indirect=True)
def test_an_old_job_is_whole_without_events_and_gets_them_with_its_next_writing(
    old: JobFolder,
) -> None:
    content = old.record.read_bytes()
    job = old.load()
    assert old.record_faults() == ()
    assert not old.events.exists()
    known = reports(old)
    new = old.update(
        lambda j: j.model_copy(update={"readings": (*j.readings, reading("press", "P"))})
    )
    chain = events.read(old.events)
    assert [event.what for event in chain.events] == [What.ADOPTED, What.HEARD]
    adopted, heard = chain.events
    assert adopted.record == digest(content)
    assert adopted.data["job"] == old.id
    assert adopted.data["reports"] == [record.sha256 for record in known]
    assert heard.record == digest(old.record.read_bytes())
    assert old.load() == new
    assert new.readings[:-1] == job.readings
    assert old.record_faults() == ()
    assert json.loads(old.record.read_bytes())["schema_version"] == SCHEMA_VERSION
    assert reports(old) == known


@pytest.mark.parametrize("old", range(FIRST_WITH_EVENTS, SCHEMA_VERSION), indirect=True)
def test_a_job_with_events_goes_on_with_them(old: JobFolder) -> None:
    job, chain = old.load(), events.read(old.events)
    assert old.record_faults() == ()
    new = old.update(
        lambda j: j.model_copy(update={"readings": (*j.readings, reading("press", "P"))})
    )
    (heard,) = events.read(old.events).events[len(chain.events) :]
    assert heard.what is What.HEARD
    assert old.load() == new
    assert new.readings[:-1] == job.readings
    assert old.record_faults() == ()
    assert json.loads(old.record.read_bytes())["schema_version"] == SCHEMA_VERSION


@pytest.mark.parametrize("version", [0, -1, SCHEMA_VERSION + 1, None, "x", [], 1.5])
def test_a_schema_that_never_was_is_refused(home: Home, version: object) -> None:
    folder = JobFolder(home.jobs / id_of(2))
    folder.path.mkdir()
    folder.record.write_text(json.dumps(json.loads(stored(2)) | {"schema_version": version}))
    with pytest.raises(BadJobFolder, match="schema"):
        folder.load()
