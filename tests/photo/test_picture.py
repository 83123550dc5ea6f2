"""Pictures come upright, in the right colours, with the camera's time."""

import struct
from datetime import datetime
from pathlib import Path

import numpy as np
import pillow_heif
import pytest
from PIL import Image

from recorder.photo.geometry.lens import turned_back
from recorder.photo.image import picture
from recorder.photo.image.conditions import Conditions
from recorder.photo.measure import measure
from tests.photo.scenes import SMALL, written


def corner_picture() -> Image.Image:
    """60 x 40, red in its top left quarter, blue elsewhere."""
    image = Image.new("RGB", (60, 40), (0, 0, 250))
    image.paste((250, 0, 0), (0, 0, 30, 20))
    return image


def test_orientation_and_time_from_exif(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6  # the camera was turned: the stored top is the right side
    exif.get_ifd(0x8769)[0x9003] = "2026:03:04 15:06:07"
    exif.get_ifd(0x8769)[0xA405] = 26
    path = tmp_path / "turned.jpg"
    corner_picture().save(path, exif=exif, quality=95, subsampling=0)
    found = picture.load(path)
    assert found.bgr.shape == (60, 40, 3)
    assert found.bgr[5, 35, 2] > 200, "red lies top right now"
    assert found.bgr[5, 5, 0] > 200
    assert found.taken_at == datetime(2026, 3, 4, 15, 6, 7)
    assert found.focal_35mm == 26


def test_what_the_camera_says_of_itself(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x010F], exif[0x0110] = "Quillback\0", " Q7\tPro "
    shot = exif.get_ifd(0x8769)
    shot[0x920A], shot[0xA404], shot[0xA405] = 5.1, 2.0, 52
    shot[0xA002], shot[0xA003] = 4000, 3000
    path = tmp_path / "told.jpg"
    corner_picture().save(path, exif=exif)
    found = picture.load(path)
    assert (found.make, found.model) == ("Quillback", "Q7 Pro")
    assert (found.focal_mm, found.focal_35mm, found.zoom) == (5.1, 52, 2.0)
    assert found.said_px == (4000, 3000)
    assert found.orientation is None


@pytest.mark.parametrize(("tag", "value", "name", "expected"), [
    (0xA404, 0.0, "zoom", 1.0),  # EXIF: 0 when there was none
    (0x920A, 0.0, "focal_mm", None),
    (0xA405, 0, "focal_35mm", None),
    (0xA002, 0, "said_px", None),
])  # fmt: skip
def test_exif_writes_0_for_unknown(
    tmp_path: Path, tag: int, value: float, name: str, expected: float | None
) -> None:
    exif = Image.Exif()
    exif.get_ifd(0x8769)[tag] = value
    path = tmp_path / "unknown.jpg"
    corner_picture().save(path, exif=exif)
    assert getattr(picture.load(path), name) == expected


@pytest.mark.parametrize("suffix", ["jpg", "png", "heic"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_orientation_is_turned_upright_and_told(
    tmp_path: Path, suffix: str, orientation: int
) -> None:
    """HEIC's decoder turns the picture by itself; how it lay is told all the same."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    path = tmp_path / f"turned.{suffix}"
    pillow_heif.register_heif_opener()
    corner_picture().save(path, exif=exif.tobytes(), quality=95)
    found = picture.load(path)
    assert found.orientation == orientation
    assert found.stored_px == (60, 40)
    assert found.size_px == ((60, 40) if orientation < 5 else (40, 60))
    back = turned_back(np.array([(5.0, 5.0)]), found.size_px, orientation)[0]
    x, y = back.astype(int)
    red = x < 30 and y < 20
    assert (found.bgr[5, 5, 2] > 150) == red


def test_png_grey_and_transparent(tmp_path: Path) -> None:
    for mode in ("L", "RGBA", "P", "1"):
        path = tmp_path / f"{mode}.png"
        corner_picture().convert(mode).save(path)
        found = picture.load(path)
        assert found.bgr.shape == (40, 60, 3)
        assert found.bgr.dtype == np.uint8
        assert found.taken_at is None


def test_heic_measures_like_the_same_picture_as_jpeg(tmp_path: Path) -> None:
    path = written(SMALL, tmp_path)
    heic = tmp_path / "photo.heic"
    pillow_heif.from_pillow(Image.open(path)).save(heic, quality=92)
    one = measure(path, Conditions(print_scale=(1.0, 1.0)))
    other = measure(heic, Conditions(print_scale=(1.0, 1.0)))
    assert one.gap_max is not None
    assert other.gap_max is not None, other.reason
    assert abs(one.gap_max.value - other.gap_max.value) < 0.02


def tiff(*entries: tuple[int, int, int, bytes]) -> bytes:
    """An EXIF block of (tag, type, count, four bytes of value), little endian; TIFF 6.0, 2."""
    packed = b"".join(struct.pack("<HHI4s", *entry) for entry in entries)
    return b"Exif\0\0II*\0\x08\0\0\0" + struct.pack("<H", len(entries)) + packed + b"\0\0\0\0"


TURNED = (0x0112, 3, 1, b"\x06\0\0\0")


@pytest.mark.parametrize("suffix", ["jpg", "png"])
@pytest.mark.parametrize(
    ("exif", "shape"),
    [
        (tiff((0x0100, 2, 4, b"six\0"), TURNED), (60, 40, 3)),  # a width in letters
        (tiff(TURNED, (0x011A, 9, 1, b"\xff\xff\xff\xff")), (60, 40, 3)),  # a negative resolution
        (tiff((0x0112, 2, 4, b"six\0")), (40, 60, 3)),
        (tiff((0x0112, 7, 4, b"\x06\0\0\0")), (40, 60, 3)),
        (tiff((0x0112, 5, 1, b"\xff\0\0\0")), (40, 60, 3)),  # a fraction that lies nowhere
        (tiff((0x0112, 3, 1, b"\xff\0\0\0")), (40, 60, 3)),
        (tiff(TURNED, (0x8769, 2, 4, b"six\0")), (60, 40, 3)),  # a pointer in letters
        (b"Exif\0\0II*\0\xff\0\0\0", (40, 60, 3)),
    ],
)
def test_exif_entries_without_meaning_do_not_cost_the_picture(
    tmp_path: Path, suffix: str, exif: bytes, shape: tuple[int, int, int]
) -> None:
    path = tmp_path / f"odd.{suffix}"
    corner_picture().save(path, exif=exif)
    assert picture.load(path).bgr.shape == shape
