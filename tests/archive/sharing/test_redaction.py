"""A voice goes, the record stays: at once, after a kill at any deed, and never what is not ours."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.jobs import events, media
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.record import dump
from recorder.archive.jobs.restored import elsewhere, put_back
from recorder.archive.sharing import redaction
from recorder.errors import (
    BadJobFolder,
    JobChanged,
    JobUnfinished,
    RecordChanged,
    RemovalIncomplete,
)
from recorder.model.event import What
from recorder.model.job import Job, Removal
from tests.archive.sample_jobs import NOW, SAID, add_job, reading

ROOT = Path(__file__).parents[3]
GONE = Removal(at=NOW, by="Imke Dorn", reason="asked by letter")


@pytest.fixture
def folder(home: Home, source: Path) -> JobFolder:
    """Of a finished job with a recording, a photo, a transcript, and a draft that shows it."""
    folder = JobFolder(home.jobs / add_job(home, source).id)
    (folder.derived / "draft.pdf").write_bytes(b"what was said")
    return folder


def sound_of(folder: JobFolder) -> Path:
    return folder.path_of(folder.load().media[0].path)


def files_in(folder: JobFolder) -> list[Path]:
    """Hidden ones too, as a killed writer may leave them."""
    return [path for path in folder.path.rglob("*") if path.is_file()]


def whole(folder: JobFolder) -> None:
    """Record, events and manifest fit each other, and nothing is left over."""
    job = folder.load()
    assert folder.record_faults() == ()
    assert media.faults(folder.path, job) == ()
    assert folder.changed_originals(job) == []
    assert redaction.left_over(folder, job) == ()


def test_the_recording_goes_and_what_proves_it_stays(folder: JobFolder) -> None:
    before = folder.load()
    sound, photo = before.media
    going = redaction.remove(folder, GONE, transcript=False)
    after = folder.load()
    assert going.recordings == (sound,)
    assert after.media == (sound.model_copy(update={"removed": GONE}), photo)
    assert after.model_copy(update={"media": before.media}) == before
    assert not folder.path_of(sound.path).exists()
    assert folder.path_of(photo.path).exists()
    assert list(folder.derived.iterdir()) == []
    whole(folder)
    (event,) = [e for e in events.read(folder.events).events if e.what is What.REMOVED]
    assert event.data == {
        "originals": [
            {"name": "narration.flac", "path": sound.path, "sha256": sound.sha256,
             "size_bytes": sound.size_bytes}
        ],
        "reason": "asked by letter",
        "transcripts": [],
    }  # fmt: skip


def test_the_words_go_but_for_those_that_carry_a_value(folder: JobFolder) -> None:
    before = folder.load()
    going = redaction.remove(folder, GONE, transcript=True)
    after = folder.load()
    assert (going.transcripts, going.words, going.notes) == (
        ("narration.flac",), sum(len(line.split()) for line in SAID), 1,
    )  # fmt: skip
    assert after.readings == before.readings
    (heard,) = after.transcripts
    assert (heard.file, heard.model, heard.utterances) == ("narration.flac", "scripted", ())
    assert after.notes == ()
    everything = b"".join(path.read_bytes() for path in files_in(folder))
    for word in (b"gasket", b"frayed", b"larkfield bakery packing"):
        assert word not in everything
    whole(folder)


def test_words_can_go_later_than_the_sound(folder: JobFolder) -> None:
    redaction.remove(folder, GONE, transcript=False)
    going = redaction.remove(folder, GONE, transcript=True)
    assert (going.recordings, going.transcripts) == ((), ("narration.flac",))
    assert folder.load().transcripts[0].utterances == ()
    whole(folder)


def test_once_more_changes_nothing(folder: JobFolder) -> None:
    redaction.remove(folder, GONE, transcript=True)
    before = {path: path.read_bytes() for path in files_in(folder)}
    assert not redaction.remove(folder, GONE, transcript=True)
    assert {path: path.read_bytes() for path in files_in(folder)} == before


def test_an_unfinished_job_is_not_touched(home: Home, source: Path) -> None:
    folder = JobFolder(home.jobs / add_job(home, source, complete=False).id)
    with pytest.raises(JobUnfinished):
        redaction.remove(folder, GONE, transcript=True)
    assert sound_of(folder).exists()


# Takes a voice out of one copy after another, killed by itself one deed later each time, until it
# comes to its end.
DYING = """
import itertools, os, shutil, signal, sys
from pathlib import Path
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.sharing import redaction
from recorder.model.job import Removal
from tests.archive.sample_jobs import NOW
folder, copies = Path(sys.argv[1]), Path(sys.argv[2])
left = 0
def dying(real):
    def deed(*args, **kwargs):
        global left
        left -= 1
        if left < 0:
            os.kill(os.getpid(), signal.SIGKILL)
        return real(*args, **kwargs)
    return deed
