"""The two belt ends at the splice: width, offset and angle, from the edges on both sides."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from recorder.photo.belt import BeltEdges, EdgePoint
from recorder.photo.lines import Line, NoLine, through
from recorder.photo.refusal import Refusal

_CLEAR_MM = 1.5  # of the seam's reach, where the edge belongs to either end
_LEAST_POINTS = 4


@dataclass(frozen=True)
class Number:
    """A result before its shared terms: value, and standard uncertainty from the edges' scatter."""

    value: float
    u: float


@dataclass(frozen=True)
class Ends:
    """One line for each edge of each end; x: along the belt at the splice's middle, in mm.
    middle_y: of the belt there. reach_mm: of the seam along the belt.
    """

    left_upper: Line
    left_lower: Line
    right_upper: Line
    right_lower: Line
    x: float
    middle_y: float
    reach_mm: tuple[float, float]


def whole_line(points: list[EdgePoint], name: str) -> Line:
    """One line through an edge from left to right, whatever the two ends do."""
    try:
        return through(
            np.array([p.x for p in points]), np.array([p.y for p in points]), steepest=0.7
        )
    except NoLine as error:
        raise Refusal(f"the {name} edge of the belt is not straight enough to measure") from error


def split(edges: BeltEdges, reach_mm: tuple[float, float]) -> Ends:
    """Lines through the edges left and right of the seam; raises Refusal when one is too short."""
    lines: list[Line] = []
    for left in (True, False):
        for side in ("upper", "lower"):
            mine = [p for p in edges.points(side) if _beside(p.x, reach_mm, left)]
            if len(mine) < _LEAST_POINTS:
                raise Refusal(
                    f"too little of the belt shows {'left' if left else 'right'} of the seam; "
                    "centre the splice in the card, or use a larger card"
                )
            lines.append(whole_line(mine, side))
    x = sum(reach_mm) / 2
    middle = float(np.mean([line.at(x) for line in lines]))
    return Ends(lines[0], lines[1], lines[2], lines[3], x, middle, reach_mm)


def _beside(x: float, reach_mm: tuple[float, float], left: bool) -> bool:
    return x < reach_mm[0] - _CLEAR_MM if left else x > reach_mm[1] + _CLEAR_MM


def belt_width(ends: Ends) -> Number:
    """Mean width of the two ends away from the splice, square to the belt."""
    widths = []
    for upper, lower in (
        (ends.left_upper, ends.left_lower),
        (ends.right_upper, ends.right_lower),
    ):
        x = (upper.middle + lower.middle) / 2
        turn = (upper.slope + lower.slope) / 2
        square = 1 / np.hypot(1, turn)
        u = float(np.hypot(upper.u_at(x), lower.u_at(x))) * square
        widths.append(Number(float(lower.at(x) - upper.at(x)) * square, u))
    value = (widths[0].value + widths[1].value) / 2
    # the two ends may truly differ; half their difference bounds what one number can say
    differ = abs(widths[0].value - widths[1].value) / 2 / np.sqrt(3)
    return Number(value, float(np.hypot(np.hypot(widths[0].u, widths[1].u) / 2, differ)))


def splice_width(edges: BeltEdges, ends: Ends) -> Number:
    """Mean width over the bands in the seam's reach, square to the belt."""
    turn = np.mean(
        [
            line.slope
            for line in (ends.left_upper, ends.left_lower, ends.right_upper, ends.right_lower)
        ]
    )
    square = 1 / float(np.hypot(1, turn))
    low, high = ends.reach_mm
    widths = [
        (below.y - above.y) * square
        for above, below in zip(edges.upper, edges.lower, strict=True)
        if above is not None and below is not None and low - 2 <= above.x <= high + 2
    ]
    if len(widths) < 3:
        raise Refusal("the belt's edges do not show at the splice itself; show both edges there")
    middle = float(np.median(widths))
    away = belt_width(ends).value
    if abs(middle - away) > 0.1 * away:
        raise Refusal(
            f"the belt's edges contradict each other ({middle:.0f} mm wide at the splice and "
            f"{away:.0f} mm beside it); clear the belt and the bench around the splice"
        )
    spread = max(1.4826 * float(np.median(np.abs(np.array(widths) - middle))), 0.01)
    kept = [width for width in widths if abs(width - middle) < 4 * spread]
    return Number(float(np.mean(kept)), float(np.std(kept, ddof=1) / np.sqrt(len(kept)) + 0.005))


def edge_offset(ends: Ends) -> Number:
    """Largest step between the two ends along an edge, at the middle of the splice."""
    steps = []
    for left, right in (
        (ends.left_upper, ends.right_upper),
        (ends.left_lower, ends.right_lower),
    ):
        square = 1 / float(np.hypot(1, (left.slope + right.slope) / 2))
        step = abs(float(right.at(ends.x) - left.at(ends.x))) * square
        steps.append(Number(step, float(np.hypot(left.u_at(ends.x), right.u_at(ends.x))) * square))
    return max(steps, key=lambda step: step.value)


def skew(ends: Ends) -> Number:
    """Angle between the two ends in degrees, each by the mean of its edges."""
    left = np.arctan((ends.left_upper.slope + ends.left_lower.slope) / 2)
    right = np.arctan((ends.right_upper.slope + ends.right_lower.slope) / 2)
    lines = (ends.left_upper, ends.left_lower, ends.right_upper, ends.right_lower)
    u = float(np.sqrt(sum(line.covariance[1, 1] for line in lines))) / 2
    return Number(abs(float(np.degrees(right - left))), float(np.degrees(u)))
