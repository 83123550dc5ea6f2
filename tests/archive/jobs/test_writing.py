"""Record and events are written together: cut off anywhere, both are the old or both the new."""

import contextlib
import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from recorder.archive.disk import lock
from recorder.archive.disk.home import Home
from recorder.archive.jobs import events, reports
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.folders import job_folders
from recorder.archive.jobs.record import dump
from recorder.archive.jobs.restored import restore, restored_from
from recorder.errors import OutputUnwritable, RecordChanged
from recorder.model.event import What
from recorder.model.evidence import digest
from recorder.model.job import Job, MediaKind
from tests.archive.jobs.test_schemas import stored
from tests.archive.sample_jobs import NOW, add_job, media_files, reading

KINDS = [MediaKind.AUDIO, MediaKind.PHOTO]
PDF = b"%PDF-1.7 invented"
TOLD = (reading("press", "P2"), reading("template", "T30-10"))
KILLED = 9

Deed = Callable[[JobFolder], object]


def update(folder: JobFolder) -> Job:
    return folder.update(lambda job: job.model_copy(update={"readings": (*job.readings, *TOLD)}))


def report(folder: JobFolder) -> object:
    return reports.keep_report(
        folder, "4817", PDF, written_at=NOW, signer="Imke Dorn", signatures=1,
        document_digest="ab" * 32, variant="full",
    )  # fmt: skip


def adopt(folder: JobFolder) -> None:
    folder.adopt("looked at")


def note(folder: JobFolder) -> None:
    folder.note(What.CHANGED, {"parts": {}})


DEEDS: dict[str, Deed] = {"update": update, "report": report, "adopt": adopt, "note": note}


def state(folder: JobFolder) -> tuple[bytes, list[What], list[str]]:
    """Record, kinds of the events, names of the reports."""
    told = [event.what for event in events.read(folder.events).events]
    return folder.record.read_bytes(), told, sorted(p.name for p in folder.reports.iterdir())


def require_whole(folder: JobFolder) -> None:
    """Nothing is at fault, and a further writing leaves nothing behind."""
    assert folder.record_faults() == ()
    assert reports.faults(folder) == ()
    note(folder)
    assert not folder.interrupted()
    assert folder.record_faults() == ()
    assert not list(folder.path.glob(".*")) + list(folder.reports.glob(".*"))


@pytest.fixture(params=["of today", "of schema 2"])
def folder(home: Home, source: Path, request: pytest.FixtureRequest) -> JobFolder:
    folder = JobFolder(home.jobs / add_job(home, source).id)
    if request.param == "of schema 2":
        shutil.rmtree(folder.path)
        folder = JobFolder(home.jobs / "20261125-204530-f027")
        folder.reports.mkdir(parents=True)
        folder.record.write_bytes(stored(2))
    return folder


def killed_at(step: int, deed: Callable[[], object], before: bool) -> bool:
    """Whether a child process that did the deed was cut off at that step, before or after it.

    What a killed process has written is what the others see, as after SIGKILL.
    """
    child = os.fork()
    if child:
        return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == KILLED
    steps = iter(range(step + 1))
    real = {name: getattr(os, name) for name in ("fsync", "replace", "rename", "unlink")}

    def counted(name: str) -> Callable[..., object]:
        def call(*given: object, **named: object) -> object:
            last = next(steps, None) == step
            if last and before:
                os._exit(KILLED)
            done = real[name](*given, **named)
            if last:
                os._exit(KILLED)
            return done

        return call

    for name in real:
        setattr(os, name, counted(name))
    deed()
    os._exit(0)


@pytest.mark.parametrize("before", [True, False], ids=["before", "after"])
@pytest.mark.parametrize("name", DEEDS)
def test_killed_at_any_step_all_is_old_or_all_is_new(
    folder: JobFolder, tmp_path: Path, name: str, before: bool
) -> None:
    start = tmp_path / "start"
    shutil.copytree(folder.path, start)
    old = state(folder)
    DEEDS[name](folder)
    new = state(folder)
    # The first event of an older job stands by itself, and the note of require_whole makes it too.
    allowed = [old if old[1] else (old[0], [What.ADOPTED], old[2]), new]
    seen = []
    while True:
        shutil.rmtree(folder.path)
        shutil.copytree(start, folder.path)
        if not killed_at(len(seen), lambda: DEEDS[name](folder), before):
            break
        assert folder.record_faults() == reports.faults(folder) == ()
        folder.load()
        require_whole(folder)
        record, told, names = state(folder)
        assert told.pop() is What.CHANGED
        seen.append(allowed.index((record, told, names)))
    assert state(folder) == new
    assert seen == sorted(seen), "once it has happened, it has happened"
    # What needs no new file has happened with its line, which is written before the first step.
    assert seen[0] == (0 if name in ("update", "report") else 1) or not old[1]
    assert len(seen) >= 2


