"""A session that was cut off, in the hands of the archive: checked, packed, taken in, redacted."""

import threading
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.errors import Busy, JobUnfinished
from recorder.flows import archive, backup, export, redact, report
from recorder.flows.importing import import_from
from recorder.flows.live.finishing import end_unheard
from recorder.flows.live.memory import Keeper
from recorder.model.job import MediaKind
from recorder.report.identity.identity import Identity
from recorder.voice import flac
from tests.flows.live.scripted import (
    RATE_HZ,
    SILENT,
    STRETCH,
    Page,
    Script,
    asked_to_finish,
    picture,
    sessions,
    texts,
)
from tests.flows.quiet import Quiet

SENTENCES = ["Pressure two bar.", "Dwell four minutes."]


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home.open(tmp_path / "home")


@pytest.fixture
def page(home: Home) -> Page:
    """One sentence was heard, the beginning of another is on the disk; nobody runs it."""
    with sessions(home, Script(SENTENCES)) as live:
        page = Page(live.begin())
        page.open()
        page.say(1)
        page.wait_for_utterances(1)
        page.feed([2] * RATE_HZ)
    return page


def test_check_finds_no_fault_and_remarks_on_it(home: Home, page: Page) -> None:
    looked = archive.check(home, Quiet())
    assert looked.faults == ()
    (remark,) = looked.remarks
    assert page.session.job_id in remark


def test_check_finds_sound_that_was_changed(home: Home, page: Page) -> None:
    with (page.folder.path / "live" / "recording_1.pcm").open("r+b") as file:
        file.seek(2000)
        file.write(b"\x09\x09")
    (fault,) = archive.check(home, Quiet()).faults
    assert "recording_1.pcm" in fault


def test_a_backup_holds_it_and_it_goes_on_elsewhere(home: Home, page: Page, tmp_path: Path) -> None:
    kept = backup.backup(home, tmp_path / "b.zip", keys=True, replace=False, progress=Quiet())
    assert kept.faults == ()
    other = Home.open(tmp_path / "other")
    backup.restore(other, tmp_path / "b.zip", Quiet())
    with sessions(other, Script(SENTENCES)) as live:
        after = Page(live.open(page.session.job_id), number=page.number, fed=page.fed)
        assert after.open() == page.number
        after.feed([0] * RATE_HZ)
        assert texts(after.wait_for_utterances(2)) == SENTENCES


