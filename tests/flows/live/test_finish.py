"""The finish: all heard, every sample an original, draft and report; cut off, it is ended later."""

import contextlib
import importlib
import threading
from collections.abc import Iterator
from pathlib import Path
from unittest.mock import patch

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.errors import SessionOver
from recorder.flows import archive
from recorder.flows.live import finishing
from recorder.flows.live.sessions import Sessions
from recorder.model.job import MediaKind
from recorder.notes.requests.request import Ask, Request
from recorder.report.identity.identity import Identity
from recorder.voice import flac
from tests.flows.live.scripted import Page, Script, asked_to_finish, sessions, texts
from tests.flows.quiet import Quiet

SENTENCES = ["Pressure two bar.", "Dwell four minutes.", "Belt width seventy millimetres."]
FINISH = Request(ask=Ask.FINISH, said="")
SECOND = "77" * 16


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home.open(tmp_path / "home")


def finish(page: Page) -> None:
    """By a button, and again where the recorder asks first."""
    page.session.ask(FINISH)
    for _ in range(3):
        if page.session._ending.asked:
            break
        page.session.ask(FINISH)
    page.wait(lambda: page.finished, "finished")


def two_stretches(live: Sessions) -> tuple[Page, Page]:
    first = Page(live.begin())
    first.open()
    first.say(1)
    first.say(2)
    first.wait_for_utterances(2)
    second = Page(first.session, name=SECOND)
    second.open()
    second.say(3)
    second.wait_for_utterances(3)
    return first, second


def samples_of(folder: JobFolder, name: str, tmp_path: Path, fed: bytes) -> bool:
    """Whether an original gives back what was fed."""
    media = next(each for each in folder.load().media if each.name == name)
    raw = tmp_path / "fed.pcm"
    raw.write_bytes(fed)
    return flac.same(raw, folder.path_of(media.path))


