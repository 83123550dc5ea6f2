"""How the gap runs along the flanks: what is scatter of the windows and what is the seam.

The largest of a hundred noisy numbers is too large. So every flank gets a straight line through its
windows, and lines and what leaves them are believed as far as they differ by more than their noise
(the random-effects estimate of Efron and Morris, J. Am. Stat. Assoc. 70 (1975) 311). The lines
reach on to the tips, which no window sees.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recorder.photo.seam.gap import GapProfile

Array = NDArray[np.float64]

_STANDS_OUT = 4.0  # of the noise: a place by itself, that smoothing would hide
# What part of the windows' scatter is noise: that of the fits, and half of what is seen beside it,
# since a seam that was cut and pressed varies from window to window as well.
_NOISE_PER_U, _NOISE_PER_SCATTER = 1.5, 0.5
_TOGETHER = 5  # windows over which the seam is smooth
_LEAST_FOR_A_SLOPE = 4


@dataclass(frozen=True)
class FlankRun:
    """One flank. mean: gap over its whole length, u: from scatter. begin, end: gap at its ends,
    u_ends: of them. largest: the largest gap that its windows show, smoothed, at (x, y).
    """

    mean: float
    u: float
    begin: float
    end: float
    u_ends: float
    largest: float
    at: tuple[float, float]


@dataclass(frozen=True)
class Trend:
    """flanks: runs by the index of their flank. smoothed: (points,) gap of each window.
    scatter: standard deviation of a window against its neighbours.
    seen: the largest gap in the windows, at (x, y) on flank.
    tip: the largest gap at an end of a flank, where no window lies; tip_at: the window beside it.
    u_seen, u_tip: from scatter.
    mean, u_mean: along the whole seam.
    """

    flanks: dict[int, FlankRun]
    smoothed: Array
    scatter: float
    seen: float
    u_seen: float
    tip: float
    u_tip: float
    at: tuple[float, float]
    tip_at: tuple[float, float]
    flank: int
    mean: float
    u_mean: float


def trend_of(profile: GapProfile) -> Trend:
    """The gap along the seam, as far as its windows tell it apart from scatter."""
    points = profile.points
    gap = np.array([p.gap for p in points])
    flank = np.array([p.flank for p in points])
    own = np.array([p.u for p in points])
    scatter = _scatter(gap, flank)
    noise = np.hypot(_NOISE_PER_U * own, _NOISE_PER_SCATTER * scatter)
    numbers = sorted(set(flank.tolist()))
    lines = [_line(profile, k, gap[flank == k], noise[flank == k]) for k in numbers]
    level, level_u = _believed(np.array([line.level for line in lines]),
                               np.array([line.u_level for line in lines]))  # fmt: skip
    sloped = [line for line in lines if np.isfinite(line.u_slope)]
    slopes = np.array([line.slope for line in sloped])
    spread = float(np.mean(slopes**2 - [line.u_slope**2 for line in sloped])) if sloped else 0.0
    smoothed = gap.copy()
    runs: dict[int, FlankRun] = {}
    for i, (k, line) in enumerate(zip(numbers, lines, strict=True)):
        mine = flank == k
        share = max(spread, 0.0) / (max(spread, 0.0) + line.u_slope**2 + 1e-18)
        slope = line.slope * share
        way = np.array([p.way for p in points if p.flank == k]) - line.middle
        trend = level[i] + slope * way
        smoothed[mine] = trend + _local(gap[mine] - trend, noise[mine])
        length = profile.flanks[k].length
        ends = level[i] + slope * (np.array([0.0, length]) - line.middle)
        u_slope = line.u_slope * share if np.isfinite(line.u_slope) else 0.0
        widest = int(np.argmax(smoothed[mine]))
        place = points[int(np.flatnonzero(mine)[widest])]
        runs[k] = FlankRun(
            mean=float(ends.mean()),
            u=float(level_u[i]),
            begin=float(ends[0]),
            end=float(ends[1]),
            u_ends=float(np.hypot(level_u[i], u_slope * length / 2)),
            largest=float(smoothed[mine][widest]),
            at=(place.x, place.y),
        )
    top = max(numbers, key=lambda k: runs[k].largest)
    tip = max(numbers, key=lambda k: max(runs[k].begin, runs[k].end))
    run = runs[tip]
    there = [p for p in points if p.flank == tip]
    tip_place = there[0] if run.begin > run.end else there[-1]
    weight = np.array([profile.flanks[k].length for k in numbers])
    means = np.array([runs[k].mean for k in numbers])
    u_means = np.array([runs[k].u for k in numbers])
    worst = runs[top]
    at_noise = float(noise[flank == top].mean())
    return Trend(
        flanks=runs,
        smoothed=smoothed,
        scatter=scatter,
        seen=worst.largest,
        u_seen=float(np.hypot(worst.u, at_noise / np.sqrt(_TOGETHER))),
        tip=max(run.begin, run.end),
        u_tip=run.u_ends,
        at=worst.at,
        tip_at=(tip_place.x, tip_place.y),
        flank=top,
        mean=float(np.average(means, weights=weight)),
        u_mean=float(np.sqrt(((weight * u_means) ** 2).sum()) / weight.sum()),
    )


@dataclass(frozen=True)
class _Line:
    """gap = level + slope (way - middle). u_slope is infinite where the windows tell none."""

    middle: float
    level: float
    u_level: float
    slope: float
    u_slope: float


def _line(profile: GapProfile, k: int, gap: Array, noise: Array) -> _Line:
    """Through the windows of one flank, by least squares, without what stands out."""
    way = np.array([p.way for p in profile.points if p.flank == k])
    usual = float(np.median(gap))
    if len(gap) < _LEAST_FOR_A_SLOPE:
        middle = profile.flanks[k].length / 2
        u = float(np.hypot(noise.mean(), np.std(gap)) / np.sqrt(len(gap)))
        return _Line(middle, usual, u, 0.0, np.inf)
    middle = float(way.mean())
    arms = np.column_stack([np.ones_like(way), way - middle])
    kept = np.ones(len(gap), bool)
    solution = np.array([usual, 0.0])
    for _ in range(2):
        solution = np.linalg.lstsq(arms[kept], gap[kept], rcond=None)[0]
        rest = gap - arms @ solution
        limit = max(_STANDS_OUT * 1.4826 * float(np.median(np.abs(rest))), float(noise.mean()))
        near = np.abs(rest) <= limit
        kept = near if near.sum() >= 3 else kept
    rest = (gap - arms @ solution)[kept]
    scatter = max(float(np.sqrt(rest @ rest / max(kept.sum() - 2, 1))), float(noise.mean()))
    u_level, u_slope = scatter * np.sqrt(np.diag(np.linalg.pinv(arms[kept].T @ arms[kept])))
    return _Line(middle, float(solution[0]), float(u_level), float(solution[1]), float(u_slope))


def _scatter(gap: Array, flank: NDArray[np.int64]) -> float:
    """Standard deviation of a window against its two neighbours on the same flank."""
    inner = (flank[:-2] == flank[1:-1]) & (flank[2:] == flank[1:-1])
    rest = (gap[1:-1] - (gap[:-2] + gap[2:]) / 2)[inner]
    if len(rest) < 4:
        return 0.02
    return float(1.4826 * np.median(np.abs(rest)) / np.sqrt(1.5))


def _believed(values: Array, u: Array) -> tuple[Array, Array]:
    """Values drawn to their mean as far as their differences are noise; and what is left of u."""
    if len(values) < 3:
        return values, u
    mean = float(np.average(values, weights=1 / u**2))
    apart = max(0.0, float(np.mean((values - mean) ** 2 - u**2)))
    share = apart / (apart + u**2)
    return mean + share * (values - mean), u * np.sqrt(np.maximum(share, 1 / len(values)))


def _local(rest: Array, noise: Array) -> Array:
    """What the windows of a flank leave of its line: smoothed, and believed as far as it is more
    than noise; a place that stands out stays as it is.
    """
    kernel = np.array([1.0, 2.0, 3.0, 2.0, 1.0])[:_TOGETHER]
    padded = np.pad(rest, 2, mode="reflect") if len(rest) > 2 else np.pad(rest, 2, mode="edge")
    smooth = np.convolve(padded, kernel / kernel.sum(), mode="valid")
    left = float(np.sqrt((kernel**2).sum()) / kernel.sum())
    apart = max(0.0, float(np.mean(smooth**2 - (left * noise) ** 2)))
    drawn = smooth * apart / (apart + (left * noise) ** 2)
    return np.asarray(np.where(np.abs(rest) > _STANDS_OUT * noise, rest, drawn))