def test_a_backup_of_a_running_session_is_no_fault_and_a_beginning_of_it(
    home: Home, tmp_path: Path
) -> None:
    with sessions(home, Script(SENTENCES)) as live:
        page = Page(live.begin())
        page.open()
        page.feed([0] * RATE_HZ)
        over = threading.Event()

        def feed() -> None:
            while not over.is_set():
                page.feed([0] * (RATE_HZ // 10))

        feeding = threading.Thread(target=feed)
        feeding.start()
        try:
            kept = backup.backup(
                home, tmp_path / "b.zip", keys=True, replace=False, progress=Quiet()
            )
        finally:
            over.set()
            feeding.join()
    assert kept.faults == ()
    other = Home.open(tmp_path / "other")
    backup.restore(other, tmp_path / "b.zip", Quiet())
    with sessions(other, Script()) as live:
        session = live.open(page.session.job_id)
        assert 10 <= session._sounds.all()[0].next <= page.number


def test_a_stranger_cannot_have_it_finished_and_signed_here(
    home: Home, page: Page, tmp_path: Path
) -> None:
    folder = page.folder
    Keeper(folder.path / "live", folder.load()).change(asked_to_finish)
    export.export_package(home, [folder.id], tmp_path / "e.zip", replace=False, progress=Quiet())
    other = Home.open(tmp_path / "other")
    imported = import_from(
        other, tmp_path / "e.zip", originals=None, from_unknown=True, progress=Quiet()
    )
    assert [each.job for each in imported] == [folder.id]
    there = JobFolder(other.jobs / folder.id)
    assert sorted(path.name for path in (there.path / "live").iterdir()) == [
        "recording_1.jsonl", "recording_1.pcm",
    ]  # fmt: skip
    with sessions(other, Script(SENTENCES)) as live:
        session = live.open(folder.id)
        assert not session._ending.asked
        assert session._sounds.all()[0].samples == len(page.fed) // 2


def test_it_is_not_reported(home: Home, page: Page, key: Identity) -> None:
    with pytest.raises(JobUnfinished, match="seamnote serve"):
        report.write(home, page.folder, SILENT, key, Quiet())


@pytest.mark.parametrize("transcript", [False, True])
def test_a_voice_goes_from_it_too(home: Home, page: Page, transcript: bool) -> None:
    planned = redact.plan(page.folder, transcript)
    assert [media.name for media in planned.going.recordings] == ["recording_1.flac"]
    (done,) = redact.remove(home, [planned], "asked by letter", transcript, Quiet())
    assert (done.failed, len(done.going.recordings)) == ("", 1)
    job = page.folder.load()
    assert job.complete
    assert [media.removed is not None for media in job.media] == [True]
    assert bool(texts(job)) is not transcript
    assert not (page.folder.path / "live").exists()
    voices = [p for p in page.folder.path.rglob("*") if p.suffix in (".pcm", ".flac")]
    assert voices == []
    assert archive.check(home, Quiet()).faults == ()
    assert redact.plan(page.folder, transcript).nothing
    with sessions(home, Script()) as live:
        assert live.unfinished() == ()


def test_a_voice_that_a_kill_left_goes_at_the_next_try(
    home: Home, page: Page, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        patch.setattr("recorder.archive.jobs.sounds.discard", lambda _: None)
        end_unheard(home, page.folder)
        list(redact.remove(home, [redact.plan(page.folder, False)], "asked", False, Quiet()))
        left = page.folder.path / "live" / "recording_1.pcm"
        left.write_bytes(b"a voice")
    (fault,) = archive.check(home, Quiet()).faults
    assert "recording_1.pcm was removed on request" in fault
    planned = redact.plan(page.folder, False)
    assert planned.left_over == (left,)
    (done,) = redact.remove(home, [planned], "asked", False, Quiet())
    assert done.failed == ""
    assert not left.exists()


def test_a_running_session_keeps_its_voice_and_says_so(home: Home, page: Page) -> None:
    with sessions(home, Script(SENTENCES)) as live:
        live.open(page.session.job_id)
        with pytest.raises(Busy):
            end_unheard(home, page.folder)
        planned = redact.plan(page.folder, False)
        (done,) = redact.remove(home, [planned], "asked by letter", False, Quiet())
        assert done.failed
        assert (page.folder.path / "live" / "recording_1.pcm").exists()


def test_ended_unheard_it_keeps_every_sample(home: Home, page: Page, tmp_path: Path) -> None:
    end_unheard(home, page.folder)
    job = page.folder.load()
    (media,) = job.media
    raw = tmp_path / "fed.pcm"
    raw.write_bytes(page.fed)
    assert media.kind is MediaKind.AUDIO
    assert flac.same(raw, page.folder.path_of(media.path))
    assert texts(job) == SENTENCES[:1]


def test_sound_is_kept_where_another_device_brought_the_end_of_the_job(
    home: Home, page: Page, tmp_path: Path
) -> None:
    """Both went on with it from a backup; the other one finished first. A photo is in both."""
    with sessions(home, Script()) as live:
        live.open(page.folder.id).photo(picture(tmp_path / "upload"), "a.jpg")
    backup.backup(home, tmp_path / "b.zip", keys=True, replace=False, progress=Quiet())
    other = Home.open(tmp_path / "other")
    backup.restore(other, tmp_path / "b.zip", Quiet())
    there = JobFolder(other.jobs / page.folder.id)
    end_unheard(other, there)
    with sessions(home, Script(SENTENCES)) as live:
        here = Page(live.open(page.folder.id), number=page.number, fed=page.fed)
        here.open()
        here.feed([0] * RATE_HZ)
        here.wait_for_utterances(2)
    export.export_package(other, [there.id], tmp_path / "e.zip", replace=False, progress=Quiet())
    imported = import_from(
        home, tmp_path / "e.zip", originals=None, from_unknown=True, progress=Quiet()
    )
    assert [each.job for each in imported] == [there.id]
    assert page.folder.load().complete
    with sessions(home, Script(SENTENCES)) as live:
        again = Page(live.open(page.folder.id))
        again.wait(lambda: again.session.finished)
    job = page.folder.load()
    raw = tmp_path / "fed.pcm"
    for name, fed in (
        ("recording_1.flac", page.fed), (f"recording_1_{STRETCH[:8]}.flac", here.fed),
    ):  # fmt: skip
        media = next(each for each in job.media if each.name == name)
        raw.write_bytes(fed)
        assert flac.same(raw, page.folder.path_of(media.path))
    assert set(texts(job)) == set(SENTENCES)
    assert archive.check(home, Quiet()).faults == ()
