"""Pictures for the page: upright, small enough for print, under addresses of our own."""

from __future__ import annotations

import contextlib
import hashlib
import io
import struct
import warnings
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pillow_heif
from PIL import Image, ImageOps, UnidentifiedImageError

from recorder.report.wording.wording import noted

MOST_PIXELS = 64_000_000
PRINT_DPI = 200
JPEG_QUALITY = 82
SCHEME = "seamnote:"
_CORES = 2

Media = Callable[[str], Path] | Path


# A picture by its path in the record, and the width and height that the page has for it, in mm.
Wanted = tuple[str, tuple[float, float]]


class PictureTray:
    """Collects the pictures of one report. ``files``: JPEG bytes by address."""

    def __init__(self, media: Media) -> None:
        self._media = media
        self._made: dict[Wanted, bytes | ValueError] = {}
        self.files: dict[str, bytes] = {}

    def prepare(self, wanted: Iterable[Wanted]) -> None:
        """Make pictures that ``add`` will be asked for, side by side on the cores there are."""
        todo = [each for each in dict.fromkeys(wanted) if each not in self._made]
        if not todo:
            return
        with warnings.catch_warnings(), ThreadPoolExecutor(_CORES) as pool:
            warnings.simplefilter("ignore")  # of too many pixels, and of odd EXIF entries
            self._made.update(zip(todo, pool.map(self._make, todo), strict=True))

    def add(self, relative: str, largest_mm: tuple[float, float]) -> str:
        """The address of a picture of the record; ValueError, in words, if it cannot be shown."""
        self.prepare([(relative, largest_mm)])
        made = self._made[relative, largest_mm]
        if isinstance(made, ValueError):
            raise made
        digest = hashlib.sha256(made).hexdigest()[:16]
        address = f"{SCHEME}picture/{digest}.jpg"
        self.files[address] = made
        return address

    def _make(self, wanted: Wanted) -> bytes | ValueError:
        relative, largest_mm = wanted
        try:
            return for_print(self._resolve(relative), largest_mm)
        except ValueError as error:
            return error

    def _resolve(self, relative: str) -> Path:
        if not isinstance(self._media, Path):
            return self._media(relative)
        folder = self._media.resolve()
        path = (folder / relative).resolve()
        if not path.is_relative_to(folder):
            raise ValueError(noted("it lies outside of the record"))
        return path


def for_print(path: Path, largest_mm: tuple[float, float]) -> bytes:
    """A picture file as JPEG at print resolution. Raises ValueError with the reason in words."""
    box = (round(largest_mm[0] / 25.4 * PRINT_DPI), round(largest_mm[1] / 25.4 * PRINT_DPI))
    pillow_heif.register_heif_opener()
    try:
        with Image.open(path) as image:
            if image.width * image.height > MOST_PIXELS:
                raise ValueError(noted("it has too many pixels"))
            image.draft("RGB", box)
            _turn_upright(image)
            upright = image.convert("RGB")
    except FileNotFoundError as error:
        raise ValueError(noted("it is missing from the record")) from error
    except UnidentifiedImageError as error:
        raise ValueError(noted("its format cannot be shown here")) from error
    except (OSError, SyntaxError, Image.DecompressionBombError) as error:
        raise ValueError(noted("its file is damaged")) from error
    upright.thumbnail(box, Image.Resampling.BICUBIC, reducing_gap=1.5)
    upright.info.clear()  # a comment of the camera's would be written beside the pixels
    out = io.BytesIO()
    upright.save(out, "JPEG", quality=JPEG_QUALITY, subsampling=0)
    return out.getvalue()


def _turn_upright(image: Image.Image) -> None:
    """As EXIF says, or as stored where its entry has no meaning."""
    image.load()  # so that a damaged picture is told from a damaged EXIF entry
    with contextlib.suppress(struct.error, TypeError, KeyError, ValueError, OSError, SyntaxError):
        # In place, because Pillow turns first and then fails on writing the other entries back.
        ImageOps.exif_transpose(image, in_place=True)