@pytest.mark.parametrize("step", ["fsync", "replace"])
@pytest.mark.parametrize("name", DEEDS)
def test_a_full_disk_at_any_step_leaves_the_old_state_or_the_new_one(
    folder: JobFolder, monkeypatch: pytest.MonkeyPatch, name: str, step: str
) -> None:
    """New only where all but the last bringing to the disk was done; told as a failure then too."""
    folder.note(What.CHANGED, {"parts": {}})
    real: Callable[..., object] = getattr(os, step)
    for full_at in range(20):
        calls = iter(range(20))

        def failing(*given: object, at: int = full_at, calls: Iterator[int] = calls) -> object:
            if next(calls) == at:
                raise OSError(28, "No space left on device")
            return real(*given)

        old = state(folder)
        with monkeypatch.context() as patched, contextlib.suppress(OutputUnwritable):
            patched.setattr(os, step, failing)
            DEEDS[name](folder)
            break
        if state(folder) != old:
            assert step == "fsync"
        else:
            assert not list(folder.path.glob(".*")) + list(folder.reports.glob(".*"))
        assert folder.record_faults() == reports.faults(folder) == ()
        assert not folder.interrupted()
    else:
        raise AssertionError("it never came through")


def test_a_batch_of_which_only_the_beginning_reached_the_disk_never_happened(
    home: Home, source: Path
) -> None:
    """As after a power cut: the file of events ends anywhere in the last saving."""
    folder = JobFolder(home.jobs / add_job(home, source).id)
    before, record = folder.events.read_bytes(), folder.record.read_bytes()
    update(folder)
    after, new = folder.events.read_bytes(), folder.record.read_bytes()
    added = after[len(before) :]
    assert added.count(b"\n") == 2
    ends = {*range(1, len(added), 41), added.index(b"\n"), added.index(b"\n") + 1, len(added) - 1}
    for end in (*sorted(ends), len(added)):
        folder.record.write_bytes(record)
        folder.events.write_bytes(before + added[:end])
        (folder.path / ".job.json.0badcafe.tmp").write_bytes(new)
        assert folder.interrupted()
        assert folder.record_faults() == ()
        with lock.held(folder.path):
            folder.settle()
        whole = end == len(added)
        assert folder.record.read_bytes() == (new if whole else record)
        assert folder.events.read_bytes() == (after if whole else before)
        assert not folder.interrupted()
        assert folder.record_faults() == ()


def test_a_temporary_file_of_other_content_does_not_pass_for_the_record(
    home: Home, source: Path
) -> None:
    folder = JobFolder(home.jobs / add_job(home, source).id)
    record = folder.record.read_bytes()
    update(folder)
    folder.record.write_bytes(record)
    (folder.path / ".job.json.0badcafe.tmp").write_bytes(record + b" ")
    assert "is not the record that the last event left" in folder.record_faults()[0]
    with pytest.raises(RecordChanged, match="archive adopt"):
        update(folder)


def test_the_true_record_beside_it_does_not_excuse_a_changed_one(home: Home, source: Path) -> None:
    folder = JobFolder(home.jobs / add_job(home, source).id)
    update(folder)
    true = folder.record.read_bytes()
    beside = folder.path / ".job.json.0badcafe.tmp"
    beside.write_bytes(true)
    folder.record.write_bytes(true.replace(b"P2", b"P3"))
    assert "was changed by other hands" in folder.record_faults()[0]
    with pytest.raises(RecordChanged):
        update(folder)
    assert beside.read_bytes() == true


def test_a_made_up_last_event_does_not_excuse_a_changed_reading(home: Home, source: Path) -> None:
    folder = JobFolder(home.jobs / add_job(home, source, readings=TOLD).id)
    assert folder.record_faults() == ()
    changed = folder.record.read_bytes().replace(b"P2", b"P3")
    folder.record.write_bytes(changed)
    chain = events.read(folder.events)
    told = [(What.CHANGED, {"parts": {"notes": 1}})]
    events.append(folder.events, events.lines(chain, told, digest(changed), NOW))
    (fault,) = folder.record_faults()
    assert fault.endswith("job.json holds 1 reading of which no event tells")
    folder.adopt("the press was P3")
    assert folder.record_faults() == ()


