"""What a drawn signature becomes, and which pictures are none."""

import io
import struct
import zlib

import pytest
from PIL import Image, ImageDraw

from recorder.errors import NotADrawing
from recorder.report.signing import drawing
from recorder.report.signing.drawing import normalised
from tests.report.signing.drawings import as_bytes, scribble


def opened(png: bytes) -> Image.Image:
    return Image.open(io.BytesIO(png))


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "WEBP"])
def test_a_scribble_becomes_grey_lines_on_white(kind: str) -> None:
    made = opened(normalised(as_bytes(scribble(), kind)))
    assert made.format == "PNG"
    assert made.mode == "L"
    corners = [made.getpixel(at) for at in ((0, 0), (made.width - 1, made.height - 1))]
    assert corners == [255, 255]
    assert made.getextrema()[0] < 40
    assert 0.9 < made.width / (900 * 22 / 24) < 1.1, "cut to its lines"


def test_lines_on_nothing_are_lines_on_white() -> None:
    ink = scribble()
    layered = Image.merge(
        "RGBA", (*[Image.new("L", ink.size, 20)] * 3, ink.point(lambda v: 255 - v))
    )
    made = opened(normalised(as_bytes(layered)))
    assert made.mode == "L"
    assert made.getextrema() == (20, 255)


def test_paper_in_a_photo_becomes_white() -> None:
    made = opened(normalised(as_bytes(scribble(ground=190, ink=40), "JPEG", quality=95)))
    assert made.getpixel((0, 0)) == 255
    assert made.histogram()[255] > made.width * made.height / 2


def test_nothing_but_pixels_survives() -> None:
    exif = Image.Exif()
    exif[0x010F], exif[0x0131] = "Phone of Somebody", "Sketcher 9"
    upright = normalised(as_bytes(scribble(), "JPEG", exif=exif, comment=b"at home"))
    made = opened(upright)
    assert made.info == {}
    assert b"Somebody" not in upright
    assert [name for name in (b"tEXt", b"iTXt", b"eXIf", b"iCCP", b"gAMA") if name in upright] == []


def test_a_picture_taken_on_its_side_is_turned_upright() -> None:
    exif = Image.Exif()
    exif[0x0112] = 6  # turn by 90 degrees to see it upright
    lying = as_bytes(scribble().rotate(90, expand=True), "JPEG", exif=exif, quality=95)
    made = opened(normalised(lying))
    assert made.width > made.height


def test_a_large_drawing_is_made_small() -> None:
    made = opened(normalised(as_bytes(scribble((5000, 2000)))))
    assert made.width <= drawing.LARGEST_SIDES[0]
    assert made.height <= drawing.LARGEST_SIDES[1]
    assert made.width > 600


def test_a_short_thin_stroke_is_a_drawing() -> None:
    picture = Image.new("L", (1200, 400), 255)
    ImageDraw.Draw(picture).line([(500, 200), (560, 210)], fill=0, width=3)
    assert opened(normalised(as_bytes(picture))).width > 60


def specks() -> Image.Image:
    picture = Image.new("L", (1200, 400), 255)
    for x in range(0, 1200, 100):
        picture.putpixel((x, 200), 0)
    return picture


BLANK = {
    "white": Image.new("L", (600, 200), 255),
    "black": Image.new("L", (600, 200), 0),
    "transparent": Image.new("RGBA", (600, 200), (0, 0, 0, 0)),
    "white lines on nothing": Image.merge(
        "LA", (Image.new("L", (900, 240), 255), scribble().point(lambda v: 255 - v))
    ),
    "light lines on black": scribble(ground=0, ink=255),
    "hardly to be seen": scribble(ground=255, ink=230),
    "specks": specks(),
}


@pytest.mark.parametrize("picture", BLANK.values(), ids=BLANK.keys())
def test_a_blank_picture_is_no_signature(picture: Image.Image) -> None:
    with pytest.raises(NotADrawing, match="it is blank"):
        normalised(as_bytes(picture))


@pytest.mark.parametrize("share", [0.4, 0.7])
def test_a_filled_area_is_no_signature(share: float) -> None:
    picture = Image.new("L", (600, 200), 255)
    ImageDraw.Draw(picture).rectangle((0, 0, int(600 * share), 200), fill=0)
    with pytest.raises(NotADrawing, match="filled area" if share < 0.5 else "blank"):
        normalised(as_bytes(picture))


WHOLE = as_bytes(scribble())
REFUSED = {
    "nothing": b"",
    "text": b"signed, me",
    "svg": b'<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0L9 9"/></svg>',
    "half a png": WHOLE[: len(WHOLE) // 2],
    "half a jpg": as_bytes(scribble(), "JPEG")[:2000],
    "gif": as_bytes(scribble(), "GIF"),
    "tiff": as_bytes(scribble(), "TIFF"),
    "pdf": as_bytes(scribble(), "PDF"),
}


@pytest.mark.parametrize("content", REFUSED.values(), ids=REFUSED.keys())
def test_what_is_no_whole_picture_is_refused(content: bytes) -> None:
    with pytest.raises(NotADrawing, match="not a whole png, jpg or webp"):
        normalised(content)


@pytest.mark.parametrize("side", [6_000, 30_000])
def test_a_bomb_is_refused_before_it_is_unpacked(side: int) -> None:
    header = struct.pack(">4sIIBBBBB", b"IHDR", side, side, 8, 0, 0, 0, 0)
    bomb = WHOLE[:12] + header + struct.pack(">I", zlib.crc32(header)) + WHOLE[33:]
    with pytest.raises(NotADrawing, match="million pixels"):
        normalised(bomb)


def test_a_huge_file_is_refused() -> None:
    with pytest.raises(NotADrawing, match="more than 10 MB"):
        normalised(WHOLE + bytes(drawing.LARGEST_BYTES))
