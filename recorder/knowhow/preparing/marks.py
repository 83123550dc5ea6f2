"""Tension marks: two lines across the slack belt, whose distance tells how far it is stretched."""

from __future__ import annotations

# Between marks, the longest first; the first that fits is drawn. A hundredth of it is one percent:
# 10 mm on a metre. Common practice, no source.
USUAL = (1000.0, 500.0, 200.0, 100.0)  # mm
USUAL_INCHES = (40.0, 20.0, 10.0, 5.0)
MM_PER_INCH = 25.4  # exact, by definition
# How much of the joined length the marks may span, so that both lie on one straight stretch.
MOST_OF_BELT = 1 / 3


def spacing(joined: float, inches: bool = False) -> float:
    """The usual distance to draw on a belt of this length, of a very short one a third; mm.

    inches: whether the tape is in inches, so that the distance is round on it.
    """
    longest = joined * MOST_OF_BELT
    usual = [inch * MM_PER_INCH for inch in USUAL_INCHES] if inches else USUAL
    return next((each for each in usual if each <= longest), longest)


def tensioned(spacing_mm: float, elongation: float) -> float:
    """mm between the marks once the belt is stretched by so many percent."""
    return spacing_mm * (1 + elongation / 100)
