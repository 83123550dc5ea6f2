"""A session with a scripted ear: every order of things, and what the job holds afterwards."""

import threading
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from recorder.archive.disk import atomic
from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.errors import (
    BadValue,
    Busy,
    EngineMissing,
    OutputUnwritable,
    SessionOver,
    SoundRefused,
    UnknownJob,
)
from recorder.flows.live.happening import TakePhoto
from recorder.flows.live.turns import Turns
from recorder.live.chunks import Chunk
from recorder.live.view import Sign
from recorder.model.job import Job, in_force
from recorder.model.recording import GapReason
from recorder.notes.requests.request import Ask, Request
from tests.flows.live.scripted import (
    RATE_HZ,
    STRETCH,
    Page,
    Script,
    asked_to_finish,
    sessions,
    texts,
    utterances,
)


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home.open(tmp_path / "home")


def test_what_is_said_stands_in_the_job_with_its_place_in_the_recording(home: Home) -> None:
    script = Script(["The pressure is two bar.", "Belt width seventy millimetres."])
    with sessions(home, script) as live:
        page = Page(live.begin())
        assert page.open() == 0
        page.feed([0] * RATE_HZ)
        assert page.say(1).saved_s == pytest.approx(2.8)
        page.say(2)
        job = page.wait_for_utterances(2)
    assert texts(job) == script.sentences
    assert [t.file for t in job.transcripts] == ["recording_1.flac"]
    assert [u.start_s for u in utterances(job)] == pytest.approx([1.0, 2.8], abs=0.01)
    assert [u.end_s for u in utterances(job)] == pytest.approx([2.6, 4.4], abs=0.01)
    told = in_force(job.readings)
    assert (told["pressure"].value, told["belt_width"].value) == (2.0, 70.0)
    assert not job.complete
    (recording,) = job.recordings
    assert (recording.file, recording.device, recording.rate_hz) == (
        "recording_1.flac", "phone", RATE_HZ,
    )  # fmt: skip
    assert (page.folder.path / "live" / "recording_1.pcm").read_bytes() == page.fed


def test_sound_is_kept_while_nothing_can_be_heard_and_none_is_skipped(home: Home) -> None:
    script = Script([f"Note number {n}." for n in range(1, 9)])
    script.going.clear()
    with sessions(home, script) as live:
        page = Page(live.begin())
        page.open()
        for number in range(1, 9):
            page.say(number)
        taken = page.feed([0] * CHUNK_OF_SILENCE)
        assert taken.saved_s == pytest.approx(8 * 1.8 + 0.1)
        page.wait(lambda: len(script.asked) == 3, "three are looked at ahead")
        view = page.session.view()
        assert view.sign is Sign.THINKING
        assert view.backlog_s > 8.0
        assert utterances(page.job) == []
        script.going.set()
        job = page.wait_for_utterances(8)
        page.wait(lambda: page.session.view().backlog_s == 0.0)
    assert texts(job) == script.sentences


CHUNK_OF_SILENCE = RATE_HZ // 10


def test_a_chunk_before_its_turn_is_wanted_again_and_a_second_one_is_kept_once(
    home: Home,
) -> None:
    with sessions(home, Script()) as live:
        page = Page(live.begin())
        page.open()
        first, second = (Chunk(STRETCH, n, n * 10, bytes([n, 0]) * 10) for n in (0, 1))
        taken = page.session.take([second])
        assert (taken.next, taken.wanted_again) == (0, True)
        assert page.session.take([first, second]).next == 2
        assert page.session.take([first, second]).next == 2
        assert page.open() == 2
        with pytest.raises(SoundRefused):
            page.session.take([Chunk("00" * 16, 0, 0, b"\0\0")])


