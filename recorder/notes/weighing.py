"""A slot made a reading: where it belongs, and what speaks against it."""

from __future__ import annotations

from dataclasses import dataclass

from recorder.model.calibration import Calibration
from recorder.model.fields import FIELDS, Level
from recorder.model.reading import Reading, Standing
from recorder.notes.fields.slot import Slot
from recorder.notes.fields.values import Habit
from recorder.notes.hearing.said import Said
from recorder.notes.hearing.sameness import equal, on_card
from recorder.notes.hearing.signals import Signals
from recorder.notes.hearing.trust import NO_DOUBTS, doubts_of


@dataclass(frozen=True)
class Weighed:
    """signals: of what was heard, None of a written text. unit_alone: it is asked for its unit
    alone.
    """

    reading: Reading
    signals: Signals | None
    unit_alone: bool


def weighed(
    slot: Slot,
    said: Said,
    splice: int,
    run: int,
    calibration: Calibration,
    habit: Habit,
    answers: bool,
) -> Weighed:
    """``habit``: with what the job card says. ``answers``: it was told in answer to a question."""
    field = FIELDS[slot.field]
    signals = said.signals(slot)
    reasons, others = doubts_of(slot, signals, calibration, answers) if signals else NO_DOUBTS
    doubts = list(slot.unsettled)
    if not on_card(slot, habit):
        doubts += [*slot.doubts, *reasons]
    candidates = [*others, *slot.candidates] if doubts else []
    candidates = [value for value in candidates if not equal(value, slot.value)]
    reading = Reading(
        field=slot.field,
        value=slot.value,
        unit=field.unit,
        as_said=slot.as_said,
        standing=Standing.DOUBTFUL if doubts else Standing.CLEAR,
        evidence=said.evidence(slot),
        why="; ".join(dict.fromkeys(doubts)),
        candidates=tuple(dict.fromkeys(candidates)),
        splice=1 if field.level is Level.JOB else splice,
        run=run if field.level is Level.RUN else 1,
    )
    return Weighed(reading, signals, slot.unit_open and doubts == list(slot.doubts))
