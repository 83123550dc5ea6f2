"""The overlay shows what was measured, in words, numbers and colours that differ in lightness."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from recorder.errors import OutputUnwritable
from recorder.model.measurement import Limit
from recorder.photo.conditions import Conditions
from recorder.photo.measure import measure
from recorder.photo.overlay import WIDTH_PX
from recorder.photo.pen import gap_colour
from tests.photo.scenes import SMALL, written

LIMITS = (Limit(name="finger_gap", high=0.5),)


def count_near(image: Image.Image, colour: tuple[int, int, int]) -> int:
    away = np.abs(np.asarray(image, int) - colour).sum(axis=2)
    return int((away < 12).sum())


def test_overlay_is_written_and_coloured_by_gap(tmp_path: Path) -> None:
    path = written(SMALL, tmp_path)
    for name in ("overlay.png", "deep/overlay.jpg"):
        overlay = tmp_path / name
        found = measure(path, Conditions(limits=LIMITS), overlay)
        assert found.overlay == overlay.name
        image = Image.open(overlay).convert("RGB")
        assert image.width == WIDTH_PX
        assert image.height > 0.6 * WIDTH_PX
    image = Image.open(tmp_path / "overlay.png").convert("RGB")
    # three flank gaps, 0.45, 0.6 and 0.5 mm, under a limit of 0.5 mm: each leaves its ribbons
    over, under = gap_colour(0.605 / 0.5), gap_colour(0.452 / 0.5)
    assert count_near(image, over) > 2000
    assert count_near(image, under) > 2000


def test_colours_order_by_lightness_up_to_the_limit_and_fall_beyond() -> None:
    def lightness(share: float) -> float:
        return float(np.dot(gap_colour(share), (0.2126, 0.7152, 0.0722)))

    below = [lightness(share) for share in (0.0, 0.3, 0.6, 0.9)]
    assert below == sorted(below)
    assert lightness(1.1) < 0.6 * lightness(0.9)


def test_unwritable_place(tmp_path: Path) -> None:
    blocker = tmp_path / "file"
    blocker.write_text("in the way")
    with pytest.raises(OutputUnwritable):
        measure(written(SMALL, tmp_path), Conditions(), blocker / "overlay.png")
