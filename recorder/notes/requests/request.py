"""A request to the recorder: "read back the pressure", "take a photo", "next splice"."""

from __future__ import annotations

from enum import StrEnum

from recorder.model.base import Value


class Ask(StrEnum):
    """What is asked for.

    read_back: values; of one field or of all. missing: what the record lacks. correct: one field
    anew. undo: what the last words gave. note: the rest of the words, as they are. photo: take one.
    timer_start, timer_stop: for dwell or cool-down, or without a name. next_splice: the following
    words belong to a new splice. pause, resume: taking the words for the record. repeat: what was
    said last by the recorder. later: the open question. finish: end the job. cancel: a question of
    the recorder whether it should do something.

    Of the firm's own past jobs: last_time: what was used on such a belt; of one field or of all.
    which_template: that fits. differs: whether what is set or asked for differs from that.
    keep_recipe: keep what was used under a name, the rest of the words. checks: whether press or
    template are due. trend: whether they are as they were. cut_length: how long the belt is to be
    cut, and where its marks lie.
    """

    READ_BACK = "read_back"
    MISSING = "missing"
    CORRECT = "correct"
    UNDO = "undo"
    NOTE = "note"
    PHOTO = "photo"
    TIMER_START = "timer_start"
    TIMER_STOP = "timer_stop"
    NEXT_SPLICE = "next_splice"
    PAUSE = "pause"
    RESUME = "resume"
    REPEAT = "repeat"
    LATER = "later"
    FINISH = "finish"
    CANCEL = "cancel"
    LAST_TIME = "last_time"
    WHICH_TEMPLATE = "which_template"
    DIFFERS = "differs"
    KEEP_RECIPE = "keep_recipe"
    CUT_LENGTH = "cut_length"
    CHECKS = "checks"
    TREND = "trend"


class Timer(StrEnum):
    """What a timer is for."""

    DWELL = "dwell"
    COOL_DOWN = "cool_down"
    OTHER = "other"


class Request(Value):
    """ask: see there. said: the words of it. field: that is meant, None for all or none. timer:
    that is meant. seconds: of a timer, None for those of the job's setting. text: of a note, or the
    name of a recipe. sure: whether all hearings ask for the same; one that is not sure is asked
    about before anything is done that cannot be undone.
    """

    ask: Ask
    said: str
    field: str | None = None
    timer: Timer | None = None
    seconds: float | None = None
    text: str = ""
    sure: bool = True
