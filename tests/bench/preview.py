"""How well the hint on a frame of the camera foretells whether the photo can be measured.

    python -m tests.bench.preview --set development --scenes FOLDER

Each drawn photo is also spoilt in the ways in which a hand spoils one, at full size; then the photo
is measured, and a small frame of it gets its hint. A frame that is 'ready' should lead to a
measurement and one that is not to a refusal; how often each is so is printed, with the time.
Tune on the development set alone.
"""

from __future__ import annotations

import argparse
import io
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from recorder.photo.image import picture
from recorder.photo.image.conditions import Conditions
from recorder.photo.measure import measure
from recorder.photo.preview import LONGEST_PX, preview
from tests.bench.seams.sampler import SEEDS, scene
from tests.bench.seams.shelf import put

Pixels = NDArray[np.uint8]

FRAME_QUALITY = 80


def _moved(photo: Pixels) -> Pixels:
    """Along a line as long as a hundredth of the picture."""
    length = max(photo.shape) // 100
    kernel = np.zeros((length, length), np.float32)
    np.fill_diagonal(kernel, 1 / length)
    return np.asarray(cv2.filter2D(photo, -1, kernel), np.uint8)


def _unfocused(photo: Pixels) -> Pixels:
    return np.asarray(cv2.GaussianBlur(photo, (0, 0), max(photo.shape) / 450), np.uint8)


def _away(photo: Pixels) -> Pixels:
    """As seen from so far that the card fills a third of the picture."""
    small = cv2.resize(photo, None, fx=1 / 3, fy=1 / 3, interpolation=cv2.INTER_AREA)
    ground = np.full_like(photo, 70)
    top, left = ((a - b) // 2 for a, b in zip(photo.shape[:2], small.shape[:2], strict=True))
    ground[top : top + small.shape[0], left : left + small.shape[1]] = small
    return ground


def _cut(photo: Pixels) -> Pixels:
    """The card runs out of the picture at one side."""
    return np.ascontiguousarray(photo[: photo.shape[0] * 3 // 5])


def _oblique(photo: Pixels) -> Pixels:
    """Foreshortened by perspective, about 55° off square."""
    height, width = photo.shape[:2]
    before = np.array([(0, 0), (width, 0), (width, height), (0, height)], np.float32)
    after = np.array([
        (0.34 * width, 0.36 * height), (0.66 * width, 0.36 * height),
        (width, 0.72 * height), (0, 0.72 * height),
    ], np.float32)  # fmt: skip
    warp = cv2.getPerspectiveTransform(before, after)
    return np.asarray(cv2.warpPerspective(photo, warp, (width, height)), np.uint8)


def _veiled(photo: Pixels) -> Pixels:
    """Haze on the lens."""
    return np.asarray(cv2.addWeighted(photo, 0.55, np.full_like(photo, 235), 0.45, 0), np.uint8)


SPOILT: dict[str, Callable[[Pixels], Pixels]] = {
    "as it is": lambda photo: photo, "moved": _moved, "unfocused": _unfocused, "away": _away,
    "cut": _cut, "oblique": _oblique, "veiled": _veiled,
}  # fmt: skip


@dataclass(frozen=True)
class Case:
    """what: how it was spoilt. cpu_s: of the hint."""

    name: str
    what: str
    ready: bool
    words: str
    measured: bool
    reason: str
    cpu_s: float


def cases(photo: Path, given: Conditions, folder: Path) -> Iterator[Case]:
    bgr = picture.load(photo).bgr
    for what, spoil in SPOILT.items():
        shot = spoil(bgr)
        path = folder / "shot.png"
        cv2.imwrite(str(path), shot, [cv2.IMWRITE_PNG_COMPRESSION, 1])
        full = measure(path, given, name=photo.name)
        frame = frame_of(shot)
        began = time.process_time()
        hint = preview(frame, max(shot.shape[:2]))
        took = time.process_time() - began
        done = full.status == "measured"
        yield Case(photo.stem, what, hint.ready, hint.words, done, full.reason, took)


def frame_of(photo: Pixels) -> bytes:
    """As a page sends it: no longer than ``LONGEST_PX``, in JPEG."""
    image = Image.fromarray(np.ascontiguousarray(photo[:, :, ::-1]))
    image.thumbnail((LONGEST_PX, LONGEST_PX), Image.Resampling.BILINEAR)
    file = io.BytesIO()
    image.save(file, "JPEG", quality=FRAME_QUALITY)
    return file.getvalue()


def report(found: list[Case]) -> Iterator[str]:
    yield f"{'':12}{'ready':>8}{'measured':>10}{'not ready':>12}{'refused':>10}"
    for what in [*SPOILT, "all"]:
        of = [each for each in found if what in (each.what, "all")]
        ready, held = [e for e in of if e.ready], [e for e in of if not e.ready]
        right = sum(e.measured for e in ready), sum(not e.measured for e in held)
        told = f"{len(ready):8}{_share(right[0], ready)}{len(held):12}{_share(right[1], held)}"
        yield f"{what:12}{told}"
    times = np.array([each.cpu_s for each in found]) * 1000
    yield f"a hint takes {np.median(times):.0f} ms, 95 % at most {np.percentile(times, 95):.0f} ms"
    yield "ready, and yet refused:"
    yield from _reasons(Counter(e.reason for e in found if e.ready and not e.measured))
    yield "not ready, and yet measured:"
    wrong = (f"{e.words} ({e.what})" for e in found if not e.ready and e.measured)
    yield from _reasons(Counter(wrong))


def _share(right: int, of: list[Case]) -> str:
    return f"{100 * right / len(of):9.0f}%" if of else f"{'-':>10}"


def _reasons(counted: Counter[str]) -> Iterator[str]:
    yield from (f"  {number:4} {text}" for text, number in counted.most_common())


def main() -> int:
    parser = argparse.ArgumentParser(
        prog="python -m tests.bench.preview",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--set", choices=sorted(SEEDS), default="development")
    parser.add_argument("--count", type=int, default=30, help="scenes (default: %(default)s)")
    parser.add_argument("--scenes", type=Path, help="folder that keeps pictures")
    asked = parser.parse_args()
    found: list[Case] = []
    cv2.setNumThreads(1)
    with tempfile.TemporaryDirectory() as passing:
        folder = asked.scenes or Path(passing)
        folder.mkdir(parents=True, exist_ok=True)
        for number in range(asked.count):
            drawn = scene(asked.set, number)
            given = put(drawn, folder)["conditions"]
            conditions = Conditions(
                card_on=given["card_on"], belt_thickness_mm=given["belt_thickness_mm"],
                print_scale=given["print_scale"],
            )  # fmt: skip
            found += cases(folder / f"{drawn.name}.jpg", conditions, Path(passing))
            print(f"{number + 1}/{asked.count}", file=sys.stderr, flush=True)
    print("\n".join(report(found)))
    return 0


if __name__ == "__main__":
    sys.exit(main())
