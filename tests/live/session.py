"""A session without sound or threads: what is said goes in as words, what is answered comes out."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from recorder.live import turn as live
from recorder.live.shelf import Shelf
from recorder.live.talk import Action, Talk, Turn
from recorder.model.job import Job, in_force
from recorder.model.reading import Reading
from recorder.model.recording import Recording
from recorder.notes.conversation import Conversation
from recorder.notes.requests.request import Request
from tests.notes.telling import utterance

BEGAN = datetime(2026, 11, 26, 9, 0, tzinfo=UTC)
FILE = "recording_1.flac"


def new_job(*readings: Reading) -> Job:
    sound = Recording(file=FILE, began_at=BEGAN, samples=48_000 * 7200, rate_hz=48_000)
    return Job(id="j", created_at=BEGAN, version="0", readings=readings, recordings=(sound,))


@dataclass
class Session:
    """The caller's part: it keeps job and talk, and its clock moves by what is said. shelf: where
    past jobs are looked up.
    """

    job: Job = field(default_factory=new_job)
    talk: Talk = field(default_factory=Talk)
    at_s: float = 0.0
    finished: bool = False
    turns: list[Turn] = field(default_factory=list)
    shelf: Shelf | None = None

    def __post_init__(self) -> None:
        self.conversation = Conversation(self.job.readings)

    @property
    def now(self) -> datetime:
        return BEGAN + timedelta(seconds=self.at_s)

    def says(self, first: str, second: str = "=", probability: float = 0.95) -> str:
        """Somebody says something. second: what the second hearing makes of it."""
        said = utterance(first, second, probability, self.at_s)
        self.at_s += 0.5 * len(first.split())
        turn = live.hear(
            self.talk, self.job, self.conversation, FILE, said, "bundled", self.now, self.shelf
        )
        return self._take(turn)

    def asks(self, request: Request) -> str:
        return self._take(live.ask(self.talk, self.job, request, self.now, self.shelf))

    def take(self, turn: Turn) -> str:
        """The turn of a touch or a photo."""
        return self._take(turn)

    def waits(self, seconds: float, step_s: float = 1.0) -> list[str]:
        """Time passes in steps; what the recorder says by itself meanwhile."""
        said = []
        for _ in range(round(seconds / step_s)):
            self.at_s += step_s
            turn = live.tick(self.talk, self.job, self.now, shelf=self.shelf)
            if turn is not None:
                said.append(self._take(turn))
        return [each for each in said if each]

    def in_force(self, splice: int | None = None, run: int | None = None) -> dict[str, Reading]:
        return in_force(self.job.readings, splice, run)

    def restarted(self) -> Session:
        """The same session after the program was killed: job and talk are on disk."""
        return Session(
            job=Job.model_validate_json(self.job.model_dump_json()),
            talk=Talk.model_validate_json(self.talk.model_dump_json()),
            at_s=self.at_s,
            finished=self.finished,
            shelf=self.shelf,
        )

    def _take(self, turn: Turn) -> str:
        self.turns.append(turn)
        self.job = live.added(self.job, turn)
        self.talk = turn.talk
        self.finished = self.finished or Action.FINISH in turn.actions
        return turn.say
