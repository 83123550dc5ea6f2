"""From the length that a belt is to have to the length that is cut off the roll.

The fingers of one end lie in the gaps of the other, so that of the two ends' fingers one counts::

    |<------------------------- cut -------------------------->|     between square cuts
    |trim|<------------------- punched ------------------>|trim|     from tips to tips
    |    <<<<<<<<<<==========================>>>>>>>>>>>>>>    |
         | fingers  |                        |  fingers   |

    joined  = (endless + take-up) / (1 + wanted elongation)
    punched = joined + fingers
    cut     = punched + 2 trim

The belt has its endless length where it runs, tensioned; so it is made shorter by what it is to be
stretched. That fingers count once is arithmetic: what is punched out of one end has the shape of
what stays of the other, so that the joined belt has the area of the piece without one row of them.
Where ends lie on one another or fingers are staggered from ply to ply, it is the length by which
they reach over one another that counts; how long that is, the belt maker's data say and nothing
here.
"""

from __future__ import annotations

from dataclasses import dataclass

from recorder.model.length import Allowances

# By type of splice: what tells how far the ends reach over one another, nothing for a butt. Common
# practice, no source.
_FINGER, _OVERLAP = "finger_length", "overlap"
REACHES = {"finger": _FINGER, "double_finger": _OVERLAP, "overlap": _OVERLAP, "butt": ""}


@dataclass(frozen=True)
class Reach:
    """By how much the ends reach over one another. mm: None where it was not told, and then
    missing is the key of what is. why: what was taken for granted, in words.
    """

    mm: float | None
    missing: str = ""
    why: str = ""


def reach(splice_type: str | None, finger_length: float | None, overlap: float | None) -> Reach:
    """What a type of splice needs beyond the joined length; lengths in mm. An overlap that was told
    counts for every type, since whoever tells it knows this splice.
    """
    if overlap is not None:
        return Reach(overlap, why="the ends reach over one another by the overlap that was told")
    if splice_type is None:
        return Reach(None, "splice_type")
    needs = REACHES[splice_type]
    if needs == _OVERLAP:
        return Reach(None, _OVERLAP)
    if not needs:
        return Reach(0.0, why="the ends of a butt splice do not reach over one another")
    if finger_length is None:
        return Reach(None, needs)
    return Reach(finger_length, why="the ends reach into one another by the length of a finger")


def joined(endless: float, take_up: float = 0.0, elongation: float | None = None) -> float:
    """mm that the slack belt has when it is joined. elongation: wanted, percent.

    Raises ValueError when nothing stays of it.
    """
    if elongation is not None and not 0 <= elongation < 100:
        raise ValueError(f"a belt is not stretched by {elongation:g} %")
    length = (endless + take_up) / (1 + (elongation or 0.0) / 100)
    if length <= 0:
        raise ValueError(f"a take-up of {take_up:g} mm leaves nothing of {endless:.1f} mm")
    return length


def punched(joined_mm: float, allowances: Allowances) -> float:
    """mm from tips to tips. Raises ValueError for ends that are longer than the belt."""
    if allowances.fingers >= joined_mm:
        raise ValueError(
            f"ends that reach over one another by {allowances.fingers:g} mm are longer than "
            f"the belt of {joined_mm:.1f} mm"
        )
    return joined_mm + allowances.fingers


def cut(joined_mm: float, allowances: Allowances) -> float:
    """mm between square cuts, before punching. Raises ValueError as ``punched``."""
    return punched(joined_mm, allowances) + 2 * allowances.trim
