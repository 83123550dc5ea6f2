"""The overlay shows what was measured, in words, numbers and colours that differ in lightness."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from recorder.errors import OutputUnwritable
from recorder.model.measurement import Limit
from recorder.photo import picture
from recorder.photo.conditions import Conditions
from recorder.photo.measure import look, measure
from recorder.photo.overlay import WIDTH_PX, draw
from recorder.photo.pen import Pen, drawable, gap_colour
from recorder.photo.results import results
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


def test_the_width_in_the_picture_is_the_one_in_the_table(tmp_path: Path, monkeypatch) -> None:
    said: list[str] = []
    label = Pen.label

    def heard(pen: Pen, at, text: str, size: int, anchor: str = "mm") -> None:
        said.append(text)
        label(pen, at, text, size, anchor)

    monkeypatch.setattr(Pen, "label", heard)
    photo, conditions = picture.load(written(SMALL, tmp_path)), Conditions()
    seen = look(photo, conditions)
    found = results("photo.jpg", seen, conditions)
    assert found.splice_width is not None
    elsewhere = found.splice_width.model_copy(update={"value": 71.5})
    draw(photo.bgr, seen, found.model_copy(update={"belt_width": elsewhere}), tmp_path / "o.png")
    assert found.splice_width.shown() in said
    assert elsewhere.shown() not in said


def test_characters_that_the_typeface_lacks_leave_a_box_of_their_own() -> None:
    assert drawable("belt 1 – 0.5 mm ± µ°.jpg") == "belt 1 – 0.5 mm ± µ°.jpg"
    assert drawable("Größe œuvre.jpg") == "Größe œuvre.jpg"
    assert drawable("Gro\u0308\u00dfe.jpg") == "Größe.jpg"
    assert drawable("a\U0001f527b\u2764\ufe0fc") in ("a□b□c", "a□b❤c")
    assert drawable("\U0001f468\u200d\U0001f527.jpg") == "□□.jpg"
