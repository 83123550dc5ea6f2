"""The seam across the belt: which of the lines on it is one, and its flanks from tip to tip."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from recorder.photo.geometry.lines import Line, through
from recorder.photo.geometry.plane import Plane
from recorder.photo.geometry.rectified import Raster, rectify
from recorder.photo.image.light import linear
from recorder.photo.image.refusal import Refusal
from recorder.photo.seam.course import Course, Lines, beside, best_course, lines

Array = NDArray[np.float64]

_STEP_MM = 0.25
_MOST_VALUES = 220_000  # of the raster; a larger window is seen with a larger step
_LEAST_FINGER_MM = 3.0  # shorter zig-zags are a straight seam with a rough edge
_TURNS = 0.45  # of the reach of the fingers, from where the course is said to turn back
_OUTER, _LEAST_OUTER_MM = 0.12, 2.0  # the same beside an edge of the belt
_RIM_MM = 0.5  # of the belt that is left out beside each edge
_CLEAR_MM = 3.0  # of the card's cross bars, which throw shadows
_LEAST_ROWS = 20
_UNBROKEN = 0.75  # share of a course's way that must show
_SHOWS = 0.2  # of a course's usual contrast, from where it shows
_STRAIGHT_UNBROKEN = 0.93
_ENDS_MM = 1.5
_FLANK_UNBROKEN = 0.5
_LEAST_FLANK_MM = 1.0
_LEAST_LEVEL = 0.03  # of the light
_SECOND = 0.3  # contrast of a second seam in that of the first, from where both may be the seam
_ROUNDED_MM = 1.5  # a course cuts the corners beside a tip so far along the belt
_TIP_MM = 2.0  # a tip is looked for so far along the belt
_ACROSS_MM = 0.8  # to both sides of a flank, for its middle
_FLAT_MM = 0.5  # a tip less broad is a point


_APART = (
    "the fingers of the seam cannot be told apart; go closer, focus on the splice, and light it "
    "evenly"
)


@dataclass(frozen=True)
class Flank:
    """A straight piece of the seam from one tip to the next, (2,) mm each, from upper to lower."""

    begin: Array
    end: Array

    @property
    def length(self) -> float:
        return float(np.linalg.norm(self.end - self.begin))

    @property
    def along(self) -> Array:
        return np.asarray((self.end - self.begin) / max(self.length, 1e-9))


@dataclass(frozen=True)
class Seam:
    """flanks: from the upper to the lower edge. reach_mm: smallest and largest x.
    tips: how many turning points lie between the edges; turns: their places (tips, 2), mm, on the
    middle of the slot. leaves_mm: x at which it leaves the belt at the upper and the lower edge.
    dark: whether the slot is darker than the belt.
    """

    flanks: tuple[Flank, ...]
    reach_mm: tuple[float, float]
    tips: int
    turns: Array
    leaves_mm: tuple[float, float]
    dark: bool


@dataclass(frozen=True)
class _Face:
    """The belt as rows along it. slope, pivot: of the rows in the card's millimetres."""

    raster: Raster
    inside: NDArray[np.bool_]
    slope: float
    pivot: float

    def straight(self, along: Array) -> Array:
        """(n, 2) millimetres of the rows to those of the card."""
        lean = self.slope * (along[:, 0] - self.pivot)
        return np.column_stack([along[:, 0], along[:, 1] + lean])

    def row(self, x: Array, y: Array) -> Array:
        """Rows of points in millimetres of the card."""
        return self.raster.row(y - self.slope * (x - self.pivot))


@dataclass(frozen=True)
class _Candidate:
    """x, y: of a course, mm of the rows. turns: rows where it turns back. level: its contrast.
    unbroken: share of its way that shows.
    """

    course: Course
    x: Array
    y: Array
    turns: list[int]
    level: float
    unbroken: float


