"""Count and pitch of the fingers, from where the flanks cross the middle of the seam."""

from __future__ import annotations

import numpy as np

from recorder.photo.ends import Number
from recorder.photo.seam import Seam


def count_and_pitch(seam: Seam) -> tuple[int | None, Number | None]:
    """Fingers of one end, and mm from finger to finger; None for a seam without fingers."""
    if seam.tips < 2:
        return None, None
    left = np.mean([min(f.begin[0], f.end[0]) for f in seam.flanks])
    right = np.mean([max(f.begin[0], f.end[0]) for f in seam.flanks])
    middle = (left + right) / 2
    crossings: list[tuple[int, float]] = []
    for number, flank in enumerate(seam.flanks):
        run = flank.end[0] - flank.begin[0]
        share = (middle - flank.begin[0]) / run if abs(run) > 1e-6 else -1.0
        if 0 <= share <= 1:
            crossings.append(
                (number, float(flank.begin[1] + share * (flank.end[1] - flank.begin[1])))
            )
    if len(crossings) < 4:
        return round(len(crossings) / 2), None
    steps = np.array([number for number, _ in crossings], float)
    y = np.array([place for _, place in crossings])
    odd = steps % 2
    # every second crossing belongs to the other side of a finger and has its own start
    arms = np.column_stack([np.ones_like(steps), odd, steps / 2])
    solution = np.linalg.lstsq(arms, y, rcond=None)[0]
    rest = y - arms @ solution
    scatter = max(float(np.sqrt(rest @ rest / max(len(y) - 3, 1))), 0.01)
    u = scatter * float(np.sqrt(np.linalg.pinv(arms.T @ arms)[2, 2]))
    return round(len(crossings) / 2), Number(float(solution[2]), u)
