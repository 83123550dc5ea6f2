"""What is true of a scene, in the words of a measurement."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.bench.seams.render import Laid, lay
from tests.bench.seams.scene import CARD_MM, Scene

Points = NDArray[np.float64]

EDGE_REACH_MM = 60.0
"""The edges of the ends are looked at so far from the seam at most."""


@dataclass(frozen=True)
class Truth:
    """Lengths in mm, on the belt's top face.

    gap_max: largest, of flanks and tips, of means over 1 mm of seam; gap_max_flanks: of flanks
    alone; gap_at: x, y of the largest in the belt frame; gap_mean: along the flanks. splice_width:
    mean over the finger zone, between the outermost edges of either end. belt_width: left and
    right end. edge_offset: the larger step of the right end against the left where the seam
    crosses an edge; upper, lower with sign. skew_deg: between the straight lines through both
    ends' edges. finger_count: pitches over the width.
    scale_px_per_mm: at the splice. profile: rows of x, y, gap, thinned.
    """

    gap_max: float
    gap_max_flanks: float
    gap_at: tuple[float, float]
    gap_mean: float
    splice_width: float
    belt_width: tuple[float, float]
    edge_offset: float
    edge_offset_upper: float
    edge_offset_lower: float
    skew_deg: float
    bow_mm: float
    finger_count: float
    finger_pitch: float
    finger_length: float
    scale_px_per_mm: float
    profile: tuple[tuple[float, float, float], ...]


def truth(scene: Scene) -> Truth | None:
    """None where there is no seam to measure."""
    if len(scene.seams) != 1:
        return None
    laid, belt, seam = lay(scene), scene.belt, scene.seams[0]
    one = laid.cuts[0]
    inside = _between(laid, one.profile)
    profile, on_flank = one.profile[inside], one.on_flank[inside]
    widest = int(np.argmax(profile[:, 2]))
    flanks = profile[on_flank, 2]
    upper, lower = _steps(laid)
    return Truth(
        gap_max=float(profile[widest, 2]),
        gap_max_flanks=float(flanks.max()),
        gap_at=(float(profile[widest, 0]), float(profile[widest, 1])),
        gap_mean=float(flanks.mean()),
        splice_width=_splice_width(laid, seam.finger_mm),
        belt_width=(belt.widths[0], _square(belt.widths[1], belt.skew_deg)),
        edge_offset=max(abs(upper), abs(lower)),
        edge_offset_upper=upper,
        edge_offset_lower=lower,
        skew_deg=_skew(scene, laid),
        bow_mm=belt.bow_mm,
        finger_count=sum(belt.widths) / 2 / seam.pitch_mm,
        finger_pitch=seam.pitch_mm,
        finger_length=seam.finger_mm,
        scale_px_per_mm=scene.camera.scale_at(*belt.at, max(belt.heights)),
        profile=tuple((float(x), float(y), float(g)) for x, y, g in profile[::5]),
    )


def _square(width: float, skew_deg: float) -> float:
    """Edges set apart along y are nearer by the cosine when they slope."""
    return float(width * np.cos(np.radians(skew_deg)))


def _between(laid: Laid, points: Points) -> NDArray[np.bool_]:
    """Where both ends are there: half a millimetre inside the edges of each."""
    inside = np.ones(len(points), bool)
    for edges in laid.edges:
        upper, lower = edges.at(points[:, 0])
        inside &= (points[:, 1] > upper + 0.5) & (points[:, 1] < lower - 0.5)
    return inside


def _steps(laid: Laid) -> tuple[float, float]:
    """Step of the right end against the left where the seam leaves at the upper and lower edge."""
    left, right = laid.edges
    middle = laid.cuts[0].middle
    steps = []
    for k in (0, 1):
        level = (left.at(np.zeros(1))[k][0] + right.at(np.zeros(1))[k][0]) / 2
        x = float(np.interp(level, middle[:, 1], middle[:, 0]))
        steps.append(float(right.at(np.array([x]))[k][0] - left.at(np.array([x]))[k][0]))
    return steps[0], steps[1]


def _splice_width(laid: Laid, finger_mm: float) -> float:
    """Mean over the finger zone between the outermost edges; the slot's mouth has none.

    Where an edge shows nowhere in the zone, the mean of both ends' stands for it.
    """
    x = np.linspace(-finger_mm / 2, finger_mm / 2, 401)
    upper, lower = np.full(len(x), np.inf), np.full(len(x), -np.inf)
    for piece, edges in zip(laid.pieces, laid.edges, strict=True):
        for number, level in enumerate(edges.at(x)):
            run = piece[np.abs(piece[:, 1] - edges.at(piece[:, 0])[number]) < 1e-6, 0]
            if len(run) == 0:
                continue
            here = (x >= run.min()) & (x <= run.max())
            if number == 0:
                upper[here] = np.minimum(upper, level)[here]
            else:
                lower[here] = np.maximum(lower, level)[here]
    means = [
        float(y[np.isfinite(y)].mean())
        if np.isfinite(y).any()
        else float(np.mean([edges.at(np.zeros(1))[number][0] for edges in laid.edges]))
        for number, y in enumerate((upper, lower))
    ]
    return means[1] - means[0]


def _skew(scene: Scene, laid: Laid) -> float:
    """Angle of the right end against the left, straight lines through what is seen of each edge."""
    reach = min(EDGE_REACH_MM, CARD_MM[scene.card.size][0] / 2)
    away = scene.seams[0].finger_mm / 2
    slopes = []
    for side, edges in zip((-1, 1), laid.edges, strict=True):
        x = side * np.linspace(away, reach, 50)
        bow = scene.belt.bow_mm * (x / 50) ** 2
        slopes.append(np.polyfit(x, edges.at(x)[0] + bow, 1)[0])
    return float(np.degrees(np.arctan(slopes[1]) - np.arctan(slopes[0])))