def test_nothing_is_written_where_nothing_changed(home: Home, source: Path) -> None:
    folder = JobFolder(home.jobs / add_job(home, source).id)
    before = folder.events.read_bytes(), folder.stamp()
    folder.save(folder.load())
    folder.update(lambda job: job)
    assert (folder.events.read_bytes(), folder.stamp()) == before


@pytest.mark.parametrize(
    "damage",
    [
        lambda folder: folder.record.write_bytes(folder.record.read_bytes() + b" "),
        lambda folder: folder.events.unlink(),
        lambda folder: folder.events.write_bytes(b""),
        lambda folder: folder.events.write_bytes(b"{}\n" + folder.events.read_bytes()),
        lambda folder: folder.events.write_bytes(folder.events.read_bytes()[:-9]),
        lambda folder: folder.events.write_bytes(folder.events.read_bytes().replace(b"P1", b"P9")),
    ],
    ids=["record", "no events", "empty events", "another line", "end", "event"],
)
def test_what_other_hands_changed_is_read_and_not_written_until_it_is_adopted(
    home: Home, source: Path, damage: Deed
) -> None:
    told = (reading("press", "P1"),)
    folder = JobFolder(home.jobs / add_job(home, source, readings=told).id)
    report(folder)
    folder.update(lambda job: job.model_copy(update={"readings": (*told, *TOLD)}))
    damage(folder)
    kept = folder.record.read_bytes(), _events(folder)
    job = folder.load()
    assert folder.record_faults()
    more = job.model_copy(update={"readings": (*job.readings, *TOLD)})
    for deed in (update, report, note, lambda each: each.save(more), lambda each: each.proven()):
        with pytest.raises(RecordChanged) as caught:
            deed(folder)
        assert str(folder.path) in str(caught.value)
        assert caught.value.exit_code == 3
    assert (folder.record.read_bytes(), _events(folder)) == kept
    folder.adopt("looked at")
    chain = events.read(folder.events)
    adopted = chain.events[-1]
    assert adopted.what is What.ADOPTED
    assert adopted.data["reason"] == "looked at"
    assert adopted.record == digest(kept[0])
    assert folder.load() == job
    require_whole(folder)
    update(folder)
    require_whole(folder)
    aside = list((folder.path / "merged").glob("*"))
    if adopted.data.get("chain"):
        assert [path.read_bytes() for path in aside] == [kept[1]]
        aside[0].write_bytes(b"")
        assert "is not the file of events that was taken in" in folder.record_faults()[0]
        aside[0].unlink()
        assert "is missing" in folder.record_faults()[0]
    else:
        assert not aside


def _events(folder: JobFolder) -> bytes:
    return folder.events.read_bytes() if folder.events.exists() else b""


def test_a_new_job_appears_with_its_events_or_not_at_all(home: Home, source: Path) -> None:
    files = media_files(source)
    made, step = 0, 0
    while killed_at(step, lambda: JobFolder.create(home, files, KINDS, NOW, TOLD), before=True):
        step += 1
        for folder in job_folders(home)[made:]:
            assert folder.load().readings == TOLD
            require_whole(folder)
        made = len(job_folders(home))
    assert step > 8
    folder = job_folders(home)[-1]
    chain = events.read(folder.events)
    assert [event.what for event in chain.events[:3]] == [What.BEGAN, What.HEARD, What.HEARD]
    assert chain.events[0].data["job"] == folder.id


def test_a_restored_job_begins_with_that(home: Home, source: Path, tmp_path: Path) -> None:
    job = add_job(home, source)
    about = reports.ReportRecord(
        path="reports/4817.pdf", sha256=digest(PDF), size_bytes=len(PDF), written_at=NOW,
        signer="Imke Dorn", document_digest="ab" * 32, variant="full",
    )  # fmt: skip
    other = Home.open(tmp_path / "other home")
    folder = restore(other, job, dump(job), PDF, about, NOW)
    (event,) = events.read(folder.events).events
    assert (event.what, event.at) == (What.RESTORED, NOW)
    assert event.data == {"job": job.id, "report": about.path, "sha256": about.sha256}
    assert restored_from(folder) is not None
    require_whole(folder)
    assert reports.from_elsewhere(folder) == {"ab" * 32}
