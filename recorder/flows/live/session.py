"""One live session: everything that a page can do to it, and what it tells.

::

    chunk ─► sound on the disk ─► hearing (own thread) ─► turns ─► job, memory ─► happenings ─► page
    touch, button ───────────────────────────────────────► turns
    photo ─► original ─► measured (own thread) ──────────► turns
    finish ─► all heard ─► originals, draft, report (the hearing's thread)
"""

from __future__ import annotations

import contextlib
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from recorder.archive.disk import lock
from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.sounds import Sounds
from recorder.errors import EngineMissing, OutputUnwritable, SeamnoteError
from recorder.flows.jobcard import names_in
from recorder.flows.live import showing
from recorder.flows.live.ears import Hears
from recorder.flows.live.ending import Ending
from recorder.flows.live.happening import Changed, Finished, Happening, Hush, Speak, TakePhoto
from recorder.flows.live.hearing import Hearing
from recorder.flows.live.memory import Keeper
from recorder.flows.live.microphone import Microphone, Taken
from recorder.flows.live.photos import Photos
from recorder.flows.live.shelving import Shelving
from recorder.flows.live.turns import Turns
from recorder.flows.live.unforeseen import note
from recorder.flows.live.voice import Voice
from recorder.flows.photos import Measure
from recorder.live.chunks import Chunk
from recorder.live.talk import Action, Turn
from recorder.live.view import View
from recorder.model.job import in_force
from recorder.model.recording import GapReason
from recorder.notes.requests.request import Request
from recorder.notes.words.speaking import Vocabulary, speaking
from recorder.notes.words.vocabulary import hearing_prompt
from recorder.report.identity.identity import Identity
from recorder.settings import Settings

_TICK_S = 0.5
_SILENT_S = 30.0  # after the program failed at what it says by itself


@dataclass(frozen=True)
class Engines:
    """What a session works with; tests have others. hears, measure: see there. admit: raises
    InputRefused for what is no picture. vocabulary: of the home. key: to sign with, or None.
    """

    hears: Hears
    admit: Callable[[Path, str], object]
    measure: Measure
    vocabulary: Vocabulary
    key: Identity | None