def find_seam(
    grey: NDArray[np.uint8],
    plane: Plane,
    window_mm: tuple[float, float, float, float],
    upper: Line,
    lower: Line,
) -> Seam:
    """The seam inside the window and between the edges; raises Refusal when none is plain.

    grey: codes of the photo's luma.
    """
    face = _face(grey, plane, window_mm, upper, lower)
    light = _light(face.raster.values)
    found, candidate = _plainest(light, face)
    _no_second(found, candidate, face)
    flanks, whole = _flanks(candidate, found, face, upper, lower)
    turns = _tips(flanks, candidate, found, face)
    flanks = _cut(flanks, turns)
    x = np.array([end[0] for flank in flanks for end in (flank.begin, flank.end)])
    reach = float(x.min()), float(x.max())
    leaves = [float(flanks[0].begin[0]), float(flanks[-1].end[0])]
    if len(turns) > 2 and not whole[0]:
        leaves[0] = _meets(flanks[1], float(turns[0, 1] - turns[2, 1]), upper, reach)
    if len(turns) > 2 and not whole[1]:
        leaves[1] = _meets(flanks[-2], float(turns[-1, 1] - turns[-3, 1]), lower, reach)
    return Seam(flanks, reach, len(turns), turns, (leaves[0], leaves[1]), found.dark)


def _meets(like: Flank, farther: float, edge: Line, reach: tuple[float, float]) -> float:
    """x at which a flank beyond the last tip, of which too little shows, meets an edge: it runs
    like the last but one, a pitch ``farther`` down.
    """
    off = _y_at(like, np.array(reach)) + farther - edge.along(np.array(reach))
    if off[0] == off[1]:
        return sum(reach) / 2
    share = float(np.clip(off[0] / (off[0] - off[1]), 0, 1))
    return reach[0] + share * (reach[1] - reach[0])


def _face(
    grey: NDArray[np.uint8],
    plane: Plane,
    window_mm: tuple[float, float, float, float],
    upper: Line,
    lower: Line,
) -> _Face:
    """Rows along the belt and not along the card, so that the first and last finger are whole."""
    left, _, right, _ = window_mm
    slope, pivot = (upper.slope + lower.slope) / 2, (left + right) / 2
    ends = np.array([left, right])
    tilt = slope * (ends - pivot)
    top = float(np.min(upper.along(ends) - tilt))
    bottom = float(np.max(lower.along(ends) - tilt))
    box = (left + _CLEAR_MM, top, right - _CLEAR_MM, bottom)
    step = max(_STEP_MM, float(np.sqrt((box[2] - box[0]) * (bottom - top) / _MOST_VALUES)))
    raster = rectify(grey, plane.sheared(slope, pivot), box, step)
    x = raster.x_mm(np.arange(raster.values.shape[1], dtype=float))
    y = raster.y_mm(np.arange(raster.values.shape[0], dtype=float))
    lean = slope * (x - pivot)
    inside = (y[:, None] > (upper.along(x) - lean)[None, :] + _RIM_MM) & (
        y[:, None] < (lower.along(x) - lean)[None, :] - _RIM_MM
    )
    shows = np.flatnonzero(inside.mean(axis=1) > 0.5)
    if len(shows) < _LEAST_ROWS:
        raise Refusal("the belt lies too far askew under the card; turn the card along the belt")
    first, last = shows[0], shows[-1] + 1
    raster = Raster(raster.values[first:last], raster.left, float(y[first]), step)
    return _Face(raster, inside[first:last], slope, pivot)


def _light(codes: NDArray[np.float32]) -> NDArray[np.float32]:
    table = linear(np.arange(256, dtype=np.uint8))
    return np.asarray(np.interp(codes, np.arange(256), table), np.float32)


