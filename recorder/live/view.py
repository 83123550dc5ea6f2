"""What a page shows of a live session: everything that a template may use, as one frozen value."""

from __future__ import annotations

from enum import StrEnum

from pydantic import AwareDatetime

from recorder.live.known import Knowledge
from recorder.live.talk import Moment
from recorder.model.base import Value
from recorder.model.recording import Gap


class Sign(StrEnum):
    """What the recorder is doing. off: no microphone is connected."""

    OFF = "off"
    LISTENING = "listening"
    THINKING = "thinking"
    SPEAKING = "speaking"
    PAUSED = "paused"
    FINISHED = "finished"


class Card(Value):
    """One value in force. place: of it in the readings of the job. label, value: for people.
    standing: confirmed, clear or doubtful. said: the words, '' when typed. place_of: 'splice 2,
    run 1', '' where there is one only. fresh: whether the last turn brought it.
    """

    field: str
    label: str
    value: str
    standing: str
    place: int
    said: str = ""
    why: str = ""
    place_of: str = ""
    fresh: bool = False


class Said(Value):
    """One line of the conversation. who: 'person', 'recorder', or 'sign' for gaps, photos, timers.
    at: when it began. file, at_s: its sound, None without.
    """

    who: str
    text: str
    at: AwareDatetime
    file: str | None = None
    at_s: float | None = None


class Asked(Value):
    """The open question. choices: values that a touch can give, as they are shown. place: of the
    doubtful reading in the job, None for a field without a value. by_yes: whether a yes or a no
    answers it.
    """

    field: str
    label: str
    text: str
    choices: tuple[str, ...] = ()
    place: int | None = None
    by_yes: bool = False


class Clock(Value):
    """A timer. due_at: None for one that only counts."""

    name: str
    label: str
    started_at: AwareDatetime
    due_at: AwareDatetime | None = None


class Shot(Value):
    """A photo. number: from 1, in the job. decision: '' without a measurement. text: what is said
    of it. shown: whether there is an overlay picture. measuring: not yet measured. fresh: whether
    the recorder just spoke of it.
    """

    number: int
    name: str
    text: str = ""
    decision: str = ""
    shown: bool = False
    measuring: bool = False
    fresh: bool = False


class View(Value):
    """job: its id. title: of the page. moment, splice, run: where the session is. hearing: what is
    being heard, before it is understood. saved_s: seconds of sound on the disk. backlog_s: of these
    not yet heard. microphone: name of the device, '' without. lines: of the conversation, the
    newest last. missing: labels, the next one first. can_speak: whether there is a voice. finished:
    whether the job is complete; report: whether there is a signed one. trouble: what is wrong now,
    and what to do, '' for nothing. known: what was looked up of past jobs last.
    """

    job: str
    title: str
    sign: Sign
    moment: Moment
    now: AwareDatetime
    began_at: AwareDatetime
    hearing: str = ""
    saved_s: float = 0.0
    backlog_s: float = 0.0
    microphone: str = ""
    cards: tuple[Card, ...] = ()
    lines: tuple[Said, ...] = ()
    question: Asked | None = None
    missing: tuple[str, ...] = ()
    timers: tuple[Clock, ...] = ()
    shots: tuple[Shot, ...] = ()
    gaps: tuple[Gap, ...] = ()
    splice: int = 1
    run: int = 1
    can_undo: bool = False
    can_speak: bool = True
    finished: bool = False
    report: bool = False
    trouble: str = ""
    known: Knowledge | None = None