class LiveSession:
    """Thread-safe. What can wait for the disk is marked so; all else returns at once."""

    def __init__(self, home: Home, folder: JobFolder, settings: Settings, engines: Engines) -> None:
        """Take up a job. Raises BadJobFolder, RecordChanged, OutputUnwritable, Busy."""
        self.job_id = folder.id
        self._home, self._folder, self._settings, self._engines = home, folder, settings, engines
        self._listeners: tuple[Callable[[Happening], None], ...] = ()
        with lock.held(folder.path):
            folder.settle()  # a saving that was cut off before it had its name counts
        self._sounds = Sounds(folder.path)
        self._keeper = Keeper(self._sounds.folder, folder.load())
        self._voice = Voice(settings, self._keeper)
        self._turns = Turns(
            folder, self._keeper, settings, engines.vocabulary, self._sounds.recordings, self._told,
            Shelving(home, settings.report.technician),
        )  # fmt: skip
        self._ending = Ending(
            home, folder, self._sounds, self._keeper, self._turns, settings, engines.key,
            self._changed,
        )  # fmt: skip
        self._photos = Photos(
            home, folder, self._sounds.folder, settings.photo, self._turns, engines.measure,
            self._changed,
        )  # fmt: skip
        self._hearing = Hearing(
            self._sounds, self._keeper, self._turns, engines.hears, self._prompt, self._idle,
            self._changed,
        )  # fmt: skip
        self._microphone = Microphone(
            self._sounds, self._turns, self._ending, self._hearing, self._changed
        )
        self._ticked = 0.0
        self._shown_microphone = ""
        self._trouble = ""
        self._photos.start()
        self._hearing.start()

    def stretch(
        self, name: str, rate_hz: int, began_at: datetime, device: str, after: GapReason
    ) -> int:
        """Open a stretch of sound; the number of the chunk wanted next. Waits for the disk.

        name: 32 hex digits, made by the page. Known ones are only looked up. began_at: with zone;
        a page's clock counts only between the job's beginning and now. Raises
        OutputUnwritable, SoundRefused, SessionOver.
        """
        return self._microphone.open(name, rate_hz, began_at, device, after)

    def take(self, chunks: Sequence[Chunk]) -> Taken:
        """Keep chunks of one stretch, in order; on return they are on the disk. Waits for it.

        Those that came before are passed over. Raises OutputUnwritable, SoundRefused, SessionOver.
        """
        return self._microphone.take(chunks)

    def speaking(self, name: str, from_sample: int, stretch: str) -> None:
        """The page begins to speak ``name`` at this sample of the stretch. Waits for the disk.

        Raises OutputUnwritable, SoundRefused.
        """
        if self._ending.asked:  # nothing more is heard
            return
        with contextlib.suppress(KeyError, EngineMissing):  # another run of the server named it
            place, rate_hz = self._microphone.place(from_sample, stretch)
            self._voice.speaking(name, stretch, place, rate_hz)
        self._changed()

    def spoken(self, name: str, to_sample: int, stretch: str) -> None:
        """It has ended to speak, or was cut off. Waits for the disk. Raises as ``speaking``."""
        if self._ending.asked:
            return
        place, rate_hz = self._microphone.place(to_sample, stretch)
        self._voice.spoken(name, stretch, place, rate_hz)
        self._changed()

    def interrupt(self) -> None:
        """A person cut the recorder off. May wait for the disk."""
        self._voice.hush()
        self._emit(Hush())
        if not self._ending.asked:
            self._turns.hush()

    def say(self, name: str) -> bytes:
        """WAV of something that the session wants spoken. Takes a moment. Raises KeyError for a
        name that it never gave, EngineMissing.
        """
        return self._voice.sound(name)

    def gap(self, reason: GapReason) -> None:
        """The microphone stops now; the stretch after it tells the reason again, and keeps it."""
        self._microphone.gap()

    def photo(self, path: Path, name: str) -> None:
        """Keep a photo as original, then measure it aside. Waits for the disk.

        Raises InputRefused, SessionOver, and what saving raises.
        """
        self._ending.need_open()
        self._engines.admit(path, name)  # takes a moment; sound waits for no photo
        with self._ending.taking():
            self._photos.add(path, name)

    def confirm(self, place: int | None) -> None:
        """A touch says yes to the reading at this place of the job; None: to the open question.

        This and what follows wait for the disk, and raise SessionOver and what saving raises.
        """
        self._ending.need_open()
        self._turns.confirm(place)

    def deny(self) -> None:
        """A touch says no to the open question."""
        self._ending.need_open()
        self._turns.deny()

    def replace(self, place: int, text: str) -> None:
        """A person types another value for it. Raises BadValue, UnknownUnit."""
        self._ending.need_open()
        self._turns.replace(place, text)

    def enter(self, field: str, text: str) -> None:
        """A person types a value. Raises UnknownField, BadValue, UnknownUnit."""
        self._ending.need_open()
        self._turns.enter(field, text)

    def later(self) -> None:
        """The open question is to be asked at the end."""
        self._ending.need_open()
        self._turns.later()

    def ask(self, request: Request) -> None:
        """A button that asks what the voice could ask."""
        self._ending.need_open()
        self._turns.ask(request)

    def view(self) -> View:
        now = showing.Now(
            speaking=self._voice.on,
            thinking=self._hearing.thinking,
            hearing=self._ending.text or self._hearing.text,
            saved_s=self._sounds.seconds,
            backlog_s=self._hearing.backlog_s,
            microphone=self._microphone.device,
            can_speak=self._voice.can_speak,
            measuring=self._photos.measuring,
            finished=self.finished,
            report=self.finished and any(self._folder.reports.glob("*.pdf")),
            trouble=self._ending.trouble or self._trouble or self._hearing.trouble
            or self._photos.trouble or self._voice.trouble,
        )  # fmt: skip
        job = self._turns.job
        recordings = job.recordings if job.complete else self._sounds.recordings()
        with speaking(self._engines.vocabulary):
            return showing.view(job, self._turns.talk, recordings, self._keeper.now.told, now)

    def listen(self, call: Callable[[Happening], None]) -> Callable[[], None]:
        """Be told what happens, in the session's own threads; the answer ends that."""
        self._listeners = (*self._listeners, call)

        def end() -> None:
            self._listeners = tuple(each for each in self._listeners if each is not call)

        return end

    def close(self) -> None:
        """End the threads; all that came is on the disk."""
        self._hearing.stop()
        self._photos.stop()

    @property
    def finished(self) -> bool:
        """Whether the job is complete and its pages are written."""
        return self._ending.finished

    def _told(self, turn: Turn) -> None:
        """A turn is saved."""
        if turn.say:
            with contextlib.suppress(OutputUnwritable):  # then the page lacks a line
                self._keeper.tell(turn.say, datetime.now().astimezone())
            if self._voice.can_speak:
                self._emit(Speak(self._voice.want(turn.say), turn.say))
        if Action.TAKE_PHOTO in turn.actions:
            self._emit(TakePhoto())
        if Action.FINISH in turn.actions:
            self._ending.soon()
            self._hearing.poke()
        self._changed()

    def _idle(self) -> None:
        """In the hearing's thread, while there is nothing to be heard."""
        if self.finished:
            return
        if self._ending.asked:
            if self._ending.step(self._hearing, self._photos):
                self._emit(Finished(self.job_id))
        elif time.monotonic() - self._ticked > _TICK_S and self._hearing.quiet:
            self._ticked = time.monotonic()
            if not self._voice.on:
                self._tick()
        if self._microphone.device != self._shown_microphone:
            self._shown_microphone = self._microphone.device
            self._changed()

    def _tick(self) -> None:
        try:
            # What a photo shows is said in a moment, and a question would come between.
            self._turns.tick(asks=bool(self._microphone.device) and not self._photos.measuring)
        except SeamnoteError:
            raise
        except Exception as error:  # what is told and asked for goes on
            self._trouble = note("what the recorder says by itself failed", error)
            self._ticked += _SILENT_S

    def _prompt(self) -> str:
        with speaking(self._engines.vocabulary):
            return hearing_prompt(names_in(in_force(self._turns.job.readings).values()))

    def _changed(self) -> None:
        self._emit(Changed())

    def _emit(self, happening: Happening) -> None:
        for call in self._listeners:
            try:
                call(happening)
            except Exception as error:  # a page that fails costs the others nothing
                note("a page could not be told", error)