def _plainest(light: NDArray[np.float32], face: _Face) -> tuple[Lines, _Candidate]:
    """The course that shows best, dark or light, with what it was found in."""
    step = face.raster.step
    both = [lines(light, face.inside, step, dark) for dark in (True, False)]
    # between the flanks of a dark slot narrow fingers are light lines, but not so many
    if both[1].strength < 0.5 * both[0].strength:
        both = both[:1]
    made = [(found, _candidate(best_course(found), face)) for found in both]
    found, candidate = max(made, key=_rank)
    if not candidate.turns:
        # a straight line counts no more than a zig-zag that lies beside it
        taken = beside(candidate.course, light.shape, round(2.0 / step))
        other = _candidate(best_course(found, taken), face)
        if other.turns and _is_seam(found, other):
            return found, other
    if not _is_seam(found, candidate):
        if candidate.level > 3 * _noise(found) and len(candidate.turns) > 1:
            raise Refusal(
                "the seam cannot be followed from edge to edge: something lies on it, or shadow, "
                "glare or dirt hides it; clear and clean the splice, and light it evenly"
            )
        raise Refusal(
            "no seam can be told from the belt's surface; light the splice from the side, "
            "go closer, and show the whole seam inside the card"
        )
    if not _is_even(candidate):
        raise Refusal(_APART)
    return found, candidate


def _candidate(course: Course, face: _Face) -> _Candidate:
    x = face.raster.x_mm(course.columns.astype(float))
    y = face.raster.y_mm(np.arange(len(x), dtype=float))
    level, way = course.usual, course.way
    shows = course.level > _SHOWS * level
    unbroken = float((way * shows).sum() / way.sum())
    return _Candidate(course, x, y, _turning_points(x, y), level, unbroken)


def _rank(made: tuple[Lines, _Candidate]) -> tuple[bool, bool, bool, float]:
    """A zig-zag before a straight line, an even one before a ragged one.

    A dark slot is the rule; its fingers, where they are narrow, are light lines.
    """
    found, candidate = made
    weight = candidate.course.gain * (1.0 if found.dark else 0.7)
    return _is_seam(*made), len(candidate.turns) > 1, _is_even(candidate), weight


def _is_even(candidate: _Candidate) -> bool:
    """Whether the fingers are about as wide as each other."""
    pitch = np.array(candidate.turns[2:]) - np.array(candidate.turns[:-2])
    if len(pitch) < 3:
        return True
    usual = float(np.median(pitch))
    return float(np.mean(np.abs(pitch - usual) > 0.3 * usual)) < 0.3


def _noise(found: Lines) -> float:
    return float(np.median(found.noise))


def _is_seam(found: Lines, candidate: _Candidate) -> bool:
    """A straight seam must show all the way, as a scratch or a stroke seldom does."""
    shows = candidate.course.level > _SHOWS * candidate.level
    ends = round(_ENDS_MM / found.step_mm)
    whole = bool(shows[:ends].any() and shows[-ends:].any())
    straight = len(candidate.turns) < 2
    return (
        candidate.level > max(_LEAST_LEVEL, 1.5 * _noise(found))
        and candidate.unbroken > (_STRAIGHT_UNBROKEN if straight else _UNBROKEN)
        and (whole or not straight)
        and candidate.course.gain > 0
    )


def _no_second(found: Lines, first: _Candidate, face: _Face) -> None:
    """Refuses two zig-zags, or two straight lines, from edge to edge."""
    taken = beside(first.course, found.share.shape, round(1.5 / found.step_mm))
    least = _SECOND * first.level
    other = _candidate(best_course(found, taken, least), face)
    alike = (len(other.turns) > 1) == (len(first.turns) > 1)
    slot = _slot(found, other) > _SECOND * _slot(found, first)  # and no border of a shadow
    if alike and slot and _is_seam(found, other) and other.level > least:
        what = "two seams" if first.turns else "two lines that may each be the seam"
        raise Refusal(
            f"{what} cross the belt inside the card; show one splice, wipe off pen strokes, and "
            "take the photo again"
        )


