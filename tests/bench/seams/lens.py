"""The lens as a person with a calibrated camera would hand it in, no better than a calibration."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np

from recorder.model.camera import Camera
from tests.bench.seams.scene import Scene

KNOWN_SHARE = 0.5
WRONG_SHARE = 0.1
"""Of the known ones: calibrated at another zoom or focus, so that its distortion is another."""

_QUARTERS = {1: 0, 3: 2, 6: 1, 8: 3}


def calibrated(scene: Scene) -> tuple[Camera | None, bool]:
    """The calibration of the scene's lens or None, and whether it is a wrong one.

    Its errors are those of a careful calibration: 0.1 % of the focal length, some pixels of the
    principal point, and a distortion that is wrong by 0.02 % of lengths at the card's ends.
    """
    rng = np.random.default_rng([scene.seed, 21])
    if rng.random() >= KNOWN_SHARE:
        return None, False
    seen, sensor = scene.camera, scene.sensor
    wrong = bool(rng.random() < WRONG_SHARE)
    off = rng.choice([-1, 1]) * rng.uniform(0.005, 0.012) if wrong else rng.normal(0, 0.0007)
    focal = seen.focal_px * (1 + rng.normal(0, 0.001))
    x = seen.width / 2 + seen.centre[0] + rng.normal(0, 3)
    y = seen.height / 2 + seen.centre[1] + rng.normal(0, 3)
    width, height = seen.width, seen.height
    for _ in range(_QUARTERS[sensor.orientation]):
        x, y, width, height = y, width - x, height, width
    told = sensor.exif != "none"
    thirty_five = seen.focal_px * 43.267 / float(np.hypot(seen.width, seen.height))
    camera = Camera(
        name="bench",
        make=sensor.maker[0] if told else "",
        model=sensor.maker[1] if told else "",
        focal_mm=round(thirty_five / 5.6, 2) if told else None,
        focal_35mm=round(thirty_five) if sensor.exif == "full" else None,
        size_px=(width, height),
        focal_px=(focal, focal),
        centre_px=(x - 0.5, y - 0.5),  # the middle of the first pixel is (0, 0) there
        distortion=(seen.k1 + off, seen.k2, 0.0, 0.0, 0.0),
        rms_px=0.15,
        held_out=0.0004,
        photos=12,
        target="chessboard",
        calibrated_at=datetime(2026, 11, 1, tzinfo=UTC),
    )
    return camera, wrong
