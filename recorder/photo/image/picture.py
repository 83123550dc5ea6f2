"""Pictures from files: the wrapper around Pillow and pillow-heif."""

from __future__ import annotations

import contextlib
import io
import struct
import warnings
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import ExifTags, Image, ImageOps, UnidentifiedImageError

from recorder.errors import FileEmpty, FileMissing, FileTooLarge, InputRefused, NotAPicture

PICTURE_SUFFIXES = frozenset({".jpg", ".jpeg", ".png", ".heic", ".heif"})
MAX_PIXELS = 64_000_000
_EXIF_TIME = "%Y:%m:%d %H:%M:%S"


@dataclass(frozen=True)
class Picture:
    """bgr: (h, w, 3) sRGB-coded, upright. The rest is by EXIF, as far as the file says.

    taken_at: local time by the camera's clock. make, model: of the camera. focal_mm: focal length;
    focal_35mm: the same for a 36 mm wide frame. zoom: digital zoom, 1 without.
    orientation: 1 to 8, how the stored picture was turned upright; None where the file does not
    say. said_px: width and height that the camera wrote down, which a program that crops or
    shrinks may have left as they were.
    """

    bgr: NDArray[np.uint8]
    taken_at: datetime | None = None
    make: str = ""
    model: str = ""
    focal_mm: float | None = None
    focal_35mm: float | None = None
    zoom: float = 1.0
    orientation: int | None = None
    said_px: tuple[int, int] | None = None

    @property
    def size_px(self) -> tuple[int, int]:
        """Width and height, upright."""
        return self.bgr.shape[1], self.bgr.shape[0]

    @property
    def stored_px(self) -> tuple[int, int]:
        """Width and height before it was turned upright."""
        width, height = self.size_px
        return (height, width) if (self.orientation or 1) >= 5 else (width, height)


def load(path: Path, max_pixels: int = MAX_PIXELS) -> Picture:
    """A jpg, png or heic file as it is meant to be seen (EXIF orientation applied).

    The number of pixels is checked before anything is decoded. Raises FileMissing, FileEmpty,
    FileTooLarge, NotAPicture, and InputRefused for a folder.
    """
    with _opened(path, max_pixels) as image:
        exif, details = _exif(image)
        orientation = _orientation(image, exif)
        _turn_upright(image)
        upright = image.convert("RGB")
    bgr = np.ascontiguousarray(np.asarray(upright)[:, :, ::-1])
    taken = details.get(ExifTags.Base.DateTimeOriginal) or exif.get(ExifTags.Base.DateTime)
    return Picture(
        bgr=bgr,
        taken_at=_time(taken),
        make=_words(exif.get(ExifTags.Base.Make)),
        model=_words(exif.get(ExifTags.Base.Model)),
        focal_mm=_number(details.get(ExifTags.Base.FocalLength), 0.5, 2000),
        focal_35mm=_number(details.get(ExifTags.Base.FocalLengthIn35mmFilm), 8, 400),
        zoom=_number(details.get(ExifTags.Base.DigitalZoomRatio), 1, 1000) or 1.0,
        orientation=orientation,
        said_px=_said_px(details),
    )


def size_of(path: Path, max_pixels: int = MAX_PIXELS) -> tuple[int, int]:
    """Width and height as they are stored, by the header of a picture. Raises as ``load``."""
    with _opened(path, max_pixels) as image:
        return image.size


def frame(jpeg: bytes, max_pixels: int) -> NDArray[np.uint8]:
    """(h, w, 3) of a camera's frame, sRGB-coded as OpenCV has it. Raises as ``load``."""
    with _opened(io.BytesIO(jpeg), max_pixels) as image:
        return np.ascontiguousarray(np.asarray(image.convert("RGB"))[:, :, ::-1])


@contextlib.contextmanager
def _opened(source: Path | io.BytesIO, max_pixels: int) -> Iterator[Image.Image]:
    """A picture whose header was read, and what goes wrong with it in here in our words."""
    path = source if isinstance(source, Path) else Path("frame")
    if isinstance(source, Path):
        _need_file(source)
    _read_heic()
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of too many pixels, and of odd EXIF entries
            with Image.open(source) as image:
                if image.format not in ("JPEG", "MPO", "PNG", "HEIF"):
                    raise NotAPicture(path=path, detail=f"its format is {image.format}")
                width, height = image.size
                if width * height > max_pixels:
                    raise FileTooLarge(
                        path=path,
                        size=f"{width} x {height} pixels",
                        limit=f"{max_pixels / 1e6:.0f} megapixels",
                    )
                yield image
    except Image.DecompressionBombError as error:
        limit = f"{max_pixels / 1e6:.0f} megapixels"
        raise FileTooLarge(path=path, size="far too many pixels", limit=limit) from error
    except UnidentifiedImageError as error:
        raise NotAPicture(path=path, detail="its content is no known picture format") from error
    except (OSError, ValueError, SyntaxError, EOFError, RuntimeError, MemoryError) as error:
        raise NotAPicture(path=path, detail=str(error) or type(error).__name__) from error


def _need_file(path: Path) -> None:
    if path.is_dir():
        raise InputRefused(path=path, detail="it is a folder and not a picture")
    if not path.is_file():
        raise FileMissing(path=path)
    if path.stat().st_size == 0:
        raise FileEmpty(path=path)


_UNREADABLE_EXIF = (struct.error, TypeError, KeyError, ValueError, OSError, SyntaxError)


def _exif(image: Image.Image) -> tuple[Mapping[int, object], Mapping[int, object]]:
    """The entries about the picture and those about the shot; empty where they make no sense."""
    try:
        exif = image.getexif()
        return exif, exif.get_ifd(ExifTags.IFD.Exif)
    except _UNREADABLE_EXIF:
        return {}, {}


def _turn_upright(image: Image.Image) -> None:
    """As EXIF says, or as stored where its entry has no meaning."""
    image.load()  # so that a damaged picture is told from a damaged EXIF entry
    with contextlib.suppress(*_UNREADABLE_EXIF):
        # In place, because Pillow turns first and then fails on writing the other entries back.
        ImageOps.exif_transpose(image, in_place=True)


def _read_heic() -> None:
    import pillow_heif

    pillow_heif.register_heif_opener()


def _time(text: object) -> datetime | None:
    try:
        return datetime.strptime(str(text).strip("\0 "), _EXIF_TIME)
    except ValueError:
        return None


def _number(value: object, low: float, high: float) -> float | None:
    """A number within what makes sense; None for 0 (which EXIF writes for "unknown") and others."""
    try:
        number = float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    return round(number, 4) if low <= number <= high else None


def _words(value: object) -> str:
    text = value if isinstance(value, str) else ""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())[:80]


def _said_px(details: Mapping[int, object]) -> tuple[int, int] | None:
    sides = (ExifTags.Base.ExifImageWidth, ExifTags.Base.ExifImageHeight)
    width, height = (_number(details.get(side), 1, 100_000) for side in sides)
    return (int(width), int(height)) if width and height else None


def _orientation(image: Image.Image, exif: Mapping[int, object]) -> int | None:
    """The decoder of HEIC turns a picture by itself and leaves a note of it."""
    said = image.info.get("original_orientation") or exif.get(ExifTags.Base.Orientation)
    return said if isinstance(said, int) and 1 <= said <= 8 else None
