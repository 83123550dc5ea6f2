"""The state of the conversation of one live session: frozen, and kept across restarts."""

from __future__ import annotations

from enum import StrEnum

from pydantic import AwareDatetime

from recorder.model.base import Number, Value
from recorder.model.reading import Note, Reading
from recorder.model.stages import StageMark
from recorder.notes.requests.request import Timer


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


class Question(Value):
    """What the recorder asked and waits for. field: that is asked for. reading: the doubtful one,
    None for a field without a value. text: as it was spoken. asked_at: when last. times: how often.
    proposed: whether the value came from the session's clock.
    """

    field: str
    reading: Reading | None = None
    text: str
    asked_at: AwareDatetime
    times: int = 1
    proposed: bool = False


class Talk(Value):
    """moment, splice, run: where the session is. paused: words are recorded, not taken. question:
    the open one. postponed: fields that are to be asked at the end, with splice and run. declined:
    those of which a person said that they have no value. timers: that run. last_said: by the
    recorder. last_turns: of the last utterances that gave readings, how many, for undo.
    finishing: whether the person asked to finish. unsure_of: a request that waits for a yes.
    """

    moment: Moment = Moment.BEFORE
    splice: Number = 1
    run: Number = 1
    paused: bool = False
    question: Question | None = None
    postponed: tuple[tuple[str, int, int], ...] = ()
    declined: tuple[tuple[str, int, int], ...] = ()
    timers: tuple[Running, ...] = ()
    last_said: str = ""
    last_turns: tuple[int, ...] = ()
    finishing: bool = False


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
