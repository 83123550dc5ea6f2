"""The shape of a splice in the belt's own frame, and what is true of it.

Belt frame: millimetres, x along the belt from the left end to the right, y across, the middle of
the finger zone at the origin. Gaps are set on the seam itself, square to it; the belt's edges are
cut afterwards, so that an offset or a skew of the edges leaves the gaps as they were set.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]

STEP_MM = 0.1
"""Distance of the points of a cut edge."""
AVERAGED_MM = 1.0
"""A gap is the mean over this length of seam: fray is no gap."""
CORNER_MM = 0.8
"""So near to a corner no gap is defined."""


@dataclass(frozen=True)
class Seam:
    """A zig-zag cut. pitch_mm, finger_mm (length along the belt), tip_mm (flat of a tip).

    phase: place of the first node, in pitches. round_mm: radius of the corners. gaps: for each
    flank from y = -inf the gap at its beginning and its end, repeated when too few. tip_gaps: for
    each tip, as a share of the mean of its flanks. short: tips cut short, {tip: mm}. fray_mm: rms
    of each edge. at_mm: where on the belt.
    """

    pitch_mm: float
    finger_mm: float
    tip_mm: float
    gaps: tuple[tuple[float, float], ...]
    tip_share: float = 0.9
    phase: float = 0.0
    round_mm: float = 0.0
    fray_mm: float = 0.0
    short: tuple[tuple[int, float], ...] = ()
    at_mm: float = 0.0
    seed: int = 0


@dataclass(frozen=True)
class Cut:
    """Both sides of a seam as polylines from y = -inf to inf, and the gap along it.

    profile: rows of x, y, gap at the middle of the slot, where a gap is defined; on_flank: which
    of them lie on flanks. middle: polyline between the sides with its gap, for the shade in it.
    """

    left: Points
    right: Points
    profile: Points
    on_flank: NDArray[np.bool_]
    middle: Points


def cut(seam: Seam, half_width: float) -> Cut:
    """The seam over a belt that reaches half_width + a margin to both sides."""
    nodes = _nodes(seam, half_width)
    corners, gaps, flank = _segments(seam, nodes)
    normals = _normals(corners)
    sides = []
    for sign in (-1.0, 1.0):
        lines = [
            (corners[k] + sign * normals[k] * gaps[k][0] / 2,
             corners[k + 1] + sign * normals[k] * gaps[k][1] / 2)
            for k in range(len(gaps))
        ]  # fmt: skip
        sides.append([lines[0][0], *(_meet(a, b) for a, b in pairwise(lines)),
                      lines[-1][1]])  # fmt: skip
    rng = np.random.default_rng([seam.seed, 17])
    left, left_lines = _drawn(sides[0], seam, rng)
    right, right_lines = _drawn(sides[1], seam, rng)
    profile, on_flank, middle = _profile(corners, (left_lines, right_lines), flank, seam)
    shift = np.array([seam.at_mm, 0.0])
    profile[:, 0] += seam.at_mm
    middle[:, 0] += seam.at_mm
    return Cut(left + shift, right + shift, profile, on_flank, middle)


def _nodes(seam: Seam, half_width: float) -> list[tuple[int, float]]:
    """Number and y of every turn of the zig-zag; even ones are tips of the left end."""
    half = seam.pitch_mm / 2
    first = int(np.floor((-half_width - 3 * seam.pitch_mm) / half - seam.phase))
    last = int(np.ceil((half_width + 3 * seam.pitch_mm) / half - seam.phase))
    return [(n, (n + seam.phase) * half) for n in range(first, last + 1)]


def _segments(
    seam: Seam, nodes: list[tuple[int, float]]
) -> tuple[Points, list[tuple[float, float]], list[bool]]:
    corners: list[tuple[float, float]] = []
    gaps: list[tuple[float, float]] = []
    flank: list[bool] = []
    count = len(seam.gaps)
    short = dict(seam.short)
    for n, y in nodes:
        tip = 1.0 if n % 2 == 0 else -1.0
        x = tip * seam.finger_mm / 2
        before, after = seam.gaps[(n - 1) % count], seam.gaps[n % count]
        if corners:
            flank.append(True)
            gaps.append(before)
        corners += [(x, y - seam.tip_mm / 2), (x, y + seam.tip_mm / 2)]
        flank.append(False)
        at_tip = seam.tip_share * (before[1] + after[0]) / 2 + short.get(n, 0.0)
        gaps.append((at_tip, at_tip))
    return np.array(corners), gaps, flank


def _normals(corners: Points) -> Points:
    """Unit normals of the segments, from the left end towards the right."""
    along = np.diff(corners, axis=0)
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    return np.stack([along[:, 1], -along[:, 0]], axis=1)


def _meet(a: tuple[Points, Points], b: tuple[Points, Points]) -> Points:
    u, v = a[1] - a[0], b[1] - b[0]
    t = np.linalg.solve(np.stack([u, -v], axis=1), b[0] - a[0])[0]
    return np.asarray(a[0] + t * u)


def _drawn(
    corners: list[Points], seam: Seam, rng: np.random.Generator
) -> tuple[Points, list[Points]]:
    """Corners to a dense polyline, its corners rounded and its edge frayed; and its lines apart."""
    pieces: list[Points] = []
    lines: list[Points] = []
    for k, corner in enumerate(corners[:-1]):
        begin, finish = np.asarray(corner), np.asarray(corners[k + 1])
        length = float(np.linalg.norm(finish - begin))
        along = (finish - begin) / length
        cut_off = min(seam.round_mm, 0.45 * length)
        s = np.linspace(cut_off, length - cut_off, max(int(length / STEP_MM), 2))
        line = begin + s[:, None] * along
        if seam.fray_mm > 0:
            ragged = _ragged(len(s), seam.fray_mm, rng)
            ragged *= np.clip(np.minimum(s, length - s) / CORNER_MM, 0, 1)
            line = line + ragged[:, None] * np.array([along[1], -along[0]])
        pieces.append(line)
        lines.append(line)
        if cut_off > 0 and k + 2 < len(corners):
            onward = np.asarray(corners[k + 2]) - finish
            span = float(np.linalg.norm(onward))
            out = finish + onward / span * min(seam.round_mm, 0.45 * span)
            t = np.linspace(0.1, 0.9, 9)[:, None]
            pieces.append((1 - t) ** 2 * line[-1] + 2 * t * (1 - t) * finish + t**2 * out)
    return np.concatenate(pieces), lines


def _ragged(count: int, rms: float, rng: np.random.Generator) -> Points:
    """A smooth random line: correlated over about a quarter of a millimetre."""
    width = 0.25 / STEP_MM
    kernel = np.exp(-0.5 * (np.arange(-30, 31) / width) ** 2)
    kernel /= np.sqrt(np.sum(kernel**2))
    return rms * np.convolve(rng.normal(size=count + 60), kernel, "valid")[:count]


def _profile(
    corners: Points, sides: tuple[list[Points], list[Points]], flank: list[bool], seam: Seam
) -> tuple[Points, NDArray[np.bool_], Points]:
    """The gap between the two drawn sides, square to the seam, as a mean over AVERAGED_MM."""
    normals = _normals(corners)
    rows: list[Points] = []
    kinds: list[NDArray[np.bool_]] = []
    middle: list[Points] = []
    window = max(round(AVERAGED_MM / STEP_MM), 1)
    for k, (begin, finish) in enumerate(pairwise(corners)):
        length = float(np.linalg.norm(finish - begin))
        along = (finish - begin) / length
        s = np.arange(0, length + STEP_MM / 2, STEP_MM)
        left, right = (
            np.interp(s, (side[k] - begin) @ along, (side[k] - begin) @ normals[k])
            for side in sides
        )
        gap = np.maximum(right - left, 0.0)
        if len(gap) > 2 * window:
            padded = np.pad(gap, (window // 2, window - 1 - window // 2), "reflect")
            gap = np.convolve(padded, np.full(window, 1 / window), "valid")
        line = np.column_stack([begin + s[:, None] * along, gap])
        middle.append(line)
        margin = min(CORNER_MM + seam.round_mm, 0.4 * length)
        inner = (s >= margin) & (s <= length - margin)
        rows.append(line[inner])
        kinds.append(np.full(int(inner.sum()), flank[k]))
    return np.concatenate(rows), np.concatenate(kinds), np.concatenate(middle)


@dataclass(frozen=True)
class Edges:
    """The two long edges of one end: y at x = 0 of the upper and lower, and the slope of both."""

    upper: float
    lower: float
    slope: float = 0.0

    def at(self, x: Points) -> tuple[Points, Points]:
        return self.upper + self.slope * x, self.lower + self.slope * x


def end(left: Points | None, right: Points | None, edges: Edges, reach_mm: float) -> Points:
    """Outline of a piece of belt between two cuts (None: it goes on) and its two edges."""
    reach = abs(edges.upper) + abs(edges.lower) + 1000
    west = np.array([[-reach_mm, -reach], [-reach_mm, reach]]) if left is None else left
    east = np.array([[reach_mm, -reach], [reach_mm, reach]]) if right is None else right
    outline = np.concatenate([east, west[::-1]])
    line = np.array([-edges.slope, 1.0])
    outline = _clipped(outline, line, edges.upper, keep_above=True)
    return _clipped(outline, line, edges.lower, keep_above=False)


def _clipped(outline: Points, line: Points, level: float, *, keep_above: bool) -> Points:
    """The part of an outline with line . p >= level, or <= level."""
    side = (outline @ line - level) * (1 if keep_above else -1)
    following, side_after = np.roll(outline, -1, axis=0), np.roll(side, -1)
    inside, crosses = side >= 0, (side >= 0) != (side_after >= 0)
    part = side / np.where(crosses, side - side_after, 1.0)
    meeting = outline + part[:, None] * (following - outline)
    both = np.stack([outline, meeting], axis=1).reshape(-1, 2)
    return both[np.stack([inside, crosses], axis=1).ravel()]


def dense(outline: Points, step_mm: float) -> Points:
    """The same closed outline with no side longer than a step, so that lenses may bend it."""
    following = np.roll(outline, -1, axis=0)
    length = np.linalg.norm(following - outline, axis=1)
    count = np.maximum(np.ceil(length / step_mm), 1).astype(int)
    index = np.repeat(np.arange(len(outline)), count)
    part = (np.arange(len(index)) - np.repeat(np.cumsum(count) - count, count)) / count[index]
    return outline[index] + part[:, None] * (following - outline)[index]