def test_every_sample_becomes_an_original_and_the_report_is_signed(
    home: Home, key: Identity, tmp_path: Path
) -> None:
    with sessions(home, Script(SENTENCES), key) as live:
        first, second = two_stretches(live)
        second.feed([0] * 99)  # ends in the middle of a chunk
        finish(first)
        view = first.session.view()
        assert (view.finished, view.report, view.trouble) == (True, True, "")
        assert live.unfinished() == ()
        assert live.open(first.session.job_id) is first.session
    folder = first.folder
    job = folder.load()
    assert job.complete
    assert [media.name for media in job.media] == ["recording_1.flac", "recording_2.flac"]
    assert {media.kind for media in job.media} == {MediaKind.AUDIO}
    assert samples_of(folder, "recording_1.flac", tmp_path, first.fed)
    assert samples_of(folder, "recording_2.flac", tmp_path, second.fed)
    assert [r.samples for r in job.recordings] == [len(first.fed) // 2, len(second.fed) // 2]
    lengths_s = [round(r.duration_s, 2) for r in job.recordings]
    assert [t.duration_s for t in job.transcripts] == lengths_s
    assert not (folder.path / "live").exists()
    (pdf,) = folder.reports.glob("*.pdf")
    assert pdf.stat().st_size > 10_000
    assert archive.check(home, Quiet()).faults == ()
    with sessions(home, Script()) as live, pytest.raises(SessionOver):
        live.open(job.id)


def test_without_a_key_there_is_a_draft(home: Home) -> None:
    with sessions(home, Script(SENTENCES)) as live:
        first, _ = two_stretches(live)
        finish(first)
        assert not first.session.view().report
    assert (first.folder.derived / "draft.pdf").is_file()
    assert not list(first.folder.reports.iterdir())


def test_what_was_said_before_the_finish_is_heard_before_it(home: Home) -> None:
    script = Script(SENTENCES)
    script.going.clear()
    with sessions(home, script) as live:
        page = Page(live.begin())
        page.open()
        for number in (1, 2, 3):
            page.say(number)
        page.session.ask(FINISH)
        page.session.ask(FINISH)
        script.going.set()
        if not page.session._ending.asked:
            page.session.ask(FINISH)
        page.wait(lambda: page.finished)
        assert texts(page.job) == SENTENCES


def test_a_stretch_without_sound_leaves_nothing(home: Home) -> None:
    with sessions(home, Script(SENTENCES)) as live:
        page = Page(live.begin())
        page.open()
        page.say(1)
        page.wait_for_utterances(1)
        Page(page.session, name=SECOND).open()
        finish(page)
    assert [r.file for r in page.job.recordings] == ["recording_1.flac"]


def test_sound_that_does_not_come_back_from_the_packed_file_stays_raw(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("recorder.flows.live.ending._AGAIN_S", 0.05)
    with sessions(home, Script(SENTENCES)) as live:
        page = Page(live.begin())
        page.open()
        page.say(1)
        page.wait_for_utterances(1)
        with monkeypatch.context() as patch:
            patch.setattr(flac, "same", lambda *_: False)
            for _ in range(3):
                if not page.session._ending.asked:
                    page.session.ask(FINISH)
            page.wait(lambda: "does not give back" in page.session.view().trouble)
            assert (page.folder.path / "live" / "recording_1.pcm").read_bytes() == page.fed
            assert page.job.media == ()
        page.wait(lambda: page.finished)
    assert len(page.job.media) == 1


class _Killed(BaseException):
    """The end of the process, as far as the disk knows."""


# Every call of the finish that changes the disk.
DEEDS = (
    "recorder.voice.flac.write",
    "recorder.archive.jobs.media.MediaFolder.keep",
    "recorder.archive.jobs.folder.JobFolder.update",
    "recorder.flows.live.finishing.bring_up_to_date",
)
SIGNING = "recorder.flows.report.write"


def _kills() -> Iterator[tuple[str, int, bool]]:
    """Before and after each deed, at its first and second time."""
    for deed in DEEDS:
        for after in (False, True):
            yield deed, 1, after
    yield SIGNING, 1, True
    yield "recorder.archive.jobs.sounds.discard", 1, False
    yield "recorder.voice.flac.write", 2, True
    yield "recorder.archive.jobs.folder.JobFolder.update", 3, True


@pytest.mark.parametrize(("deed", "time", "after"), list(_kills()))
def test_cut_off_anywhere_the_next_start_ends_it(
    home: Home, key: Identity, tmp_path: Path, deed: str, time: int, after: bool,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    signs = key if deed == SIGNING else None
    monkeypatch.setattr("recorder.flows.draft.write", lambda *_: None)  # it takes a second
    with sessions(home, Script(SENTENCES)) as live:
        first, second = two_stretches(live)
        first.session._hearing.stop()  # so that this thread finishes
        first.session._turns._keeper.change(asked_to_finish)
        _finish_cut_off(home, first, signs, deed, time, after)
    with sessions(home, Script(), signs) as live:
        page = Page(live.open(first.session.job_id))
        page.wait(lambda: page.session.finished)
    folder = first.folder
    job = folder.load()
    assert job.complete
    assert [media.name for media in job.media] == ["recording_1.flac", "recording_2.flac"]
    assert samples_of(folder, "recording_1.flac", tmp_path, first.fed)
    assert samples_of(folder, "recording_2.flac", tmp_path, second.fed)
    assert len(list(folder.media.paths())) == 2
    assert len(list(folder.reports.glob("*.pdf"))) == (deed == SIGNING)
    assert not (folder.path / "live").exists()
    assert archive.check(home, Quiet()).faults == ()


def _finish_cut_off(
    home: Home, page: Page, key: Identity | None, deed: str, time: int, after: bool
) -> None:
    count = 0

    def cut(*given: object, **named: object) -> object:
        nonlocal count
        count += 1
        if count == time and not after:
            raise _Killed
        found = real(*given, **named)
        if count == time:
            raise _Killed
        return found

    where, _, name = deed.rpartition(".")
    owner = _owner(where)
    real = getattr(owner, name)
    session = page.session
    with patch.object(owner, name, cut), pytest.raises(_Killed):
        finishing.finish(
            home, page.folder, session._sounds, session._turns, session._settings, key, Quiet()
        )


def _owner(where: str) -> object:
    try:
        return importlib.import_module(where)
    except ModuleNotFoundError:
        module, _, name = where.rpartition(".")
        return getattr(importlib.import_module(module), name)


def test_a_report_that_fails_leaves_a_complete_job_and_says_so(
    home: Home, key: Identity, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise RuntimeError("broken")

    monkeypatch.setattr("recorder.flows.draft.write", fail)
    with sessions(home, Script(SENTENCES), key) as live:
        page = Page(live.begin())
        page.open()
        page.say(1)
        page.wait_for_utterances(1)
        finish(page)
        view = page.session.view()
    assert page.job.complete
    assert (view.finished, view.report) == (True, False)
    assert "report could not be written" in view.trouble
    assert not (page.folder.path / "live").exists()


def test_whatever_was_acknowledged_while_it_ended_is_in_the_original(
    home: Home, tmp_path: Path
) -> None:
    with sessions(home, Script(SENTENCES)) as live:
        page = Page(live.begin())
        page.open()
        page.say(1)
        page.wait_for_utterances(1)
        asking = threading.Timer(0.2, page.session._keeper.change, (asked_to_finish,))
        asking.start()
        with contextlib.suppress(SessionOver):
            while page.number < 10_000:
                page.feed([0] * 800)
        page.wait(lambda: page.finished)
    assert page.number < 10_000
    assert samples_of(page.folder, "recording_1.flac", tmp_path, page.fed)
