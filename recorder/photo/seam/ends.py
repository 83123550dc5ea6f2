"""The two belt ends at the splice: width, offset and angle, from the edges on both sides."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from recorder.photo.belt.belt import BeltEdges, EdgePoint
from recorder.photo.geometry.lines import Line, NoLine, through
from recorder.photo.image.refusal import Refusal
from recorder.photo.seam.seam import Seam

Array = NDArray[np.float64]

_CLEAR_MM = 1.5  # of the seam's reach, where the edge belongs to either end
_LEAST_POINTS = 4
_OFF_LINE_MM = 0.4  # of an edge at the splice: farther off is no belt but a nick or the bench
_LEAST_AT_SPLICE = 0.4  # share of the places at the splice that must show


@dataclass(frozen=True)
class Number:
    """A result before its shared terms: value, and standard uncertainty from the edges' scatter."""

    value: float
    u: float


@dataclass(frozen=True)
class Ends:
    """One line for each edge of each end; x: along the belt at the splice's middle, in mm.
    middle_y: of the belt there. reach_mm: of the seam along the belt. leaves: x where the seam
    leaves the belt at its upper and at its lower edge.
    """

    left_upper: Line
    left_lower: Line
    right_upper: Line
    right_lower: Line
    x: float
    middle_y: float
    reach_mm: tuple[float, float]
    leaves: tuple[float, float]

    @property
    def turn(self) -> float:
        """Mean slope of the belt's edges."""
        lines = (self.left_upper, self.left_lower, self.right_upper, self.right_lower)
        return float(np.mean([line.slope for line in lines]))

    @property
    def square(self) -> float:
        """Length across the belt for a millimetre in y."""
        return 1 / float(np.hypot(1, self.turn))


def whole_line(points: list[EdgePoint], name: str) -> Line:
    """One line through an edge from left to right, whatever the two ends do."""
    try:
        return through(
            np.array([p.x for p in points]), np.array([p.y for p in points]), steepest=0.7
        )
    except NoLine as error:
        raise Refusal(
            f"the {name} edge of the belt is not straight enough to measure; "
            "lay the belt flat and show its whole edge"
        ) from error


def split(edges: BeltEdges, seam: Seam) -> Ends:
    """Lines through the edges left and right of the seam; raises Refusal when one is too short."""
    lines: list[Line] = []
    for left in (True, False):
        for side in ("upper", "lower"):
            mine = [p for p in edges.points(side) if _beside(p.x, seam.reach_mm, left)]
            if len(mine) < _LEAST_POINTS:
                raise Refusal(
                    f"too little of the belt shows {'left' if left else 'right'} of the seam; "
                    "centre the splice in the card, or use a larger card"
                )
            lines.append(whole_line(mine, side))
    x = sum(seam.reach_mm) / 2
    middle = float(np.mean([line.at(x) for line in lines]))
    return Ends(lines[0], lines[1], lines[2], lines[3], x, middle, seam.reach_mm, seam.leaves_mm)


def _beside(x: float, reach_mm: tuple[float, float], left: bool) -> bool:
    return x < reach_mm[0] - _CLEAR_MM if left else x > reach_mm[1] + _CLEAR_MM


def level(ends: Ends, step_mm: float, eye: Array) -> Ends:
    """The edges as they would be if both ends lay at their mean height.

    step_mm: by which the right end lies higher. eye: (3,) the camera, mm. What lies higher seems
    farther from the point below the camera, in proportion.
    """

    def drawn(line: Line, height_mm: float) -> Line:
        nearer = 1 - height_mm / float(eye[2])
        towards = eye[1] + (line.at(float(eye[0])) - eye[1]) * nearer
        middle = float(eye[0]) + (line.middle - float(eye[0])) * nearer
        return replace(
            line, middle=middle, level=float(towards + line.slope * (middle - float(eye[0])))
        )

    half = step_mm / 2
    return replace(
        ends,
        left_upper=drawn(ends.left_upper, -half),
        left_lower=drawn(ends.left_lower, -half),
        right_upper=drawn(ends.right_upper, half),
        right_lower=drawn(ends.right_lower, half),
    )


def end_widths(ends: Ends) -> tuple[Number, Number]:
    """Width of the left and of the right end away from the splice, square to each."""
    widths = []
    for upper, lower in (
        (ends.left_upper, ends.left_lower),
        (ends.right_upper, ends.right_lower),
    ):
        x = (upper.middle + lower.middle) / 2
        square = 1 / float(np.hypot(1, (upper.slope + lower.slope) / 2))
        u = float(np.hypot(upper.u_at(x), lower.u_at(x))) * square
        widths.append(Number(float(lower.at(x) - upper.at(x)) * square, u))
    return widths[0], widths[1]