def _slot(found: Lines, candidate: _Candidate) -> float:
    """Usual share of the light that is missing along a course, steps between tones left out."""
    columns = candidate.course.columns
    return float(np.median(found.share[np.arange(len(columns)), columns]))


def _turning_points(x: Array, y: Array) -> list[int]:
    """Rows where the course turns back along the belt by a good part of its whole reach."""
    level = x - np.polyval(np.polyfit(y, x, 1), y)
    reach = float(np.percentile(level, 97) - np.percentile(level, 3))
    if reach < _LEAST_FINGER_MM:
        return []
    need = _TURNS * reach
    turns: list[int] = []
    high = low = 0
    way = 0
    for i in range(1, len(level)):
        high = i if level[i] > level[high] else high
        low = i if level[i] < level[low] else low
        if way >= 0 and level[high] - level[i] > need:
            if way or high > 0:
                turns.append(high)
            way, low = -1, i
        elif way <= 0 and level[i] - level[low] > need:
            if way or low > 0:
                turns.append(low)
            way, high = 1, i
    return _with_outer(turns, level, max(_LEAST_OUTER_MM, _OUTER * reach))


def _with_outer(turns: list[int], level: Array, need: float) -> list[int]:
    """With the tips next to the edges of the belt, beyond which little of a flank is left."""
    if not turns:
        return turns
    made = list(turns)
    way = np.sign(level[turns[1]] - level[turns[0]]) if len(turns) > 1 else 0.0
    before = level[: turns[0] + 1] * (way or 1.0)
    first = int(np.argmax(before))
    if way and first > 0 and before[first] - before[0] > need:
        made.insert(0, first)
    way = np.sign(level[turns[-2]] - level[turns[-1]]) if len(turns) > 1 else 0.0
    after = level[turns[-1] :] * (way or 1.0)
    last = int(np.argmax(after))
    if way and last < len(after) - 1 and after[last] - after[-1] > need:
        made.append(turns[-1] + last)
    return made


def _flanks(
    candidate: _Candidate, found: Lines, face: _Face, upper: Line, lower: Line
) -> tuple[tuple[Flank, ...], tuple[bool, bool]]:
    """Straight lines through the course between turning points, each cut where two meet; and
    whether the first and the last reach the edge of the belt.
    """
    bounds = [0, *candidate.turns, len(candidate.x) - 1]
    pieces: list[tuple[Array, Array]] = []
    points = face.straight(np.column_stack([candidate.x, candidate.y]))
    whole = [True, True]
    faintest = max(0.5 * _SHOWS * candidate.level, _noise(found))
    for number, (begin, end) in enumerate(pairwise(bounds)):
        piece = points[begin : end + 1]
        outer = number in (0, len(bounds) - 2)
        if outer and len(bounds) > 2 and _is_stub(piece):
            whole[0 if number == 0 else 1] = False
            continue
        shows = candidate.course.level[begin:end] > faintest
        if shows.mean() < _FLANK_UNBROKEN:
            raise Refusal(
                "a finger of the seam cannot be seen; clear and clean the splice, avoid glare and "
                "shadows on it, and take the photo again"
            )
        kept = _off_the_tips(piece)
        pieces.append(_centred(_long_axis(kept), kept, found, face))
    if not pieces:
        raise Refusal("the seam is too short to measure; show it from belt edge to belt edge")
    joints = [_cross(pieces[i], pieces[i + 1]) for i in range(len(pieces) - 1)]
    first = _reach_edge(pieces[0], upper) if whole[0] else _foot(pieces[0], points[bounds[1]])
    last = _reach_edge(pieces[-1], lower) if whole[1] else _foot(pieces[-1], points[bounds[-2]])
    made = tuple(Flank(a, b) for a, b in pairwise([first, *joints, last]))
    if min(flank.length for flank in made) < _LEAST_FLANK_MM:
        raise Refusal(_APART)
    return made, (whole[0], whole[1])


