"""A report names the events after which it was written: who may miss them, and who may not."""

import json
import shutil
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.jobs import events
from recorder.archive.jobs.arriving import fill
from recorder.archive.jobs.changes import began, happened
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.record import dump
from recorder.archive.jobs.reports import reports, take_in
from recorder.cli import main
from recorder.flows import archive, restore, verify
from recorder.flows.importing import import_from
from recorder.model.event import NOTHING_BEFORE, What
from recorder.model.evidence import digest
from recorder.report.document.attachments import attached
from recorder.report.verifying.reasons import Doubt
from tests.archive.sample_jobs import reading
from tests.flows.firm import Firm
from tests.flows.quiet import Quiet


def doubts(home: Home, path: Path) -> list[object]:
    signatures = 2 if "approved" in path.name else 1
    found = verify.check(home, path, signatures)
    assert found.faults == ()
    return [doubt.reason for doubt in found.doubts]


def correct(folder: JobFolder) -> None:
    told = reading("press", "P9")
    folder.update(lambda job: job.model_copy(update={"readings": (*job.readings, told)}))


def written_anew(folder: JobFolder) -> None:
    """As by somebody who changes one event and then makes every hash anew."""
    chain = events.Chain()
    content = b""
    first, *_ = events.read(folder.events).events
    told = {**first.data, "job": "another"}
    for event in events.read(folder.events).events:
        data = told if event.seq == 1 else event.data
        content += events.lines(chain, [(event.what, data)], event.record, event.at)
        chain = events.chain_in(content)
    folder.events.write_bytes(content)
    assert folder.record_faults() == ()


def test_the_manifest_holds_the_events_that_led_to_the_report(firm: Firm) -> None:
    told = json.loads(attached(firm.written.path.read_bytes(), firm.written.path)["evidence.json"])
    chain = events.read(firm.folder.events)
    count = told["events"]["count"]
    assert told["schema_version"] == 2
    assert told["events"]["head"] == chain.events[count - 1].hash
    assert chain.events[count - 1].record == told["record"]["sha256"]
    (reported,) = chain.events[count:]
    assert reported.what is What.REPORTED
    assert reported.data["report"] == firm.written.record.model_dump(mode="json")
    assert reported.previous == told["events"]["head"] != NOTHING_BEFORE


def test_what_happens_afterwards_gives_no_reason_to_doubt_it(firm: Firm) -> None:
    approved = firm.approve(firm.written.path)
    correct(firm.folder)
    assert doubts(firm.home, firm.written.path) == []
    assert doubts(firm.home, approved.path) == []
    assert [e.what for e in events.read(firm.folder.events).events][-3:] == [
        What.REPORTED, What.REPORTED, What.HEARD,
    ]  # fmt: skip
    assert archive.check(firm.home, Quiet()).faults == ()


def test_a_history_that_was_written_anew_is_seen_by_the_report(
    firm: Firm, capsys: pytest.CaptureFixture[str]
) -> None:
    written_anew(firm.folder)
    assert doubts(firm.home, firm.written.path) == [Doubt.EVENTS_DIFFER]
    assert main(["verify", str(firm.written.path), "--home", str(firm.home.root)]) == 4
    assert "is not the one that it was written after" in capsys.readouterr().out
    firm.folder.adopt("looked at")
    assert doubts(firm.home, firm.written.path) == [Doubt.EVENTS_DIFFER]


def test_a_broken_history_that_was_put_aside_still_tells(firm: Firm) -> None:
    with firm.folder.events.open("ab") as file:
        file.write(b"what is no event\n")
    assert doubts(firm.home, firm.written.path) == []
    firm.folder.adopt("somebody wrote into it")
    assert firm.folder.record_faults() == ()
    assert doubts(firm.home, firm.written.path) == []


def changed_line(folder: JobFolder) -> None:
    """The last lines stand as they were, and so does the one that the report names."""
    first, *rest = folder.events.read_bytes().splitlines(keepends=True)
    folder.events.write_bytes(b"".join([first.replace(b"e5b4", b"0000"), *rest]))


def changed_and_put_aside(folder: JobFolder) -> None:
    changed_line(folder)
    folder.adopt("looked at")


def old_chain_kept_beside(folder: JobFolder) -> None:
    kept = folder.path / "merged" / f"{digest(folder.events.read_bytes())}.jsonl"
    kept.parent.mkdir()
    shutil.copy(folder.events, kept)
    written_anew(folder)


def without_a_reading(folder: JobFolder) -> None:
    values = json.loads(folder.record.read_bytes())
    del values["readings"][-1]
    folder.record.write_text(json.dumps(values))


