"""A lens bends and straightens, and turns with its photo as EXIF says; what it does to lengths."""

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from PIL import Image, ImageOps

from recorder.model.camera import Camera
from recorder.photo.geometry.lens import Lens, of_camera, turned_back
from recorder.photo.geometry.optics import (
    LENGTH_PER_MISFIT,
    LENGTH_PER_MISFIT_CROPPED,
    LENS_FROM_CARD,
)
from tests.bench.lens import KINDS, Kind, photos

CAMERA = Camera(
    name="bench",
    size_px=(400, 300),
    focal_px=(350.0, 340.0),
    centre_px=(205.0, 144.0),
    distortion=(-0.12, 0.05, 0.004, -0.003, 0.01),
    rms_px=0.1,
    held_out=0.0001,
    photos=10,
    target="chessboard",
    calibrated_at=datetime(2026, 11, 26, tzinfo=UTC),
)
STORED = Lens(CAMERA.focal_px, CAMERA.centre_px, CAMERA.distortion)
PLACES = np.array([(10.0, 20.0), (390.0, 30.0), (200.0, 150.0), (40.0, 280.0), (333.0, 222.0)])


def test_straight_undoes_bent() -> None:
    bent = STORED.bent(PLACES)
    assert np.abs(bent - PLACES).max() > 3
    assert np.abs(STORED.straight(bent) - PLACES).max() < 1e-3


@pytest.mark.parametrize("orientation", range(1, 9))
def test_points_turn_back_as_pillow_turns_the_picture(orientation: int) -> None:
    stored = Image.new("L", (40, 30))
    stored.putpixel((33, 4), 255)
    exif = stored.getexif()
    exif[0x0112] = orientation
    upright = ImageOps.exif_transpose(stored)
    row, column = np.argwhere(np.asarray(upright) == 255)[0]
    back = turned_back(np.array([(column, row)], float), upright.size, orientation)
    assert back.tolist() == [[33.0, 4.0]]


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("scale", [1, 3])
def test_a_lens_turns_with_its_photo(orientation: int, scale: int) -> None:
    size = (400 * scale, 300 * scale)
    upright = size if orientation < 5 else size[::-1]
    lens = of_camera(CAMERA, upright, orientation)
    points = np.array([(12.0, 9.0), (250.0, 20.0), (100.0, 290.0), (222.0, 133.0)]) * scale
    grown = replace(  # the stored picture's own lens at that size
        STORED,
        focal_px=(350.0 * scale, 340.0 * scale),
        centre_px=(205.5 * scale - 0.5, 144.5 * scale - 0.5),
    )
    expected = grown.bent(turned_back(points, upright, orientation))
    found = turned_back(lens.bent(points), upright, orientation)
    assert np.abs(found - expected).max() < 1e-9


FLAT = [kind for kind in KINDS if not kind.curl_mm and kind.wrong_k1 in (0, 0.01)]
BENT = [kind for kind in KINDS if kind.curl_mm == 0.3]


@pytest.mark.parametrize("kind", FLAT, ids=lambda k: k.label)
def test_the_allowance_for_a_lens_covers_simulated_ones(kind: Kind) -> None:
    """The numbers of the budget, on another seed than the bench's own."""
    found = photos(kind, 60, np.random.default_rng(2))
    factor = LENGTH_PER_MISFIT_CROPPED if kind.centre > 0.1 else LENGTH_PER_MISFIT
    by_card = found.by_card / (2 * np.maximum(LENS_FROM_CARD, factor * found.misfit_card))
    by_calibration = found.by_calibration / (2 * factor * found.misfit_calibrated)
    for shares in (by_card, by_calibration):
        assert np.mean(shares <= 1) >= 0.95
        assert shares.max() < 2


@pytest.mark.parametrize("kind", BENT, ids=lambda k: k.label)
def test_a_bent_card_never_looks_like_a_wrong_calibration(kind: Kind) -> None:
    found = photos(kind, 60, np.random.default_rng(2))
    assert np.mean(found.misfit_calibrated < 2 * found.misfit_card) > 0.98