def _is_stub(piece: Array) -> bool:
    """Too little of a flank to say where it runs: the seam is taken to end at its last tip."""
    return len(piece) < 4 or float(np.linalg.norm(piece[-1] - piece[0])) < _LEAST_FINGER_MM


def _off_the_tips(points: Array) -> Array:
    """Those of a flank that lie between its ends along the belt: tips may be flat or rounded."""
    low, high = points[:, 0].min(), points[:, 0].max()
    if high - low < _LEAST_FINGER_MM:
        trim = max(1, round(0.12 * len(points)))
        return points[trim:-trim]
    trim = max(0.1 * (high - low), min(_ROUNDED_MM, 0.25 * (high - low)))
    between = (points[:, 0] > low + trim) & (points[:, 0] < high - trim)
    return points[between] if between.sum() >= 3 else points


def _long_axis(points: Array) -> tuple[Array, Array]:
    """Point and direction of the line that leaves the least squared distance, twice trimmed."""
    kept = points
    centre, along = points.mean(0), np.array([0.0, 1.0])
    for _ in range(3):
        centre = kept.mean(axis=0)
        along = np.linalg.svd(kept - centre, full_matrices=False)[2][0]
        across = (points - centre) @ np.array([-along[1], along[0]])
        limit = max(2.5 * 1.4826 * float(np.median(np.abs(across))), 0.08)
        near = points[np.abs(across) < limit]
        kept = near if len(near) >= 3 else kept
    return centre, along * np.sign(along[1] or 1.0)


def _centred(
    piece: tuple[Array, Array], points: Array, found: Lines, face: _Face
) -> tuple[Array, Array]:
    """The line moved onto the middle of the slot, by the share of light across it."""
    for _ in range(2):
        centre, along = piece
        normal = np.array([-along[1], along[0]])
        way = (points - centre) @ along
        s = np.linspace(way.min(), way.max(), max(5, round(float(np.ptp(way)) / 0.5)))
        d = np.linspace(-_ACROSS_MM, _ACROSS_MM, 17)
        at = centre + s[:, None, None] * along + d[:, None] * normal
        column = face.raster.column(at[..., 0]).astype(np.float32)
        row = face.row(at[..., 0], at[..., 1]).astype(np.float32)
        share = cv2.remap(found.share, column, row, cv2.INTER_LINEAR)
        weight = np.maximum(share - 0.4 * share.max(axis=1, keepdims=True), 0)
        total = weight.sum(axis=1)
        seen = total > 0.2 * float(np.median(total))
        if seen.sum() < 4:
            return piece
        offset = (weight * d).sum(axis=1)[seen] / total[seen]
        line = through(s[seen], offset)
        piece = centre + line.at(0.0) * normal, along + line.slope * normal
        piece = piece[0], piece[1] / np.linalg.norm(piece[1])
    return piece


def _cross(one: tuple[Array, Array], other: tuple[Array, Array]) -> Array:
    (p, u), (q, v) = one, other
    t = np.linalg.lstsq(np.column_stack([u, -v]), q - p, rcond=None)[0]
    return np.asarray(p + u * t[0])


def _foot(piece: tuple[Array, Array], tip: Array) -> Array:
    """The end of a flank beside a tip on whose middle the course turned."""
    centre, along = piece
    return np.asarray(centre + ((tip[0] - centre[0]) / (along[0] or 1e-9)) * along)


def _reach_edge(piece: tuple[Array, Array], edge: Line) -> Array:
    (x, y), (dx, dy) = piece
    t = (float(edge.at(x)) - y) / (dy - edge.slope * dx or 1e-9)
    return np.array([x + t * dx, y + t * dy])


