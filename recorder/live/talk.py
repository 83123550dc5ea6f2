"""The state of the conversation of one live session: frozen, and kept across restarts."""

from __future__ import annotations

from enum import StrEnum

from pydantic import AwareDatetime
from pydantic import Field as Constraint

from recorder.knowhow.recipes.answer import Deviation
from recorder.live.known import Knowledge
from recorder.model.base import Number, Value
from recorder.model.reading import Note, Reading
from recorder.model.stages import StageMark
from recorder.notes.requests.request import Request, Timer

# Of a value: its field, splice and run, as in a reading.
Key = tuple[str, int, int]


class Moment(StrEnum):
    """Where in the job the session is, in order; what is missing is asked for at its moment."""

    BEFORE = "before"
    PRESSING = "pressing"
    AFTER = "after"
    FINISHING = "finishing"


class Running(Value):
    """A timer. started_at: by the clock. seconds: until it is due; None for one that only counts.
    announced: that it is due has been said.
    """

    timer: Timer
    started_at: AwareDatetime
    seconds: float | None = None
    announced: bool = False


class Style(StrEnum):
    """How a question wants to be answered. right: by yes or no, to one value. which: by one of two
    values, so that a bare yes says nothing. open: by a value; of a flag, by yes or no.
    """

    RIGHT = "right"
    WHICH = "which"
    OPEN = "open"


class Question(Value):
    """What the recorder asked and waits for. field: that is asked for. reading: the doubtful one,
    None for a field without a value. text: as it was spoken. first_at: when it was asked first;
    what was said before is no answer to it. asked_at: when last. times: how often.
    proposed: whether the value came from the session's clock; the job does not hold it yet.
    style: see there. choices: values that a touch can give, as a page shows them. splice, run: of
    the field that is asked for. deviation: that is asked about; then reading is the value that was
    told, None for one of the job card.
    """

    field: str
    reading: Reading | None = None
    text: str
    first_at: AwareDatetime
    asked_at: AwareDatetime
    times: int = 1
    proposed: bool = False
    style: Style = Style.OPEN
    choices: tuple[str, ...] = ()
    splice: Number = 1
    run: Number = 1
    deviation: Deviation | None = None

    @property
    def key(self) -> Key:
        return self.field, self.splice, self.run


class Given(Value):
    """What one turn gave, so that it can be taken back. start, end: of its readings in those of the
    job, the end exclusive. splice, run: where the session was before it.
    """

    start: int = Constraint(ge=0)
    end: int = Constraint(ge=0)
    splice: Number = 1
    run: Number = 1


class Talk(Value):
    """moment, splice, run: where the session is. paused: words are recorded, not taken. question:
    the open one. postponed: fields that are to be asked at the end, with splice and run. declined:
    those of which a person said that they have no value. asked_last: those that were asked at the
    end. timers: that run. last_said: by the recorder. rest: what is still to be said, in parts.
    last_turns: for undo, the newest last. finishing: whether the person asked to finish. over:
    that the job ends was said, and nothing more is asked. unsure_of: a request that waits for a
    yes, asked about at unsure_at. reminded: what was said once and is not said again. last_at: when
    something was said last, by anyone. silent_until: nothing missing is asked for before, as nobody
    answered. known: what was looked up of past jobs last, for the page.
    """

    moment: Moment = Moment.BEFORE
    splice: Number = 1
    run: Number = 1
    paused: bool = False
    question: Question | None = None
    postponed: tuple[Key, ...] = ()
    declined: tuple[Key, ...] = ()
    asked_last: tuple[Key, ...] = ()
    timers: tuple[Running, ...] = ()
    last_said: str = ""
    rest: tuple[str, ...] = ()
    last_turns: tuple[Given, ...] = ()
    finishing: bool = False
    over: bool = False
    unsure_of: Request | None = None
    unsure_at: AwareDatetime | None = None
    reminded: tuple[str, ...] = ()
    last_at: AwareDatetime | None = None
    silent_until: AwareDatetime | None = None
    known: Knowledge | None = None


class Action(StrEnum):
    """What the caller must do besides keeping readings and speaking."""

    TAKE_PHOTO = "take_photo"
    FINISH = "finish"


class Turn(Value):
    """What one happening leads to. talk: the new state. readings, notes, stages: to be added to the
    job. say: to be spoken, '' for nothing. understood: whether the words led to anything; if not,
    they stand in the transcript alone. actions: see there.
    """

    talk: Talk
    readings: tuple[Reading, ...] = ()
    notes: tuple[Note, ...] = ()
    stages: tuple[StageMark, ...] = ()
    say: str = ""
    understood: bool = True
    actions: tuple[Action, ...] = ()
