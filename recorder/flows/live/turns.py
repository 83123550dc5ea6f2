"""Turns of the talk, each saved as one: what was said or touched, and what it leads to.

::

    utterance, touch, request, clock ─► turn (recorder/live/) ─► memory ─► job ─► session

All of it under one lock, with the job as it is on the disk, which others may have changed.
"""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable, Iterator
from datetime import datetime

from recorder.archive.jobs.acting import acting
from recorder.archive.jobs.folder import JobFolder
from recorder.errors import BadValue
from recorder.flows.live.memory import Keeper, Point, size_of
from recorder.live import turn as talking
from recorder.live.shelf import Shelf
from recorder.live.talk import Action, Talk, Turn
from recorder.model.job import Job
from recorder.model.measurement import SeamMeasurement
from recorder.model.reading import Note
from recorder.model.recording import Recording
from recorder.model.software import Software
from recorder.model.transcript import Transcript, Utterance
from recorder.notes.conversation import Conversation
from recorder.notes.requests.request import Request
from recorder.notes.words.speaking import Vocabulary, speaking
from recorder.settings import Settings

_RECALLED = 3  # utterances on which the next may build, as an amount on the words before it

Change = Callable[[Job], Job]


class Turns:
    """Thread-safe. Every method that makes a turn raises what saving raises, and OutputUnwritable;
    then nothing has happened.
    """

    def __init__(
        self,
        folder: JobFolder,
        keeper: Keeper,
        settings: Settings,
        vocabulary: Vocabulary,
        recordings: Callable[[], tuple[Recording, ...]],
        told: Callable[[Turn], None],
        shelf: Shelf | None = None,
    ) -> None:
        """recordings: of the session, as they are now. told: what is to be done with each turn
        once it is saved. shelf: where the talk looks up past jobs.
        """
        self._folder = folder
        self._keeper = keeper
        self._settings = settings
        self._vocabulary = vocabulary
        self._recordings = recordings
        self._told = told
        self._shelf = shelf
        self._lock = threading.RLock()
        self._job = folder.load()
        self._conversation = self._begun()

    @property
    def job(self) -> Job:
        """As it was when it was last saved from here."""
        return self._job

    @property
    def talk(self) -> Talk:
        return self._keeper.point.talk

    def hear(
        self, file: str, said: Utterance, heard: int, model: str, software: tuple[Software, ...]
    ) -> None:
        """An utterance of a recording, which was heard up to the sample ``heard``."""
        self._turn(
            lambda job: talking.hear(
                self.talk, job, self._conversation, file, said, model, _now(), self._shelf
            ),
            first=lambda job: _transcribed(job, file, said, model, software),
            heard={file: heard},
        )

    def confirm(self, place: int | None) -> None:
        with _known(place):
            self._turn(lambda job: talking.confirm(self.talk, job, place, _now(), self._shelf))

    def deny(self) -> None:
        self._turn(lambda job: talking.deny(self.talk, job, _now()))

    def replace(self, place: int, text: str) -> None:
        with _known(place):
            self._turn(lambda job: talking.replace(self.talk, job, place, text, _now()))

    def enter(self, field: str, text: str) -> None:
        self._turn(lambda job: talking.enter(self.talk, job, field, text, _now()))

    def later(self) -> None:
        self._turn(lambda job: talking.later(self.talk, job, _now()))

    def ask(self, request: Request) -> None:
        self._turn(lambda job: talking.ask(self.talk, job, request, _now(), self._shelf))

    def hush(self) -> None:
        """The recorder was cut off; what it had still to say stays unsaid."""
        if self.talk.rest:
            self._turn(lambda job: Turn(talk=self.talk.model_copy(update={"rest": ()})))

    def seen(self, measurement: SeamMeasurement, first: Change) -> None:
        """first: puts the measurement into the job."""
        self._turn(lambda job: talking.seen(self.talk, job, measurement, _now()), first=first)

    def tick(self, asks: bool = True) -> None:
        """Time went by, and nobody speaks. asks: whether somebody could answer a question."""
        with self._lock, speaking(self._vocabulary):
            due = talking.tick(self.talk, self._job, _now(), asks, self._shelf)
        if due is not None:
            self._turn(
                lambda job: (
                    talking.tick(self.talk, job, _now(), asks, self._shelf) or Turn(talk=self.talk)
                )
            )

    def not_understood(self, file: str, start_s: float, end_s: float) -> None:
        """Leave a note where the program itself failed at what was said."""
        text = "(something was said here that the program could not take in; play the recording)"
        note = Note(text=text, file=file, start_s=round(start_s, 2), end_s=round(end_s, 2))
        self.change(lambda job: job.model_copy(update={"notes": (*job.notes, note)}))

    def change(self, change: Change) -> None:
        """Change the job without a turn of the talk."""
        with self._lock, acting(self._settings.report.technician):
            self._job = self._folder.update(change)

    def _turn(
        self,
        make: Callable[[Job], Turn],
        first: Change = lambda job: job,
        heard: dict[str, int] | None = None,
    ) -> None:
        """first: what is done to the job before the turn is made of it."""
        noted: list[Turn] = []

        def change(known: Job) -> Job:
            begun = first(known)
            job = begun.model_copy(update={"recordings": self._recordings()})
            turn = make(job)
            after_it = talking.added(job, turn)
            # Sound alone is no reason to write the record anew.
            job = known if after_it == job and begun == known else after_it
            before = self._keeper.point
            after = Point(
                talk=turn.talk,
                heard={**before.heard, **(heard or {})},
                finishing=before.finishing or Action.FINISH in turn.actions,
            )
            self._keeper.turn(after, size_of(job))
            noted.append(turn)
            return job

        with self._lock:
            with speaking(self._vocabulary), acting(self._settings.report.technician):
                try:
                    self._job = self._folder.update(change)
                except BaseException:
                    if noted:
                        self._keeper.take_back()
                    self._conversation = self._begun()
                    raise
            self._told(noted[-1])

    def _begun(self) -> Conversation:
        """The conversation as far as the job tells of it."""
        with speaking(self._vocabulary):
            conversation = Conversation(self._job.readings, self._settings.trust)
            talk = self._keeper.point.talk
            conversation.move_to(talk.splice, talk.run)
            for last in self._job.transcripts[-1:]:
                said = last.utterances[-_RECALLED:]
                conversation.recall(last.file, said, last.model, self._job.readings)
            return conversation


def _transcribed(
    job: Job, file: str, utterance: Utterance, model: str, software: tuple[Software, ...]
) -> Job:
    """The job with one more utterance of a recording, which is as long as the job says."""
    known = next((each for each in job.transcripts if each.file == file), None)
    said = known.utterances if known else ()
    heard = Transcript(
        file=file, utterances=(*said, utterance), duration_s=utterance.end_s, model=model
    )
    transcripts = (
        tuple(heard if each.file == file else each for each in job.transcripts)
        if known
        else (*job.transcripts, heard)
    )
    return job.model_copy(
        update={
            "transcripts": transcripts,
            "software": tuple(dict.fromkeys((*job.software, *software))),
        }
    )


@contextlib.contextmanager
def _known(place: int | None) -> Iterator[None]:
    """A place that no reading has is told as what it is."""
    try:
        yield
    except IndexError as error:
        hint = "load the page again"
        raise BadValue(value=place, field="the place of a reading", hint=hint) from error


def _now() -> datetime:
    return datetime.now().astimezone()