def _tips(flanks: tuple[Flank, ...], candidate: _Candidate, found: Lines, face: _Face) -> Array:
    """The tips themselves, (n, 2) mm, on the middle of the slot: where flat ones are cut off, not
    where their flanks would meet.
    """
    step = face.raster.step
    points = face.straight(np.column_stack([candidate.x, candidate.y]))
    made = np.array([flank.end for flank in flanks[:-1]]).reshape(-1, 2)
    for k, crossing in enumerate(made):
        seen = candidate.x[
            min(candidate.turns, key=lambda row: abs(points[row, 1] - float(crossing[1])))
        ]
        out = 1.0 if crossing[0] > (flanks[k].begin[0] + flanks[k + 1].end[0]) / 2 else -1.0
        x = seen + out * np.arange(-_TIP_MM, 2 * _TIP_MM, step)
        wide = np.array([abs(_apart(flanks[k], flanks[k + 1], float(at))) for at in x])
        middle = (_y_at(flanks[k], x) + _y_at(flanks[k + 1], x)) / 2
        row, half = face.row(x, middle), wide / 4 / step
        strength = _strength(found.share, face.raster.column(x), row, half)
        before = out * (x - crossing[0]) < step  # where the flanks have not met yet
        best = int(np.argmax(np.where(before, strength, 0.0)))
        # the slots of a pointed tip run together into one that goes on to where they meet
        slot = np.flatnonzero(before & (strength > 0.6 * strength[best]))
        shows = len(slot) > 0 and strength[best] > _SHOWS * candidate.level
        if shows and wide[slot[-1]] > _FLAT_MM:
            made[k] = x[best] + out * step * _between(strength, best), middle[best]
        elif abs(crossing[0] - seen) > 2 * _TIP_MM:  # flanks so alike that they meet far away
            made[k, 0] = seen
    return made


def _strength(share: NDArray[np.float32], column: Array, row: Array, half: Array) -> Array:
    """Mean share in a piece of each column, ``half`` rows up and down from a row."""
    made = np.zeros(len(column))
    for i, (x, y, reach) in enumerate(zip(column, row, np.maximum(half, 0.5), strict=True)):
        top, bottom = max(round(y - reach), 0), round(y + reach) + 1
        part = share[top:bottom, min(max(round(x), 0), share.shape[1] - 1)]
        made[i] = part.mean() if len(part) else 0.0
    return made


def _between(values: Array, best: int) -> float:
    """Place of the top of a parabola about the largest of some values, in steps."""
    if not 0 < best < len(values) - 1:
        return 0.0
    before, top, after = values[best - 1 : best + 2]
    bend = before - 2 * top + after
    return float(np.clip(0.5 * (before - after) / bend, -0.5, 0.5)) if bend < 0 else 0.0


def _apart(one: Flank, other: Flank, x: float) -> float:
    """Distance across the belt between the lines of two flanks at x."""
    return float(_y_at(other, np.array([x]))[0] - _y_at(one, np.array([x]))[0])


def _y_at(flank: Flank, x: Array) -> Array:
    rise = flank.along[1] / (flank.along[0] or 1e-9)
    return np.asarray(flank.begin[1] + (x - flank.begin[0]) * rise)


def _cut(flanks: tuple[Flank, ...], turns: Array) -> tuple[Flank, ...]:
    """Flanks that end at their tips; the outer ends of the first and last, which lie at the edges
    of the belt, reach no farther along it than the tips do.
    """
    made = []
    for k, flank in enumerate(flanks):
        begin = flank.begin if k == 0 else _at_x(flank, float(turns[k - 1, 0]))
        end = flank.end if k == len(flanks) - 1 else _at_x(flank, float(turns[k, 0]))
        if len(turns) > 1:
            low, high = float(turns[:, 0].min()), float(turns[:, 0].max())
            begin = _at_x(flank, float(np.clip(begin[0], low, high)))
            end = _at_x(flank, float(np.clip(end[0], low, high)))
        made.append(Flank(begin, end))
    return tuple(made)


def _at_x(flank: Flank, x: float) -> Array:
    t = (x - flank.begin[0]) / (flank.along[0] or 1e-9)
    return np.asarray(flank.begin + t * flank.along)
