"""A photo that carries no measurement gives a reason with a remedy, and no number at all."""

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageFilter

from demo_media.scene import Scene
from recorder.errors import FileEmpty, FileMissing, FileTooLarge, InputRefused, NotAPicture
from recorder.photo.image import picture
from recorder.photo.image.conditions import Conditions
from recorder.photo.measure import measure
from tests.photo.scenes import SMALL, drawn, scene, written

NUMBERS = (
    "gap_max", "gap_mean", "splice_width", "belt_width", "edge_offset", "skew", "finger_count",
    "finger_pitch", "scale_px_per_mm", "decision", "overlay", "plot",
)  # fmt: skip


def refused(path: Path, tmp_path: Path) -> str:
    overlay, plot = tmp_path / "overlay.png", tmp_path / "plot.png"
    found = measure(path, Conditions(), overlay, plot=plot)
    assert found.status == "refused"
    assert all(getattr(found, name) is None for name in NUMBERS)
    assert found.decisions == {}
    assert found.budget == {}
    assert not overlay.exists()
    assert not plot.exists()
    assert "\n" not in found.reason
    assert ";" in found.reason, "what is wrong; what to do"
    return found.reason


def edited(tmp_path: Path, change) -> Path:
    image = Image.open(io.BytesIO(drawn(SMALL)))
    path = tmp_path / "photo.png"
    change(image).save(path)
    return path


@pytest.mark.parametrize(
    ("shown", "word"),
    [
        (scene(card=""), "no reference card"),
        (scene(belt={"gaps_mm": (0.0,)}), "no seam"),
        (scene(belt={"width_mm": 116.0, "pitch_mm": 10.0}), "edge of the belt"),
        (scene(belt={"shift_mm": (0.0, 24.0)}), "edge of the belt"),
        (scene(belt={"turn_deg": 90.0}), "belt"),
        (scene(camera={"tilt_y_deg": 52.0, "distance_mm": 190.0}), "oblique"),
    ],
    ids=["no card", "no seam", "belt too wide", "edge hidden", "belt across", "oblique"],
)
def test_scene_that_cannot_be_measured(shown: Scene, word: str, tmp_path: Path) -> None:
    assert word in refused(written(shown, tmp_path), tmp_path)


@pytest.mark.parametrize(
    ("box", "colour", "word"),
    [
        ((0.36, 0.20, 0.64, 0.80), (90, 60, 50), "edge"),
        ((0.36, 0.30, 0.64, 0.62), (90, 60, 50), "seam"),
        ((0.36, 0.30, 0.64, 0.62), (255, 255, 255), "burnt out"),
        ((0.36, 0.20, 0.90, 0.80), (235, 235, 235), "edge"),
    ],
    ids=["glove over the splice", "hand on the seam", "glare on the seam", "sheet over the belt"],
)
def test_something_over_the_seam(
    box: tuple[float, ...], colour: tuple[int, int, int], word: str, tmp_path: Path
) -> None:
    def cover(image: Image.Image) -> Image.Image:
        w, h = image.size
        corners = (round(box[0] * w), round(box[1] * h), round(box[2] * w), round(box[3] * h))
        image.paste(colour, corners)
        return image

    assert word in refused(edited(tmp_path, cover), tmp_path)


def test_a_splice_away_from_the_middle_of_the_card(tmp_path: Path) -> None:
    shown = scene(belt={"shift_mm": (32.0, 0.0)})
    assert "too little of the belt" in refused(written(shown, tmp_path), tmp_path)


def test_blank_picture(tmp_path: Path) -> None:
    path = tmp_path / "blank.png"
    Image.new("RGB", (1200, 900), (128, 128, 128)).save(path)
    assert "no reference card" in refused(path, tmp_path)


def test_noise(tmp_path: Path) -> None:
    rng = np.random.default_rng(5)
    path = tmp_path / "noise.png"
    Image.fromarray(rng.integers(0, 256, (700, 900, 3), np.uint8)).save(path)
    assert "no reference card" in refused(path, tmp_path)


def test_out_of_focus(tmp_path: Path) -> None:
    path = edited(tmp_path, lambda image: image.filter(ImageFilter.GaussianBlur(4.5)))
    assert "out of focus" in refused(path, tmp_path)


def test_too_few_pixels(tmp_path: Path) -> None:
    path = edited(tmp_path, lambda image: image.resize((480, 617), Image.Resampling.BOX))
    assert "pixels a millimetre" in refused(path, tmp_path)


def test_tiny(tmp_path: Path) -> None:
    refused(edited(tmp_path, lambda image: image.resize((40, 52))), tmp_path)
    refused(edited(tmp_path, lambda image: image.resize((1, 1))), tmp_path)


def test_mirrored(tmp_path: Path) -> None:
    refused(
        edited(tmp_path, lambda image: image.transpose(Image.Transpose.FLIP_LEFT_RIGHT)), tmp_path
    )


def test_one_strip_cut_off(tmp_path: Path) -> None:
    path = edited(
        tmp_path, lambda image: image.crop((0, 0, image.width, round(image.height * 0.8)))
    )
    assert "markers" in refused(path, tmp_path)


def test_belt_without_contrast_to_the_bench(tmp_path: Path) -> None:
    shown = scene(belt={"colour": (0.8, 0.8, 0.8), "thickness_mm": 0.0}, look={"bench": "white"})
    assert "edge" in refused(written(shown, tmp_path), tmp_path)


def test_files_that_are_no_pictures(tmp_path: Path) -> None:
    with pytest.raises(InputRefused, match="is a folder"):
        measure(tmp_path, Conditions())
    with pytest.raises(FileMissing):
        measure(tmp_path / "absent.jpg", Conditions())
    empty = tmp_path / "empty.jpg"
    empty.touch()
    with pytest.raises(FileEmpty):
        measure(empty, Conditions())
    text = tmp_path / "text.jpg"
    text.write_text("This is not a picture.\n")
    with pytest.raises(NotAPicture):
        measure(text, Conditions())
    for share in (0.02, 0.3, 0.9):
        cut = tmp_path / "cut.jpg"
        cut.write_bytes(drawn(SMALL)[: int(len(drawn(SMALL)) * share)])
        with pytest.raises(NotAPicture):
            measure(cut, Conditions())


def test_too_many_pixels_are_refused_before_decoding(tmp_path: Path) -> None:
    path = tmp_path / "large.png"
    Image.new("1", (20_000, 10_000)).save(path)
    with pytest.raises(FileTooLarge, match="limit is 64 megapixels"):
        picture.load(path)
    with pytest.raises(FileTooLarge, match="1 megapixels"):
        picture.load(written(SMALL, tmp_path), max_pixels=1_000_000)
