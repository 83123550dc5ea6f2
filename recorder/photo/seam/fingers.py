"""Count, pitch and length of the fingers, from the flanks and tips of the seam."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from recorder.photo.seam.ends import Number
from recorder.photo.seam.seam import Seam

Array = NDArray[np.float64]

# A tip is found on a raster of a quarter of a millimetre; drawn seams showed this much.
_TIP_U_MM = 0.08


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
    square = float(np.cos(np.arctan(_lean(seam.turns)[1]))) if seam.tips > 3 else 1.0
    return round(len(crossings) / 2), Number(float(solution[2]) * square, u)


def finger_length(seam: Seam) -> Number | None:
    """From the tips of one end to those of the other, along the belt, on the middle of the slot;
    None for a seam without fingers. A tip cut short counts little: the medians are compared.
    """
    if seam.tips < 2:
        return None
    way, lean = _lean(seam.turns)
    x = seam.turns[:, 0] - lean * seam.turns[:, 1]
    sides = [x[way == side] for side in (0, 1)]
    middles = [float(np.median(side)) for side in sides]
    square = float(np.cos(np.arctan(lean)))
    usual = np.concatenate([side - m for side, m in zip(sides, middles, strict=True)])
    scatter = max(1.4826 * float(np.median(np.abs(usual))), _TIP_U_MM)
    u = 1.25 * scatter * float(np.sqrt(sum(1 / len(side) for side in sides)))  # of a median
    return Number(abs(middles[1] - middles[0]) * square, float(np.hypot(u, _TIP_U_MM)))


def _lean(turns: Array) -> tuple[NDArray[np.int64], float]:
    """Which tips belong together (n,), 0 or 1; how their rows lean: mm along x for a mm in y."""
    way = np.arange(len(turns)) % 2
    if len(turns) < 4:
        return way, 0.0
    slopes = []
    for side in (0, 1):
        x, y = turns[way == side].T
        i, j = np.triu_indices(len(x), 1)
        slopes += list((x[j] - x[i]) / np.where(y[j] == y[i], np.inf, y[j] - y[i]))
    return way, float(np.median(slopes))
