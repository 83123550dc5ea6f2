"""Voices taken out of jobs: on request, and when the time is over that the settings name."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.index.index import Index
from recorder.archive.jobs import acting
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.folders import find_by_originals
from recorder.errors import BadValue, JobUnfinished, OriginalChanged, WrongUse
from recorder.flows import archive, redact, report
from recorder.flows.process import _waiting
from recorder.model.job import Job, MediaKind
from recorder.settings import ArchiveSettings, Settings
from tests.archive.finding.asking import search
from tests.archive.sample_jobs import NOW, add_job, transcript
from tests.flows.quiet import Quiet

TWO_YEARS = Settings(archive=ArchiveSettings(keep_recordings_days=730))


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home.open(tmp_path / "home")


@pytest.fixture
def camera(tmp_path: Path) -> Path:
    return tmp_path / "camera"


def folder_of(home: Home, job: Job) -> JobFolder:
    return JobFolder(home.jobs / job.id)


def remove(home: Home, *folders: JobFolder, transcript: bool = False) -> list[redact.Removed]:
    planned = [redact.plan(folder, transcript) for folder in folders]
    return list(redact.remove(home, planned, "asked by letter", transcript, Quiet()))


def test_it_stands_in_the_record_who_removed_what_when_and_why(home: Home, camera: Path) -> None:
    folder = folder_of(home, add_job(home, camera))
    begun = datetime.now().astimezone().replace(microsecond=0)
    with acting.acting("Imke Dorn"):
        (done,) = remove(home, folder)
    assert (done.failed, len(done.going.recordings)) == ("", 1)
    removed = folder.load().media[0].removed
    assert removed
    assert (removed.by, removed.reason) == ("Imke Dorn", "asked by letter")
    assert begun <= removed.at <= datetime.now().astimezone()


def test_removed_words_are_found_no_more_and_lie_in_no_page_of_the_index(
    home: Home, camera: Path
) -> None:
    others = (transcript("the belt runs true"),)
    jobs = [
        add_job(home, camera / str(n), **({"transcripts": others} if n else {})) for n in range(4)
    ]
    with Index.open(home) as index:
        assert search(index, "gasket")
    assert b"gasket" in home.index.read_bytes()
    remove(home, folder_of(home, jobs[0]), transcript=True)
    for path in home.root.glob("index.sqlite*"):
        assert b"gasket" not in path.read_bytes()
    with Index.open(home) as index:
        assert not search(index, "gasket")
        assert {hit.id for hit in search(index, "larkfield")} == {job.id for job in jobs}
        index.check()


def test_check_tells_an_original_that_should_be_gone(home: Home, camera: Path) -> None:
    folder = folder_of(home, add_job(home, camera))
    sound = folder.path_of(folder.load().media[0].path)
    remove(home, folder)
    assert archive.check(home, Quiet()).faults == ()
    assert archive.check(home, Quiet()).remarks == ()
    sound.write_bytes((camera / "narration.flac").read_bytes())
    (fault,) = archive.check(home, Quiet()).faults
    assert str(sound) in fault
    planned = redact.plan(folder, transcript=False)
    assert (planned.left_over, bool(planned.going), planned.nothing) == ((sound,), False, False)
    remove(home, folder)
    assert archive.check(home, Quiet()).faults == ()


def test_the_same_files_are_the_same_job_and_are_not_heard_again(home: Home, camera: Path) -> None:
    folder = folder_of(home, add_job(home, camera, transcripts=()))
    remove(home, folder)
    known = find_by_originals(home, [camera / "narration.flac", camera / "after.jpg"])
    assert known == folder.load()
    assert _waiting(folder.load(), MediaKind.AUDIO) == []


def test_a_report_can_be_written_without_what_was_removed(home: Home, camera: Path) -> None:
    folder = folder_of(home, add_job(home, camera))
    remove(home, folder)
    report._require_whole(folder, folder.load())
    folder.path_of(folder.load().media[1].path).unlink()
    with pytest.raises(OriginalChanged):
        report._require_whole(folder, folder.load())


def test_other_jobs_with_the_same_recording_are_named(home: Home, camera: Path) -> None:
    folder = folder_of(home, add_job(home, camera / "1"))
    add_job(home, camera / "2")
    files = [camera / "1" / "narration.flac"]
    again, _ = JobFolder.create(home, files, [MediaKind.AUDIO], NOW)
    planned = [redact.plan(folder, transcript=False)]
    assert redact.copies(home, planned) == (again.id,)
    remove(home, folder)
    assert redact.copies(home, [redact.plan(folder, transcript=False)]) == ()


def test_a_job_whose_time_has_no_zone_is_due_by_local_time(home: Home, camera: Path) -> None:
    folder = folder_of(home, add_job(home, camera))
    at = (NOW - timedelta(days=3000)).replace(tzinfo=None)
    folder.update(lambda job: job.model_copy(update={"created_at": at}))
    due, damaged = redact.due(home, TWO_YEARS, False, NOW, Quiet())
    assert ([planned.job for planned in due], damaged) == ([folder.id], ())


def test_one_job_that_cannot_be_done_does_not_stop_the_rest(home: Home, camera: Path) -> None:
    first = folder_of(home, add_job(home, camera / "1"))
    second = folder_of(home, add_job(home, camera / "2"))
    planned = [redact.plan(folder, transcript=False) for folder in (first, second)]
    first.record.write_text(first.record.read_text().replace("frayed", "torn"))
    failed, done = redact.remove(home, planned, "asked by letter", False, Quiet())
    assert str(first.path) in failed.failed
    assert done.failed == ""
    assert not first.load().media[0].removed
    assert second.load().media[0].removed


def test_an_unfinished_job_is_refused(home: Home, camera: Path) -> None:
    folder = folder_of(home, add_job(home, camera, complete=False))
    with pytest.raises(JobUnfinished):
        redact.plan(folder, transcript=True)


def test_due_is_what_is_older_than_the_settings_allow(home: Home, camera: Path) -> None:
    old = add_job(home, camera / "old", NOW - timedelta(days=731))
    add_job(home, camera / "just not", NOW - timedelta(days=729))
    add_job(home, camera / "ahead", NOW + timedelta(days=9000))
    add_job(home, camera / "unfinished", NOW - timedelta(days=2000), complete=False)
    damaged = add_job(home, camera / "damaged", NOW - timedelta(days=3000))
    folder_of(home, damaged).record.write_text("{")
    (planned,), told = redact.due(home, TWO_YEARS, False, NOW, Quiet())
    assert planned.job == old.id
    assert [damaged.id in line for line in told] == [True]
    list(redact.remove(home, [planned], redact.due_reason(TWO_YEARS), False, Quiet()))
    removed = folder_of(home, old).load().media[0].removed
    assert removed
    assert removed.reason == "recordings are kept for 730 days"
    assert redact.due(home, TWO_YEARS, False, NOW, Quiet())[0] == ()
    ((words,), _) = redact.due(home, TWO_YEARS, True, NOW, Quiet())
    assert (words.job, words.going.recordings) == (old.id, ())


def test_nothing_is_due_unless_the_settings_say_so(home: Home) -> None:
    with pytest.raises(WrongUse, match="keep_recordings_days"):
        redact.due(home, Settings(), False, datetime.now(UTC), Quiet())


@pytest.mark.parametrize("reason", ["", " \n", "x" * 501, "bell\a"])
def test_a_reason_says_something_on_one_line(reason: str) -> None:
    assert redact.fit_reason("asked \n by letter") == "asked by letter"
    with pytest.raises(BadValue):
        redact.fit_reason(reason)
