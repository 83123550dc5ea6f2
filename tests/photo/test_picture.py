"""Pictures come upright, in the right colours, with the camera's time."""

import struct
from datetime import datetime
from pathlib import Path

import numpy as np
import pillow_heif
import pytest
from PIL import Image

from recorder.photo import picture
from recorder.photo.conditions import Conditions
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
