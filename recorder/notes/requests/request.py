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


class Timer(StrEnum):
    """What a timer is for."""

    DWELL = "dwell"
    COOL_DOWN = "cool_down"
    OTHER = "other"


class Request(Value):
    """ask: see there. said: the words of it. field: that is meant, None for all or none. timer:
    that is meant. seconds: of a timer, None for those of the job's setting. text: of a note.
    sure: whether all hearings ask for the same; one that is not sure is asked about before anything
    is done that cannot be undone.
    """

    ask: Ask
    said: str
    field: str | None = None
    timer: Timer | None = None
    seconds: float | None = None
    text: str = ""
    sure: bool = True
