"""How far a belt is stretched, from two marks across it, slack and tensioned."""

from __future__ import annotations

from collections.abc import Mapping

from recorder.model.reading import Reading, Standing

MARKS = ("tension_mark_before", "tension_mark_after")
_FIELD = "elongation"
# Percent within which a told elongation is the one of the marks: half a millimetre on a metre, as
# finely as a tape is read. Common practice, no source.
SAME_PERCENT = 0.05


def elongation(before: float, after: float) -> float:
    """Percent; the marks in one unit. Negative where they came nearer.

    Raises ValueError where there is no distance to begin with.
    """
    if before <= 0 or after <= 0:
        raise ValueError("the marks need a distance, before and after")
    return (after - before) / before * 100


def from_marks(known: Mapping[str, Reading]) -> float | None:
    """Percent, of readings in force by field; None while a mark is not told or doubtful."""
    if any(name not in known or known[name].standing is Standing.DOUBTFUL for name in MARKS):
        return None
    before, after = (float(known[name].value) for name in MARKS)
    return elongation(before, after) if before > 0 and after > 0 else None


def untold(known: Mapping[str, Reading]) -> float | None:
    """The same where it says more than the elongation that was told."""
    found = from_marks(known)
    told = known.get(_FIELD)
    if found is None or told is None:
        return found
    return None if abs(found - float(told.value)) <= SAME_PERCENT else found
