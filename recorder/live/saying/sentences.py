"""Readings as sentences for the ear: what was told, what is asked, what stands not confirmed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from recorder.live.saying.numbers import integer
from recorder.live.saying.values import is_long, two_values, value
from recorder.live.saying.words import capital, listed, of, sentence
from recorder.model.fields import FIELDS, Level
from recorder.model.reading import Reading, Standing

_WORDS_A_PART = 12  # of a longer list: as many as an ear keeps. Common practice, no source.
# As a narration says why it doubts such a value, in the record.
TAKEN_BACK = "was taken back"
_NAMES = 4  # of what is missing, in one sentence


def name(field: str) -> str:
    """The spoken name of a field."""
    return of("names", field)


def told(reading: Reading) -> str:
    """'Pressure two bar.', 'No bubbles.', 'Recommendation noted.'"""
    if isinstance(reading.value, bool):
        flag = f"{reading.field}_{'yes' if reading.value else 'no'}"
        found = of("flags", flag, "")
        if found:
            return found
    if is_long(reading):
        return sentence("told_long", name=capital(name(reading.field)))
    return sentence("told", name=capital(name(reading.field)), value=value(reading))


def as_it_stands(reading: Reading) -> str:
    """Likewise, and that it is not confirmed where it is not."""
    if reading.standing is not Standing.DOUBTFUL:
        return told(reading)
    shown = "" if is_long(reading) else value(reading)
    spoken = f"{name(reading.field)} {shown}".strip()
    return sentence("not_confirmed", told=capital(spoken))


def which(reading: Reading, named: bool) -> str | None:
    """'One seventy-two or one seventy-eight?'; None when there are no two to choose from."""
    two = two_values(reading)
    if two is None or isinstance(reading.value, bool):
        return None
    first, second = two
    if named:
        return sentence(
            "which_named", name=capital(name(reading.field)), first=first, second=second
        )
    return sentence("which", first=capital(first), second=second)


def was_taken_back(reading: Reading) -> bool:
    """Whether the words took the value back and gave no other."""
    return not reading.candidates and reading.why.endswith(TAKEN_BACK)


def right(reading: Reading) -> str:
    """'Dwell four minutes. Right?'"""
    shown = told(reading)
    if is_long(reading):
        shown = sentence("told", name=capital(name(reading.field)), value=value(reading))
    return sentence("right", told=shown)


def open_question(field: str) -> str:
    """'Job number?', 'How wide is the belt?'"""
    return of("questions", field, "") or sentence("open", name=capital(name(field)))


def names_of(fields: Iterable[str]) -> list[str]:
    """As they stand in a list, each once."""
    return list(dict.fromkeys(of("listed", field, name(field)) for field in fields))


def shortened(names: Sequence[str]) -> str:
    """The first four names, and how many more."""
    if len(names) <= _NAMES + 1:
        return listed(list(names))
    more = integer(len(names) - _NAMES)
    return sentence("names_more", names=", ".join(names[:_NAMES]), count=more)


def place(splice: int, run: int, here: tuple[int, int], field: str) -> str:
    """'Splice two.' before what is said of another place than the session's; else ''."""
    level = FIELDS[field].level
    parts = []
    if level is not Level.JOB and splice != here[0]:
        parts.append(sentence("splice", splice=integer(splice)))
    if level is Level.RUN and (splice, run) != here and (run != here[1] or run > 1):
        parts.append(sentence("run", run=integer(run)))
    return " ".join(parts)


def in_parts(sentences: Sequence[str]) -> tuple[str, ...]:
    """Sentences joined to parts of about a dozen words."""
    parts: list[str] = []
    for each in sentences:
        if parts and len(f"{parts[-1]} {each}".split()) <= _WORDS_A_PART:
            parts[-1] = f"{parts[-1]} {each}"
        elif each:
            parts.append(each)
    return tuple(parts)