def belt_width(ends: Ends) -> Number:
    """Mean width of the two ends away from the splice, square to the belt."""
    left, right = end_widths(ends)
    # the two ends may truly differ; half their difference bounds what one number can say
    differ = abs(left.value - right.value) / 2 / np.sqrt(3)
    return Number(
        (left.value + right.value) / 2, float(np.hypot(np.hypot(left.u, right.u) / 2, differ))
    )


def splice_width(edges: BeltEdges, ends: Ends) -> Number:
    """Mean width over the seam's reach, square to the belt, between the outermost edges.

    Where the seam has not left the belt yet an edge is that of one end, and then of the other; what
    the edges show there is counted from those lines, so that an offset does not mislead.
    """
    x = np.linspace(*ends.reach_mm, 64)
    upper, lower = (
        np.where(x < leaves, left.along(x), right.along(x))
        for leaves, left, right in (
            (ends.leaves[0], ends.left_upper, ends.right_upper),
            (ends.leaves[1], ends.left_lower, ends.right_lower),
        )
    )
    rests, us = [], []
    for points, expected in ((edges.upper, upper), (edges.lower, lower)):
        there = [p for p in points if p is not None and x[0] - 2 <= p.x <= x[-1] + 2]
        rest = np.array([p.y - float(np.interp(p.x, x, expected)) for p in there])
        kept = rest[np.abs(rest) < _OFF_LINE_MM]
        if len(kept) < max(2.0, _LEAST_AT_SPLICE * len(rest)):
            raise Refusal(
                "the belt's edges do not show at the splice itself; show both edges there, and "
                "clear belt and bench around the splice"
            )
        rests.append(float(np.median(kept)))
        us.append(float(1.4826 * np.median(np.abs(kept - rests[-1])) / np.sqrt(len(kept))))
    width = float(np.mean(lower - upper)) + rests[1] - rests[0]
    lines = (ends.left_upper, ends.right_upper, ends.left_lower, ends.right_lower)
    from_lines = float(np.sqrt(sum(line.u_at(ends.x) ** 2 for line in lines))) / 2
    return Number(width * ends.square, float(np.hypot(np.hypot(us[0], us[1]), from_lines)) + 0.005)


def edge_offsets(ends: Ends) -> tuple[Number, Number]:
    """Step from the left to the right end at the upper and the lower edge, where the seam leaves
    the belt; positive when the right end lies lower.
    """
    steps = []
    for x, left, right in (
        (ends.leaves[0], ends.left_upper, ends.right_upper),
        (ends.leaves[1], ends.left_lower, ends.right_lower),
    ):
        step = float(right.at(x) - left.at(x)) * ends.square
        steps.append(Number(step, float(np.hypot(left.u_at(x), right.u_at(x))) * ends.square))
    return steps[0], steps[1]


def skew(ends: Ends) -> Number:
    """Angle between the two ends in degrees, each by the mean of its edges."""
    left = np.arctan((ends.left_upper.slope + ends.left_lower.slope) / 2)
    right = np.arctan((ends.right_upper.slope + ends.right_lower.slope) / 2)
    lines = (ends.left_upper, ends.left_lower, ends.right_upper, ends.right_lower)
    u = float(np.sqrt(sum(line.covariance[1, 1] for line in lines))) / 2
    return Number(abs(float(np.degrees(right - left))), float(np.degrees(u)))


def bow(edges: BeltEdges, ends: Ends) -> Number:
    """How far the belt's middle line leaves its chord over the length that shows, mm.

    Both ends have lines of their own and one curvature together, so that neither a step nor an
    angle between them counts.
    """
    middle = np.array(
        [
            (above.x, (above.y + below.y) / 2)
            for above, below in zip(edges.upper, edges.lower, strict=True)
            if above is not None
            and below is not None
            and any(_beside(above.x, ends.reach_mm, left) for left in (True, False))
        ]
    )
    x, y = middle[:, 0] - ends.x, middle[:, 1]
    right = x > 0
    arms = np.column_stack([~right, right, x * ~right, x * right, x**2]).astype(float)
    kept = np.ones(len(x), bool)
    solution = np.zeros(5)
    rest = y
    for _ in range(2):
        solution = np.linalg.lstsq(arms[kept], y[kept], rcond=None)[0]
        rest = y - arms @ solution
        kept = np.abs(rest) <= max(3.5 * 1.4826 * float(np.median(np.abs(rest))), 0.02)
    scatter = float(np.sqrt((rest[kept] ** 2).sum() / max(int(kept.sum()) - 5, 1)))
    u = scatter * float(np.sqrt(np.linalg.pinv(arms[kept].T @ arms[kept])[4, 4]))
    reach = float(np.ptp(x) / 2) ** 2
    return Number(abs(float(solution[4])) * reach, u * reach)
