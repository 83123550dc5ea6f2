"""The two ends of a belt do not lie equally high, and a camera that looks askance sees it.

An edge that lies higher seems farther from the point below the camera. Along the zig-zag the higher
end is now on one side of the gap and now on the other, so that the flanks gape and close by turns,
and the more so the farther they are from that point. Fingers that are cut alike do not do that,
which tells the step between the ends from the gaps themselves.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from recorder.photo.seam.gap import GapProfile

Array = NDArray[np.float64]

STEP_MM = 0.12  # standard uncertainty of the step before it is looked for: common practice
# How much of a gap its light wall hides for a slant of 1, taken as both correction and uncertainty:
# in drawn photos 0.07 to 0.2 where the walls are the belt's own colour, none where they are dark.
WALL_SHARE = 0.07
_SHIFT_MM = 0.10  # of the gaps of every second flank, where one end lies aside
_SCATTERS_MM = np.geomspace(0.004, 0.5, 25)  # of the flanks' gaps among each other
_LEAST_FLANKS = 6
_LONG = 0.5  # of the usual flank: shorter ones are the tips


def levelled(profile: GapProfile, eye: Array) -> GapProfile:
    """The gaps as they would be seen from above each of them. eye: (3,) the camera, in mm.

    JCGM 100, 3.2.4: a known effect is corrected, and the uncertainty of the correction is kept.
    """
    normal = np.array([p.normal for p in profile.points])
    away = (np.array([(p.x, p.y) for p in profile.points]) - eye[:2]) / eye[2]
    # The normal points to the left end: the right end's edge moves against it.
    slant = -(normal * away).sum(axis=1)
    step, u_step = _step(profile, normal[:, 1], slant)
    points = tuple(
        replace(point, gap=_seen_from_above(point.gap - step * by, by), slant=by)
        for point, by in zip(profile.points, slant.tolist(), strict=True)
    )
    return replace(profile, points=points, step_mm=step, u_step_mm=u_step)


def _seen_from_above(gap: float, slant: float) -> float:
    """A slanting look shows some of a gap's wall, whose upper part is light, so that the gap seems
    narrower.
    """
    return gap * (1 + WALL_SHARE * abs(slant))


def _step(profile: GapProfile, turn: Array, slant: Array) -> tuple[float, float]:
    """How much higher the right end lies, and its standard uncertainty; mm.

    Flank means are mean + shift by turns + step times slant + scatter; the scatter is the one under
    which they are most probable.
    """
    flank = np.array([p.flank for p in profile.points])
    lengths = np.array([f.length for f in profile.flanks])
    long = [k for k in set(flank.tolist()) if lengths[k] > _LONG * lengths.max()]
    if len(long) < _LEAST_FLANKS:
        return 0.0, STEP_MM
    gaps = np.array([p.gap for p in profile.points])
    means = np.array([np.mean(gaps[flank == k]) for k in long])
    arms = np.array([(np.sign(turn[flank == k].mean()), slant[flank == k].mean()) for k in long])
    prior = np.diag([_SHIFT_MM**2, STEP_MM**2])
    best, step, variance = -np.inf, 0.0, STEP_MM**2
    for scatter in _SCATTERS_MM:
        spread = arms @ prior @ arms.T + scatter**2 * np.eye(len(long)) + 1.0  # mean: anything
        inverse = np.linalg.inv(spread)
        rest = means - means.mean()
        likely = -rest @ inverse @ rest - np.linalg.slogdet(spread)[1]
        if likely > best:
            pull = prior @ arms.T @ inverse
            best, step = likely, float((pull @ rest)[1])
            variance = float((prior - pull @ arms @ prior)[1, 1])
    return step, float(np.sqrt(max(variance, 0.0)))
