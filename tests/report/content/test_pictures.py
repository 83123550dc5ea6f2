"""Pictures of the record as they go onto the page."""

import io
import struct
import subprocess
import sys
from pathlib import Path

import pillow_heif
import pytest
from PIL import Image

from recorder.report.content.pictures import for_print

LARGEST_MM = (86.0, 86.0)

# A process in which nothing else has taught Pillow the format.
FRESH = """
import sys
from pathlib import Path
from recorder.report.content.pictures import for_print
sys.stdout.buffer.write(for_print(Path(sys.argv[1]), (86.0, 86.0)))
"""


def picture() -> Image.Image:
    return Image.new("RGB", (60, 40), (0, 0, 250))


def size_of(jpeg: bytes) -> tuple[int, int]:
    with Image.open(io.BytesIO(jpeg)) as image:
        assert image.format == "JPEG"
        return image.size


def test_a_heic_photo_is_shown_in_a_fresh_process(tmp_path: Path) -> None:
    path = tmp_path / "photo.heic"
    pillow_heif.from_pillow(picture()).save(path, quality=90)
    done = subprocess.run(
        [sys.executable, "-c", FRESH, str(path)], capture_output=True, check=False
    )
    assert done.returncode == 0, done.stderr.decode()
    assert size_of(done.stdout) == (60, 40)


def test_an_odd_exif_entry_does_not_cost_the_picture(tmp_path: Path) -> None:
    """A width in letters beside an orientation: Pillow turns, and fails on writing it back."""
    path = tmp_path / "odd.jpg"
    entries = struct.pack("<HHI4s", 0x0100, 2, 4, b"six\0")
    entries += struct.pack("<HHI4s", 0x0112, 3, 1, b"\x06\0\0\0")
    head = b"Exif\0\0II*\0\x08\0\0\0\x02\0"
    picture().save(path, exif=head + entries + b"\0\0\0\0")
    assert size_of(for_print(path, LARGEST_MM)) == (40, 60)


def test_nothing_that_the_camera_wrote_beside_the_pixels_comes_along(tmp_path: Path) -> None:
    path = tmp_path / "there.jpg"
    exif = Image.Exif()
    exif[0x0110] = "Quillback Q7"
    exif.get_ifd(0x8825)[2] = (52.0, 30.0, 0.0)
    picture().save(path, exif=exif, comment=b"behind the oven")
    shown = for_print(path, LARGEST_MM)
    for secret in (b"Exif", b"Quillback", b"behind"):
        assert secret in path.read_bytes()
        assert secret not in shown


@pytest.mark.parametrize(
    ("content", "reason"),
    [(None, "missing"), (b"no picture at all", "format"), ("cut", "damaged")],
)
def test_why_a_picture_is_not_shown(
    tmp_path: Path, content: bytes | str | None, reason: str
) -> None:
    path = tmp_path / "photo.jpg"
    if content == "cut":
        Image.effect_noise((200, 200), 80).save(path)
        path.write_bytes(path.read_bytes()[:4000])
    elif isinstance(content, bytes):
        path.write_bytes(content)
    with pytest.raises(ValueError, match=reason):
        for_print(path, LARGEST_MM)
