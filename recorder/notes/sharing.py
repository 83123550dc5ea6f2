"""Settings that one press run takes over from the one before: "second splice, same settings"."""

from __future__ import annotations

from recorder.model.fields import FIELDS, Level
from recorder.model.job import in_force, last_run
from recorder.model.reading import Reading, Role, Spoken, Standing
from recorder.notes.place import Place
from recorder.notes.words.lexer import Tokens
from recorder.notes.words.vocabulary import speech

_FARTHEST_BACK = 200  # readings that are looked at for the earlier settings


def shares_settings(tokens: Tokens) -> tuple[int, int] | None:
    """The place of the words that say so, and the place after them; None when there are none."""
    hits = speech("same_settings").all(tokens)
    return (hits[0].start, hits[0].end) if hits else None


def shared_settings(
    readings: tuple[Reading, ...], place: Place, told: set[str], evidence: Spoken, but: bool
) -> list[Reading]:
    """The settings of the run or splice before, as readings of ``place``.

    told: fields that the same words give otherwise. but: a number among the words is for none of
    them, so it may be for one of the settings. What was doubtful stays so.
    """
    near = tuple(r for r in readings[-_FARTHEST_BACK:] if r.role is Role.USED)
    splice, run = place.splice, place.run - 1
    if run < 1:
        splice, run = place.splice - 1, last_run(near, place.splice - 1)
    if splice < 1:
        return []
    why = (
        "another number was told beside 'the same'" if but else f"as of splice {splice}, run {run}"
    )
    shared = []
    for reading in in_force(near, splice, run).values():
        if reading.field in told or not _is_of(reading, splice, run):
            continue
        doubtful = but or reading.standing is Standing.DOUBTFUL
        update = {
            "splice": place.splice,
            "run": place.run,
            "evidence": evidence,
            "standing": Standing.DOUBTFUL if doubtful else Standing.CLEAR,
            "why": "; ".join(filter(None, (reading.why if doubtful else "", why))),
        }
        shared.append(reading.model_copy(update=update))
    return shared


def _is_of(reading: Reading, splice: int, run: int) -> bool:
    level = FIELDS[reading.field].level
    return level is Level.RUN and (reading.splice, reading.run) == (splice, run)
