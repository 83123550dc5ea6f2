"""A signature drawn by hand on a device, made fit for a document: grey lines on white, no more.

What comes out is pixels alone: no EXIF, no place, no comment, no colour profile of the device.
"""

from __future__ import annotations

import io
import warnings

from PIL import Image, ImageOps

from recorder.errors import NotADrawing

LARGEST_BYTES = 10_000_000
LARGEST_PIXELS = 30_000_000
# 300 dots an inch over a field of 100 mm by 34 mm; finer than a finger draws.
LARGEST_SIDES = (1200, 400)
INK = 64  # grey levels of 256 by which a line is darker than the ground, at least
FAINTEST = 1 / 5_000  # of the pixels are ink in the smallest drawing: a thin short stroke
DARKEST = 1 / 3  # and in the largest: above it is a photo of something, or a filled area
_FORMATS = ("PNG", "JPEG", "WEBP")
_WHITE, _MARGIN = 255, 8  # the margin in pixels
_ROUGH = (2400, 2400)  # to which a huge picture is reduced before it is looked at


def normalised(content: bytes) -> bytes:
    """The drawing as a grey PNG on white, upright, cut to its lines, at most ``LARGEST_SIDES``.

    Raises NotADrawing for what is no PNG, JPEG or WebP, is too large, or shows no dark line on a
    light ground.
    """
    if len(content) > LARGEST_BYTES:
        raise _refused(f"it has more than {LARGEST_BYTES // 1_000_000} MB")
    grey = _grey(content)
    ground = _ground(grey)
    ink = grey.point([_WHITE if level < ground - INK else 0 for level in range(256)])
    share = ink.histogram()[_WHITE] / (grey.width * grey.height)
    box = ink.getbbox()
    if box is None or share < FAINTEST:
        raise _refused("it is blank")
    if share > DARKEST:
        raise _refused("it is no line but a filled area")
    # The paper becomes white, and the soft edges of the lines stay soft.
    white = grey.point([min(level * _WHITE // ground, _WHITE) for level in range(256)])
    drawn = ImageOps.expand(white.crop(box), _MARGIN, _WHITE)
    drawn.thumbnail(LARGEST_SIDES, Image.Resampling.LANCZOS)
    plain = Image.frombytes("L", drawn.size, drawn.tobytes())
    file = io.BytesIO()
    plain.save(file, "PNG", optimize=True)
    return file.getvalue()


def _grey(content: bytes) -> Image.Image:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(content), formats=_FORMATS) as opened:
                if opened.width * opened.height > LARGEST_PIXELS:
                    raise Image.DecompressionBombError
                layered = ImageOps.exif_transpose(opened).convert("RGBA")
                layered.thumbnail(_ROUGH, Image.Resampling.BOX, reducing_gap=None)
    except Image.DecompressionBombError as error:
        raise _refused(f"it has more than {LARGEST_PIXELS // 1_000_000} million pixels") from error
    except Exception as error:  # decoders raise whatever a damaged file provokes
        raise _refused("it is not a whole png, jpg or webp picture") from error
    paper = Image.new("RGBA", layered.size, (_WHITE,) * 4)
    return Image.alpha_composite(paper, layered).convert("L")


def _ground(grey: Image.Image) -> int:
    """The level of the paper: of a drawing most of the picture has it or a lighter one."""
    left = grey.width * grey.height / 2
    for level, count in enumerate(grey.histogram()):
        left -= count
        if left <= 0:
            return level
    return _WHITE


def _refused(detail: str) -> NotADrawing:
    return NotADrawing(path="the drawing", detail=detail)