def adopted(folder: JobFolder) -> None:
    without_a_reading(folder)
    folder.adopt("looked at")


def said_to_be_from_elsewhere(folder: JobFolder) -> None:
    """A made-up chain in which the report came from another device, whose events are not here."""
    without_a_reading(folder)
    record = folder.record.read_bytes()
    content, chain = b"", events.Chain()
    for event in events.read(folder.events).events:
        data = {**event.data, **({"arrived": True} if event.what is What.REPORTED else {})}
        content += events.lines(chain, [(event.what, data)], digest(record), event.at)
        chain = events.chain_in(content)
    folder.events.write_bytes(content)
    assert folder.record_faults() == ()


@pytest.mark.parametrize(
    "forge",
    [
        changed_line, changed_and_put_aside, old_chain_kept_beside, adopted,
        said_to_be_from_elsewhere,
    ],
)  # fmt: skip
def test_a_changed_past_is_seen_by_the_report_however_it_was_done(
    firm: Firm, forge: Callable[[JobFolder], None]
) -> None:
    assert doubts(firm.home, firm.written.path) == []
    forge(firm.folder)
    assert doubts(firm.home, firm.written.path) == [Doubt.EVENTS_DIFFER]


def test_a_report_of_a_job_that_has_another_id_here_is_on_record_and_can_be_approved(
    firm: Firm, tmp_path: Path
) -> None:
    other = Home.open(tmp_path / "other home")
    shutil.copytree(firm.home.identity, other.identity, dirs_exist_ok=True)
    folder = JobFolder(other.jobs / firm.folder.id.replace("20260304", "20260305"))
    shutil.copytree(firm.folder.path, folder.path)
    shutil.rmtree(folder.reports)
    job = firm.folder.load().model_copy(update={"id": folder.id})
    batch = [began(job), *happened(job.model_copy(update={"readings": ()}), job)]
    fill(folder.path, dump(job), batch, job.created_at)
    (taken,) = import_from(other, firm.folder.path, None, False, Quiet())
    assert (taken.job, taken.also, taken.reports) == (folder.id, firm.folder.id, 1)
    (path,) = folder.reports.glob("*.pdf")
    found = verify.check(other, path)
    assert (found.archive.job, found.archive.recorded) == (folder.id, True)
    assert (found.archive.missing, found.doubts, found.faults) == ((), (), ())
    approved = Firm(other, folder, firm.key, firm.written, firm.drawing).approve(folder.id)
    assert approved.kept
    assert archive.check(other, Quiet()).faults == ()
    assert verify.check(other, path).failed  # the customer has signed since


def test_a_job_that_came_out_of_a_report_has_other_events_and_the_report_is_good(
    firm: Firm, tmp_path: Path
) -> None:
    other = Home.open(tmp_path / "other home")
    shutil.copytree(firm.home.identity, other.identity, dirs_exist_ok=True)
    restored = restore.import_report(other, firm.written.path, (), False, Quiet())
    (path,) = (restored.folder / "reports").glob("*.pdf")
    assert doubts(other, path) == []
    there = Firm(other, JobFolder(restored.folder), firm.key, firm.written, firm.drawing)
    approved = there.approve(path)
    assert doubts(other, approved.path) == []
    correct(there.folder)
    assert doubts(other, path) == []
    assert archive.check(other, Quiet()).faults == ()


def test_a_report_that_came_along_from_elsewhere_came_after_other_events(
    firm: Firm, tmp_path: Path
) -> None:
    other = Home(Path(shutil.copytree(firm.home.root, tmp_path / "other home")))
    folder = JobFolder(other.jobs / firm.folder.id)
    shutil.rmtree(folder.reports)
    written_anew(folder)
    pdf, record = firm.written.path.read_bytes(), firm.written.record
    folder.events.write_bytes(b"".join(folder.events.read_bytes().splitlines(keepends=True)[:-1]))
    take_in(folder, pdf, record, arrived=True)
    assert reports(folder) == (record,)
    assert doubts(other, folder.path_of(record.path)) == []
    assert archive.check(other, Quiet()).faults == ()


def test_a_clock_that_went_back_in_between_is_no_reason_to_doubt(
    firm: Firm, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Clock(datetime):
        @classmethod
        def now(cls, tz: object = None) -> datetime:  # type: ignore[override]
            return datetime.now().astimezone() - timedelta(days=400)

    monkeypatch.setattr("recorder.archive.jobs.writing.datetime", Clock)
    correct(firm.folder)
    last = events.read(firm.folder.events).events[-1]
    assert last.at < events.read(firm.folder.events).events[-2].at
    assert doubts(firm.home, firm.written.path) == []
    assert archive.check(firm.home, Quiet()).faults == ()
