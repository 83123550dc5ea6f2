"""How the gap runs along the flanks: its scatter, and where it grows towards tips nobody sees."""

from __future__ import annotations

import numpy as np

from recorder.photo.gap import GapProfile


def scatter_mm(profile: GapProfile) -> float:
    """Standard deviation of a window against its two neighbours on the same flank."""
    p = profile.points
    rest = [
        p[i].gap - (p[i - 1].gap + p[i + 1].gap) / 2
        for i in range(1, len(p) - 1)
        if p[i - 1].flank == p[i].flank == p[i + 1].flank
    ]
    return float(np.std(rest) / np.sqrt(1.5)) if len(rest) > 3 else 0.02


def unseen_mm(profile: GapProfile) -> float:
    """How much wider than seen the gap may get towards the tips, by the trend of each flank.

    As a standard uncertainty of a rectangular distribution that reaches from nothing to there.
    """
    largest = max(point.gap for point in profile.points)
    beyond = 0.0
    for flank in {point.flank for point in profile.points}:
        mine = [point for point in profile.points if point.flank == flank]
        if len(mine) < 4:
            continue
        step = np.mean([point.weight for point in mine])
        place = np.arange(len(mine)) * step
        slope, level = np.polyfit(place, [point.gap for point in mine], 1)
        left_out = 3.0 + step / 2
        for end in (-left_out, place[-1] + left_out):
            beyond = max(beyond, float(level + slope * end) - largest)
    return beyond / float(np.sqrt(3))
