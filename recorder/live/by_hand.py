"""Readings that a person gives by hand: a yes, one of several values, another one, a new one."""

from __future__ import annotations

from datetime import datetime

from recorder.errors import WrongUse
from recorder.model.reading import Reading, Standing, Typed
from recorder.model.recording import BY_CLOCK
from recorder.notes.answer import answer
from recorder.notes.typed import typed_reading
from recorder.notes.written import from_text


def accepted(heard: Reading, now: datetime) -> Reading:
    """The person says yes: the same value with the same evidence, confirmed. That it came from the
    session's clock still stands first.
    """
    why = f"confirmed by a person at {now.isoformat()}"
    if heard.why.startswith(BY_CLOCK):
        why = f"{heard.why}; {why}"
    elif heard.why:
        why = f"{why}: {heard.why}"
    return heard.model_copy(
        update={
            "standing": Standing.CONFIRMED,
            "why": why,
            "candidates": (),
        }
    )


def chosen(doubt: Reading, value: bool | float | str, now: datetime) -> Reading:
    """The person points at one of the values that it may be."""
    if value == doubt.value:
        return accepted(doubt, now)
    return doubt.model_copy(
        update={
            "value": value,
            "as_said": None,
            "standing": Standing.CONFIRMED,
            "evidence": Typed(at=now),
            "why": f"instead of {doubt.shown()}",
            "candidates": (),
        }
    )


def given_instead(doubt: Reading, text: str, now: datetime) -> Reading:
    """The person gives another value: '2.2 bar', '172', or 'no, one seventy two'.

    A bare number takes the field's unit where only one is likely, as in speech. Raises BadValue
    or UnknownUnit.
    """
    try:
        given = typed_reading(doubt.field, text, Typed(at=now), doubt.role, doubt.splice, doubt.run)
    except WrongUse:
        understood = answer(from_text(text, "answer"), doubt).readings
        given_once = [r for r in understood if r.field == doubt.field]
        if len(given_once) != 1 or given_once[0].standing is Standing.DOUBTFUL:
            raise
        given = given_once[0]
    return given.model_copy(
        update={
            "standing": Standing.CONFIRMED,
            "evidence": Typed(at=now),
            "why": f"instead of {doubt.shown()}",
            "candidates": (),
        }
    )


def entered(field: str, text: str, splice: int, run: int, now: datetime) -> Reading:
    """A value that a person types. Raises UnknownField, UnknownUnit or BadValue."""
    return typed_reading(field, text, Typed(at=now), splice=splice, run=run)