def test_what_the_loudspeaker_said_is_kept_and_not_heard(home: Home) -> None:
    script = Script(["Pressure two bar.", "The recorder speaks.", "Dwell four minutes."])
    with sessions(home, script) as live:
        session = live.begin()
        page = Page(session)
        page.open()
        page.say(1)
        name = session._voice.want("Pressure two bar.")
        session._voice.sound = lambda name: b""  # type: ignore[method-assign]
        at = len(page.fed) // 2
        session.speaking(name, at, STRETCH)
        page.feed([2] * RATE_HZ)
        session.spoken(name, at + RATE_HZ, STRETCH)
        page.feed([2] * (RATE_HZ // 4) + [0] * (RATE_HZ // 4))  # its echo, within the tail
        page.say(3)
        job = page.wait_for_utterances(2)
        stored = (page.folder.path / "live" / "recording_1.pcm").read_bytes()
    assert texts(job) == ["Pressure two bar.", "Dwell four minutes."]
    assert script.asked == [1, 3]
    assert stored == page.fed


def test_what_the_loudspeaker_said_is_not_taken_where_the_page_told_too_late(home: Home) -> None:
    script = Script(["The recorder speaks.", "Dwell four minutes."])
    script.going.clear()
    with sessions(home, script) as live:
        page = Page(live.begin())
        page.open()
        page.say(1)
        page.wait(lambda: script.asked == [1])
        page.session._keeper.mute(STRETCH, 0, RATE_HZ)
        script.going.set()
        page.say(2)
        job = page.wait_for_utterances(1)
    assert texts(job) == ["Dwell four minutes."]


def test_a_stretch_tells_of_a_plausible_microphone(home: Home) -> None:
    with sessions(home, Script()) as live:
        session = live.begin()
        early = datetime(1999, 1, 1, tzinfo=UTC)
        late = datetime.now(UTC) + timedelta(days=2)
        session.stretch("00" * 16, RATE_HZ, early, "phone\n" + "x" * 500, GapReason.FIRST)
        session.stretch("11" * 16, RATE_HZ, late, "phone", GapReason.HIDDEN)
        first, second = session._turns.job.recordings
        assert first.began_at == session._turns.job.created_at
        assert len(first.device) == 80
        assert second.began_at <= datetime.now(UTC)
        for rate_hz in (0, -1, 500_000):
            with pytest.raises(SoundRefused):
                session.stretch("22" * 16, rate_hz, early, "phone", GapReason.FIRST)
        for name in ("../../x", "zz" * 16, ""):
            with pytest.raises(SoundRefused):
                session.stretch(name, RATE_HZ, early, "phone", GapReason.FIRST)
        with pytest.raises(SoundRefused):
            session.stretch("33" * 16, RATE_HZ, datetime(2026, 1, 1), "phone", GapReason.FIRST)


@pytest.mark.parametrize("told", [None, 2**53 - 1])
def test_a_page_that_never_ends_to_speak_is_heard_again_by_itself(
    home: Home, told: int | None
) -> None:
    """told: where the page says that it ended, which may be nonsense; None for a page that is
    silent of it.
    """
    script = Script(["Pressure two bar."])
    with sessions(home, script) as live:
        session = live.begin()
        page = Page(session)
        page.open()
        name = session._voice.want("Yes.")
        session._voice.sound = lambda name: b""  # type: ignore[method-assign]
        session.speaking(name, 0, STRETCH)
        page.feed([0] * RATE_HZ)  # no length, and a second more
        if told is not None:
            session.spoken(name, told, STRETCH)
            page.feed([0] * RATE_HZ)
        page.say(1)
        page.wait_for_utterances(1)


def test_a_sentence_that_a_gap_cuts_off_is_heard_as_far_as_it_came(home: Home) -> None:
    script = Script(["The customer is Larkfield Bakery.", "Dwell four minutes."])
    with sessions(home, script) as live:
        page = Page(live.begin())
        page.open()
        page.feed([1] * (RATE_HZ // 2))
        page.session.gap(GapReason.HIDDEN)
        assert page.session.view().microphone == ""
        page.wait_for_utterances(1)
        second = Page(page.session, name="77" * 16)
        second.open(GapReason.HIDDEN)
        second.say(2)
        job = second.wait_for_utterances(2)
        assert page.session.view().microphone == "phone"
    assert [t.file for t in job.transcripts] == ["recording_1.flac", "recording_2.flac"]
    assert [r.after for r in job.recordings] == [GapReason.FIRST, GapReason.HIDDEN]


def test_what_an_older_page_still_brings_is_kept_and_is_not_the_microphone(home: Home) -> None:
    script = Script(["Pressure two bar.", "Dwell four minutes."])
    with sessions(home, script) as live:
        old = Page(live.begin())
        old.open(device="tablet")
        new = Page(old.session, name="77" * 16)
        new.open(GapReason.TAKEN_OVER)
        assert old.open(device="tablet") == 0
        old.say(1)
        new.say(2)
        job = new.wait_for_utterances(2)
        assert old.session.view().microphone == "phone"
    assert {t.file: t.utterances[0].text for t in job.transcripts} == {
        "recording_1.flac": "Pressure two bar.", "recording_2.flac": "Dwell four minutes.",
    }  # fmt: skip


def test_where_no_speech_model_is_the_page_says_so_and_recording_goes_on(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("recorder.flows.live.hearing._AGAIN_S", 0.1)
    script = Script(["Pressure two bar."])
    script.missing = EngineMissing(engine="speech", detail="not there", install="get it")
    with sessions(home, script) as live:
        page = Page(live.begin())
        page.open()
        page.say(1)
        page.wait(lambda: "not there" in page.session.view().trouble)
        assert page.feed([0] * RATE_HZ).saved_s == pytest.approx(2.8)
        script.missing = None
        page.wait_for_utterances(1)
        page.wait(lambda: page.session.view().trouble == "")


@pytest.mark.parametrize(
    "error", [RuntimeError("broken"), BadValue(value="x", field="y", hint="z")]
)
def test_a_sentence_at_which_the_program_fails_is_noted_and_the_next_is_heard(
    home: Home, monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    monkeypatch.setattr("recorder.flows.live.hearing._AGAIN_S", 0.05)
    script = Script(["Pressure two bar.", "Dwell four minutes."])
    script.fails = [error] * 4
    note_it, fails = Turns.not_understood, [error]

    def noted(turns: Turns, file: str, start_s: float, end_s: float) -> None:
        if fails:  # the note fails as well, the first time
            raise fails.pop()
        note_it(turns, file, start_s, end_s)

    monkeypatch.setattr(Turns, "not_understood", noted)
    with sessions(home, script) as live:
        page = Page(live.begin())
        page.open()
        page.say(1)
        page.wait(lambda: type(error).__name__ in page.session.view().trouble)
        page.wait(lambda: page.job.notes)
        page.say(2)
        job = page.wait_for_utterances(1)
    assert texts(job) == ["Dwell four minutes."]
    (note,) = job.notes
    assert (note.file, note.start_s) == ("recording_1.flac", 0.0)


def test_a_failure_while_saving_costs_no_sentence_and_doubles_none(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("recorder.flows.live.hearing._AGAIN_S", 0.05)
    script = Script(["Pressure two bar.", "Dwell four minutes."])
    with sessions(home, script) as live:
        page = Page(live.begin())
        page.open()
        page.say(1)
        page.wait_for_utterances(1)
        full = threading.Event()
        save = JobFolder.update

        def update(folder: JobFolder, change: Callable[[Job], Job]) -> Job:
            if full.is_set():
                return save(folder, change)
            full.set()
            change(folder.load())
            raise OutputUnwritable(path=folder.path, detail="No space left on device")

        monkeypatch.setattr(JobFolder, "update", update)
        page.say(2)
        page.wait(lambda: full.is_set())
        job = page.wait_for_utterances(2)
    assert texts(job) == script.sentences
    assert [r.field for r in job.readings] == ["pressure", "dwell_time"]


@pytest.mark.parametrize("file", ["talk.json", "job.json"])
def test_a_full_disk_costs_no_turn_that_was_saved(
    home: Home, monkeypatch: pytest.MonkeyPatch, file: str
) -> None:
    monkeypatch.setattr("recorder.flows.live.hearing._AGAIN_S", 0.05)
    script = Script(["Pressure two bar.", "Dwell four minutes."])
    with sessions(home, script) as live:
        page = Page(live.begin())
        page.open()
        page.say(1)
        page.wait_for_utterances(1)
        before = page.session._keeper.point
        stage = atomic.stage
        full = threading.Event()
        full.set()

        def staged(path: Path, content: bytes) -> Path:
            if path.name == file and full.is_set():
                raise OutputUnwritable(path=path, detail="No space left on device")
            return stage(path, content)

        monkeypatch.setattr(atomic, "stage", staged)
        page.say(2)
        page.wait(lambda: "No space left" in page.session.view().trouble)
        assert page.session._keeper.point.heard == before.heard
        assert page.session._turns.talk.last_turns == before.talk.last_turns
        full.clear()
        job = page.wait_for_utterances(2)
        page.wait(lambda: page.session.view().trouble == "")
        assert len(page.session._turns.talk.last_turns) == 2
    assert texts(job) == script.sentences


def test_where_what_was_told_cannot_be_kept_what_was_asked_for_is_done(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OutputUnwritable(path="talk.json", detail="No space left on device")

    with sessions(home, Script()) as live:
        page = Page(live.begin())
        monkeypatch.setattr("recorder.flows.live.memory.Keeper.tell", full)
        page.session.ask(Request(ask=Ask.PHOTO, said=""))
        assert TakePhoto() in page.happened


def test_after_a_restart_what_was_not_heard_is_heard_and_nothing_twice(home: Home) -> None:
    script = Script(["Pressure two bar.", "Dwell four minutes.", "Belt width seventy millimetres."])
    with sessions(home, script) as live:
        page = Page(live.begin())
        page.open()
        page.say(1)
        page.wait_for_utterances(1)
        script.going.clear()
        page.say(2)
        page.say(3)
    again = Script(script.sentences)
    with sessions(home, again) as live:
        assert live.unfinished() == (page.session.job_id,)
        session = live.open(page.session.job_id)
        assert live.open(page.session.job_id) is session
        after = Page(session, number=page.number, fed=page.fed)
        assert after.open() == page.number
        job = after.wait_for_utterances(3)
    assert texts(job) == script.sentences
    assert again.asked == [2, 3]
    assert [r.field for r in job.readings] == ["pressure", "dwell_time", "belt_width"]


def test_another_process_cannot_record_the_same_job(home: Home) -> None:
    with sessions(home, Script()) as live:
        session = live.begin()
        with sessions(home, Script()) as other, pytest.raises(Busy):
            other.open(session.job_id)


def test_unknown_jobs_and_those_without_a_session(home: Home) -> None:
    with sessions(home, Script()) as live:
        for wanted in ("20261125-204530-3f9a", "../../etc", "x" * 500, "20261125\0"):
            with pytest.raises(UnknownJob):
                live.open(wanted)


def test_after_the_finish_nothing_is_taken(home: Home) -> None:
    script = Script(["Pressure two bar."])
    with sessions(home, script) as live:
        page = Page(live.begin())
        page.open()
        page.say(1)
        page.wait_for_utterances(1)
        page.session._turns._keeper.change(asked_to_finish)
        page.wait(lambda: page.finished)
        with pytest.raises(SessionOver):
            page.feed([1])
        assert page.session.view().sign is Sign.FINISHED


def test_what_fails_by_itself_or_in_a_page_stops_no_hearing(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise RuntimeError("broken")

    monkeypatch.setattr("recorder.live.turn.passing.passed", fail)
    script = Script(["Pressure two bar."])
    with sessions(home, script) as live:
        page = Page(live.begin())
        end = page.session.listen(fail)
        page.wait(lambda: "by itself" in page.session.view().trouble)
        page.open()
        page.say(1)
        page.wait_for_utterances(1)
        end()


def test_the_recorder_greets_when_there_is_a_microphone_to_hear_it(home: Home) -> None:
    with sessions(home, Script([])) as live:
        page = Page(live.begin())
        page.session._tick()
        assert page.session.view().lines == ()
        page.open()
        page.wait(lambda: page.session.view().lines, "a greeting")
        assert "Isolate" in page.session.view().lines[0].text
