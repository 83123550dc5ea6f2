"""Tension marks: two lines across the slack belt, whose distance tells how far it is stretched."""

from __future__ import annotations

# mm between marks, the longest first; the first that fits is drawn. On a metre one percent is
# 10 mm. Common practice, no source.
USUAL = (1000.0, 500.0, 200.0, 100.0)
# How much of the joined length the marks may span, so that both lie on one straight stretch.
MOST_OF_BELT = 1 / 3


def spacing(joined: float) -> float:
    """The usual distance to draw on a belt of this length, of a very short one a third; mm."""
    longest = joined * MOST_OF_BELT
    return next((usual for usual in USUAL if usual <= longest), longest)


def tensioned(spacing_mm: float, elongation: float) -> float:
    """mm between the marks once the belt is stretched by so many percent."""
    return spacing_mm * (1 + elongation / 100)


def elongation(before: float, after: float) -> float:
    """Percent by which the belt is stretched; the marks in one unit, slack and tensioned.

    Negative where they came nearer. Raises ValueError where there is no distance to begin with.
    """
    if before <= 0 or after <= 0:
        raise ValueError("the marks need a distance, before and after")
    return (after - before) / before * 100