for deeds in itertools.count():
    copy = copies / str(deeds) / "jobs" / folder.name
    shutil.copytree(folder, copy)
    child = os.fork()
    if not child:
        left = deeds
        os.replace, os.fsync, os.write = dying(os.replace), dying(os.fsync), dying(os.write)
        Path.unlink = dying(Path.unlink)
        removal = Removal(at=NOW, by="", reason="asked")
        redaction.remove(JobFolder(copy), removal, True)
        os._exit(0)
    if os.waitpid(child, 0)[1] == 0:
        break
"""


def test_killed_at_any_deed_all_is_there_or_the_next_call_completes_it(
    folder: JobFolder, tmp_path: Path
) -> None:
    copies = tmp_path / "copies"
    subprocess.run(
        [sys.executable, "-c", DYING, str(folder.path), str(copies)], cwd=ROOT, check=True
    )
    found = {"all there": 0, "recorded": 0, "done": 0}
    for number in range(len(list(copies.iterdir()))):
        cut = JobFolder(copies / str(number) / "jobs" / folder.id)
        job, sound = cut.load(), sound_of(cut)
        if not job.media[0].removed:
            found["all there"] += 1
            assert cut.changed_originals(job) == []
            assert job.transcripts == folder.load().transcripts
        elif sound.exists():
            found["recorded"] += 1
            assert sound in redaction.left_over(cut, job)
        else:
            found["done"] += 1
        redaction.remove(cut, GONE, transcript=True)
        assert not sound.exists()
        assert cut.load().media[0].removed
        assert cut.load().transcripts[0].utterances == ()
        assert list(cut.derived.iterdir()) == []
        assert not any(b"gasket" in path.read_bytes() for path in files_in(cut))
        whole(cut)
    assert found["all there"] > 3
    assert found["recorded"] > 3
    assert found["done"] > 0


def test_speech_that_came_in_meanwhile_is_not_taken_unseen(
    folder: JobFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    going = redaction.spoken(folder.load(), transcript=True)
    more = going.model_copy(update={"notes": 7})
    seen = iter([more, going])
    monkeypatch.setattr(redaction, "spoken", lambda job, transcript: next(seen))
    with pytest.raises(JobChanged):
        redaction.remove(folder, GONE, transcript=True)
    assert sound_of(folder).exists()


def test_a_reading_that_comes_in_meanwhile_is_kept(
    folder: JobFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    told, real = reading("press", "P9"), JobFolder.update

    def late(self: JobFolder, *args: object, **more: object) -> Job:
        monkeypatch.setattr(JobFolder, "update", real)
        self.update(lambda job: job.model_copy(update={"readings": (*job.readings, told)}))
        return self.update(*args, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(JobFolder, "update", late)
    redaction.remove(folder, GONE, transcript=True)
    assert folder.load().readings[-1] == told
    assert folder.load().media[0].removed


def test_who_knew_the_job_before_cannot_bring_it_back(folder: JobFolder) -> None:
    stale = folder.load()
    redaction.remove(folder, GONE, transcript=True)
    with pytest.raises(JobChanged):
        folder.save(stale)


def test_a_restored_job_never_takes_it_in_again(folder: JobFolder, source: Path) -> None:
    redaction.remove(folder, GONE, transcript=False)
    folder.restored_mark.write_text(
        f'{{"report": "reports/x.pdf", "sha256": "{"0" * 64}", "at": "{NOW.isoformat()}"}}'
    )
    assert elsewhere(folder, folder.load()) == ()
    assert put_back(folder, sorted(source.iterdir())) == ()
    assert not sound_of(folder).exists()
    whole(folder)


def test_a_full_or_read_only_disk_is_told_and_can_be_completed(
    folder: JobFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    sound = sound_of(folder)

    def refused(self: Path, missing_ok: bool = False) -> None:
        if self.parent.name in ("media", "derived"):
            raise OSError(30, "Read-only file system")
        real(self, missing_ok)

    real = Path.unlink
    monkeypatch.setattr(Path, "unlink", refused)
    with pytest.raises(RemovalIncomplete, match="Read-only"):
        redaction.remove(folder, GONE, transcript=True)
    monkeypatch.undo()
    assert any(str(sound) in line for line in redaction.faults(folder, folder.load()))
    redaction.remove(folder, GONE, transcript=True)
    whole(folder)


def test_a_record_that_other_hands_changed_deletes_nothing(folder: JobFolder) -> None:
    job = folder.load()
    photo = job.media[1].model_copy(update={"removed": GONE})
    folder.record.write_bytes(dump(job.model_copy(update={"media": (job.media[0], photo)})))
    with pytest.raises(RecordChanged):
        redaction.remove(folder, GONE, transcript=True)
    assert folder.path_of(photo.path).exists()


def renamed(folder: JobFolder, path: str) -> None:
    """The record names another place for its recording, and its events vouch for that."""
    job = folder.load()
    sound = job.media[0].model_copy(update={"path": path})
    folder.record.write_bytes(dump(job.model_copy(update={"media": (sound, job.media[1])})))
    folder.adopt("a trick")


@pytest.mark.parametrize("path", ["../../elsewhere.flac", "/etc/passwd", "job.json", "media/../x"])
def test_no_path_in_a_record_leads_to_a_file_that_is_not_ours(
    folder: JobFolder, home: Home, path: str
) -> None:
    outside = home.jobs.parent / "elsewhere.flac"
    outside.write_bytes(b"not ours")
    renamed(folder, path)
    with pytest.raises(BadJobFolder):
        redaction.remove(folder, GONE, transcript=True)
    assert outside.exists()
    assert not folder.load().media[0].removed


def test_a_photo_under_the_path_of_a_recording_is_kept(folder: JobFolder) -> None:
    photo = folder.load().media[1]
    renamed(folder, photo.path)
    redaction.remove(folder, GONE, transcript=False)
    assert folder.path_of(photo.path).exists()


def test_links_are_not_followed(folder: JobFolder, tmp_path: Path) -> None:
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "report.pdf").write_bytes(b"not ours")
    (folder.derived / "draft.pdf").unlink()
    folder.derived.rmdir()
    folder.derived.symlink_to(outside)
    with pytest.raises(BadJobFolder):
        redaction.remove(folder, GONE, transcript=True)
    assert (outside / "report.pdf").exists()


def test_a_job_of_an_older_schema_begins_its_chain_with_it(home: Home, source: Path) -> None:
    folder = JobFolder(home.jobs / add_job(home, source).id)
    old = json.loads(folder.record.read_text())
    old["schema_version"] = 2
    for each in old["media"]:
        del each["removed"]
    folder.record.write_text(json.dumps(old))
    folder.events.unlink()
    (folder.path / "media" / media.SUMS).unlink()
    redaction.remove(folder, GONE, transcript=True)
    assert [event.what for event in events.read(folder.events).events][:2] == [
        What.ADOPTED, What.REMOVED,
    ]  # fmt: skip
    whole(folder)
