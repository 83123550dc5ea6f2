"""What a lens does to a length between the card's strips: simulated photos of the card's corners.

``python -m tests.bench.lens`` prints, for lenses and cards of several kinds, the error of a length
of 70 mm across the belt (95th percentile, relative), by the card alone and by a calibration; that
error over the misfit at the corners, from which LENGTH_PER_MISFIT of
recorder/photo/geometry/optics.py comes; and how much worse the corners fit a calibration than the
card alone, from which _WORSE comes.
No picture is drawn: the corners are computed, with noise.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recorder.photo.card.layout import CARD_SIZES
from recorder.photo.geometry.lens import Lens
from recorder.photo.geometry.plane import Plane, from_points

Array = NDArray[np.float64]

WIDTH, HEIGHT = 2200, 2800
CARD = CARD_SIZES["M"]
MM = np.concatenate([CARD.corners_mm(marker) for marker in CARD.markers])
CENTRE = np.array(CARD.splice_centre_mm)
LENGTH_MM = 70.0
ENDS = np.array([(0.0, -LENGTH_MM / 2), (0.0, LENGTH_MM / 2)])
FLOOR_PX = 0.03
RADIAL_U = np.array([0.3, 0.1])


@dataclass(frozen=True)
class Kind:
    """Standard deviations of lenses: k1, k2; p1 and p2; principal point, as a share of the
    picture. curl_mm: how far the card's ends stand up, along ``axis``. wrong_k1: by how much the
    calibration has it wrong.
    """

    label: str
    k1: float = 0.1
    k2: float = 0.1
    tangential: float = 0.002
    centre: float = 0.02
    curl_mm: float = 0.0
    axis: int = 0
    wrong_k1: float = 0.0


KINDS = (
    Kind("no distortion", 0, 0, 0, 0),
    Kind("mild", 0.03, 0.02, 0.0005, 0.02),
    Kind("strong", 0.1, 0.1, 0.002, 0.02),
    Kind("mild, cropped", 0.03, 0.02, 0.0005, 0.15),
    Kind("strong, cropped", 0.1, 0.1, 0.002, 0.15),
    Kind("card curled along, 0.3 mm", 0.03, 0.02, 0.0005, curl_mm=0.3),
    Kind("card curled across, 0.3 mm", 0.03, 0.02, 0.0005, curl_mm=0.3, axis=1),
    Kind("card curled along, 1.5 mm", 0.03, 0.02, 0.0005, curl_mm=1.5),
    Kind("card curled across, 1.5 mm", 0.03, 0.02, 0.0005, curl_mm=1.5, axis=1),
    Kind("calibration wrong by 0.003", 0.03, 0.02, 0.0005, wrong_k1=0.003),
    Kind("calibration wrong by 0.01", 0.03, 0.02, 0.0005, wrong_k1=0.01),
    Kind("calibration wrong by 0.1", 0.03, 0.02, 0.0005, wrong_k1=0.1),
)


@dataclass(frozen=True)
class Outcome:
    """Of n photos: relative errors of the length and misfits, by calibration and by card alone."""

    by_calibration: Array
    misfit_calibrated: Array
    by_card: Array
    misfit_card: Array

    def line(self) -> str:
        worse = self.misfit_calibrated / self.misfit_card
        return (
            f"{_p95(self.by_card):8.5f} {_p95(self.by_card / self.misfit_card):6.1f}   "
            f"{_p95(self.by_calibration):8.5f} "
            f"{_p95(self.by_calibration / self.misfit_calibrated):6.1f}   "
            f"{np.median(worse):6.2f} {_p95(worse):6.2f}"
        )


def photos(kind: Kind, n: int, rng: np.random.Generator) -> Outcome:
    """n photos of the card, tilted by up to 20 degrees, that fills most of the picture."""
    rows = np.array([_one(kind, rng) for _ in range(n)])
    return Outcome(*rows.T)


def _one(kind: Kind, rng: np.random.Generator) -> tuple[float, float, float, float]:
    focal = rng.uniform(0.75, 1.1) * HEIGHT
    middle = np.array([(WIDTH - 1) / 2, (HEIGHT - 1) / 2])
    x, y = middle + rng.normal(0, kind.centre, 2) * HEIGHT
    k1, k2 = rng.normal(0, kind.k1), rng.normal(0, kind.k2)
    p1, p2 = rng.normal(0, kind.tangential, 2)
    lens = Lens((focal, focal), (x, y), (k1, k2, p1, p2, 0.0))
    turn = _turn(np.radians(rng.uniform(0, 20)), rng.uniform(0, 2 * np.pi), rng.uniform(-0.1, 0.1))
    away_mm = focal / (HEIGHT * 0.9 / CARD.size_mm[1])

    def seen(mm: Array, up_mm: Array) -> Array:
        space = np.column_stack([mm, -up_mm]) @ turn.T + (0, 0, away_mm)
        return lens.bent(space[:, :2] / space[:, 2:] * focal + lens.centre_px)

    across = (MM - CENTRE)[:, kind.axis]
    px = seen(MM - CENTRE, kind.curl_mm * (across / np.abs(across).max()) ** 2)
    px = px + rng.normal(0, FLOOR_PX, px.shape)
    ends = seen(ENDS, np.zeros(2))
    guess = focal * np.exp(rng.normal(0, 0.1))
    known = Lens(lens.focal_px, lens.centre_px, (k1 + kind.wrong_k1, k2, p1, p2, 0.0))
    unknown = Lens((guess, guess), (float(middle[0]), float(middle[1])))
    size_px = float(np.linalg.norm(np.ptp(px, axis=0)))
    calibrated = from_points(MM, px, FLOOR_PX, known)
    alone = from_points(MM, px, FLOOR_PX, unknown, RADIAL_U)
    return (
        _error(calibrated, ends),
        calibrated.residual_px / size_px,
        _error(alone, ends),
        alone.residual_px / size_px,
    )


def _error(plane: Plane, ends_px: Array) -> float:
    one, other = plane.to_mm(ends_px)
    return abs(float(np.linalg.norm(other - one)) / LENGTH_MM - 1)


def _turn(tilt: float, towards: float, roll: float) -> Array:
    """Rotation by a tilt about an axis in the picture's plane, after a roll."""
    a, b = np.cos(towards), np.sin(towards)
    axis = np.array([[0.0, 0, b], [0, 0, -a], [-b, a, 0]])
    tilted = np.eye(3) + np.sin(tilt) * axis + (1 - np.cos(tilt)) * axis @ axis
    c, s = np.cos(roll), np.sin(roll)
    return np.asarray(tilted @ np.array([[c, -s, 0], [s, c, 0], [0, 0, 1.0]]))


def _p95(values: Array) -> float:
    return float(np.percentile(values, 95))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--photos", type=int, default=400, help="of each kind (default: 400)")
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    rng = np.random.default_rng(arguments.seed)
    print(f"{'':28} by the card alone  by calibration    misfit of one over the other")
    print(f"{'':28}    error  /misfit     error  /misfit  median    95 %")
    for kind in KINDS:
        print(f"{kind.label:28} {photos(kind, arguments.photos, rng).line()}", flush=True)


if __name__ == "__main__":
    main()
