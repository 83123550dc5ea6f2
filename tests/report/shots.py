"""Photos of splices for sample jobs: the demo's rendered ones, really measured, each one distinct.

Every photo gets noise of its own, so that pictures take the room in a report that a camera's
would, and no two of them are the same bytes.
"""

from __future__ import annotations

import functools
import io
import tempfile
import zlib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image, ImageFilter

from recorder.model.job import PhotoNote
from recorder.model.measurement import Limit, SeamMeasurement
from recorder.photo.image.conditions import Conditions
from recorder.photo.measure import measure
from recorder.resources import shipped
from recorder.settings import HOUSE_LIMITS

OPEN, MESHED, GOOD = "photo_1_rejected.jpg", "photo_2_before.jpg", "photo_3_accepted.jpg"
WIDTH = Limit(name="splice_width", low=69.3, high=70.7, source="job card")
LIMITS = (*HOUSE_LIMITS, WIDTH)
NO_CARD = (
    "no reference card found; lay the card flat on the belt beside the splice, all of it in the "
    "photo, and take it again"
)
_NOISE = 4.0  # levels of 255, about that of a telephone's camera indoors
_TILE = 512


@dataclass(frozen=True)
class Shot:
    """One photo. of: which of the demo's photos it shows. limits: in force; None for a photo that
    was refused, which then is out of focus."""

    name: str
    of: str
    stage: str
    caption: str = ""
    splice: int = 1
    run: int = 1
    limits: tuple[Limit, ...] | None = LIMITS

    def note(self) -> PhotoNote:
        return PhotoNote(
            file=self.name, caption=self.caption, stage=self.stage, splice=self.splice, run=self.run
        )

    def take(self, folder: Path, megapixels: float) -> tuple[Path, SeamMeasurement]:
        """Write the photo, its overlay and its plot; the path of the photo, and its measurement."""
        photo = folder / "media" / self.name
        with Image.open(shipped("demo_media") / "job" / self.of) as image:
            side = (megapixels * 1e6 / (image.width * image.height)) ** 0.5
            size = (round(image.width * side), round(image.height * side))
            picture = image.convert("RGB").resize(size, Image.Resampling.LANCZOS)
        if self.limits is None:
            picture = picture.filter(ImageFilter.GaussianBlur(size[0] / 60))
        _write(photo, _jpeg(picture, self.name))
        if self.limits is None:
            return photo, SeamMeasurement(
                file=self.name, status="refused", reason=NO_CARD, limits=LIMITS
            )
        seam, overlay, plot = _measured(self.of, self.limits)
        stem = f"derived/{photo.stem}"
        shown = {"overlay": f"{stem}_measured.jpg", "plot": f"{stem}_gap.png"}
        with Image.open(io.BytesIO(overlay)) as image:
            _write(folder / shown["overlay"], _jpeg(image.convert("RGB"), shown["overlay"]))
        with Image.open(io.BytesIO(plot)) as image:
            marked = image.convert("RGB")
            marked.putpixel((0, 0), tuple(zlib.crc32(self.name.encode()).to_bytes(4, "big")[:3]))
            out = io.BytesIO()
            marked.save(out, "PNG")
            _write(folder / shown["plot"], out.getvalue())
        return photo, seam.model_copy(update={"file": self.name, **shown})


@functools.cache
def _measured(of: str, limits: tuple[Limit, ...]) -> tuple[SeamMeasurement, bytes, bytes]:
    """A photo of the demo measured as ``seamnote process`` does it; overlay and plot."""
    conditions = Conditions(card_on="belt", print_scale=(1.0012, 0.999), limits=limits)
    with tempfile.TemporaryDirectory() as place:
        overlay, plot = Path(place) / "overlay.jpg", Path(place) / "gap.png"
        seam = measure(shipped("demo_media") / "job" / of, conditions, overlay, plot=plot)
        return seam, overlay.read_bytes(), plot.read_bytes()


def _jpeg(picture: Image.Image, seed: str) -> bytes:
    """The picture with noise that is another one for each seed."""
    dice = np.random.default_rng(zlib.crc32(seed.encode()))
    noise = dice.normal(0.0, _NOISE, (_TILE, _TILE, 3)).astype(np.int16)
    repeats = (-(-picture.height // _TILE), -(-picture.width // _TILE), 1)
    over = np.tile(noise, repeats)[: picture.height, : picture.width]
    noisy = np.clip(np.asarray(picture, np.int16) + over, 0, 255).astype(np.uint8)
    out = io.BytesIO()
    Image.fromarray(noisy).save(out, "JPEG", quality=90)
    return out.getvalue()


def _write(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
