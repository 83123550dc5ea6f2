"""Windows of raw pixels across the flanks of a seam, and how they are seen."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from recorder.photo.edges.blur import Blur
from recorder.photo.edges.response import Response
from recorder.photo.edges.strips import BIN_PX, Frames, Strips, frames_of, read
from recorder.photo.geometry.lines import Line
from recorder.photo.geometry.plane import Plane
from recorder.photo.geometry.windows import Window
from recorder.photo.image.exposure import BURNT_SHARE
from recorder.photo.image.refusal import Refusal
from recorder.photo.seam.flanks import Flank

Array = NDArray[np.float64]

FIRST_NEAR_MM, NEAR_MM = 0.9, 0.5  # of the line through the flank, where the slot lies
_BIN_SIGMAS, _FIRST_BIN_SIGMAS = 0.33, 0.6
_BURNT_WINDOWS = 0.03  # share of all windows in which the belt may be burnt out
_MOST_OFF_BELT = 0.25  # of a window: where the seam runs out of the belt, a sliver is left
_RIM_MM = 0.4  # of the belt beside its edges, where bench and shadow blur into it


@dataclass(frozen=True)
class Face:
    """The belt's face in the photo. grey: codes of the luminance. burnt: pixels at the end of a
    channel. plane: of the face. upper, lower: its edges. blur, response: of the camera.
    plain_blur: sigma over that of ``blur`` when the camera is taken as a plain one.
    """

    grey: NDArray[np.uint8]
    burnt: NDArray[np.bool_]
    plane: Plane
    upper: Line
    lower: Line
    blur: Blur
    response: Response
    plain_blur: float = 1.0


@dataclass(frozen=True)
class Look:
    """Profiles of all windows and how to see them. mm: (n,) millimetres of a pixel across.
    sigma: (n,) blur in pixels. near_px: (n,) how far from the line a slot may lie.
    """

    windows: list[Window]
    flank: NDArray[np.intp]
    strips: Strips
    mm: Array
    sigma: Array
    near_px: Array
    response: Response

    def blurred(self, by: float) -> Look:
        return replace(self, sigma=self.sigma * by)


def off_belt_of(face: Face) -> NDArray[np.bool_]:
    """(h, w) pixels that are not surely belt: outside of it, or beside its edges."""
    height, width = face.grey.shape
    corners = face.plane.to_mm(
        np.array([(0, 0), (width, 0), (width, height), (0, height)], dtype=float)
    )
    x = np.linspace(corners[:, 0].min(), corners[:, 0].max(), 60)
    upper = np.column_stack([x, face.upper.along(x) + _RIM_MM])
    lower = np.column_stack([x, face.lower.along(x) - _RIM_MM])[::-1]
    outline = face.plane.to_px(np.concatenate([upper, lower]))
    off = np.ones((height, width), np.uint8)
    cv2.fillPoly(off, [np.round(outline).astype(np.int32).reshape(-1, 1, 2)], 0)
    return off.view(np.bool_)


def windows_along(
    flanks: list[Flank], half_width: Array, length: float
) -> tuple[list[Window], NDArray[np.intp]]:
    """Windows along the flanks, far enough from their ends that the next flank stays out."""
    windows: list[Window] = []
    index: list[int] = []
    for k, flank in enumerate(flanks):
        margins = [_margin(flank, flanks, k + step, half_width[k]) for step in (-1, 1)]
        begin, end = margins[0] * flank.length, (1 - margins[1]) * flank.length
        count = max(1, round((end - begin) / length))
        step = (end - begin) / count
        for i in range(count):
            centre = flank.begin + flank.along * (begin + (i + 0.5) * step)
            windows.append(Window(centre, flank.along, step / 2, float(half_width[k])))
            index.append(k)
    return windows, np.array(index)


def _margin(flank: Flank, flanks: list[Flank], other: int, half_width: float) -> float:
    """Share of a flank that a neighbour (index) keeps windows out of, at the end that they meet."""
    if not 0 <= other < len(flanks):
        return 0.04
    cosine = abs(float(flank.along @ flanks[other].along))
    between = float(np.sqrt(max(1 - cosine**2, 1e-4)))
    return min(0.32, max(0.04, (half_width + 0.3) / between / flank.length))


def look_at(
    face: Face,
    windows: list[Window],
    index: NDArray[np.intp],
    off_belt: NDArray[np.bool_],
    first: bool = False,
) -> Look:
    frames, mm = frames_of(face.plane, windows)
    sigma = face.blur.sigma_px(frames.centre, frames.across)
    bin_px = max(BIN_PX, (_FIRST_BIN_SIGMAS if first else _BIN_SIGMAS) * float(np.median(sigma)))
    strips = read(face.grey, frames, off_belt, bin_px)
    whole = strips.left_out < _MOST_OFF_BELT
    if whole.any() and not whole.all():
        windows = [window for window, kept in zip(windows, whole, strict=True) if kept]
        index, strips = index[whole], strips.take(whole)
        mm, sigma = mm[whole], sigma[whole]
    near_px = (FIRST_NEAR_MM if first else NEAR_MM) / mm
    return Look(windows, index, strips, mm, sigma, near_px, face.response)


def not_burnt(face: Face, look: Look) -> None:
    frames: Frames = frames_of(face.plane, look.windows)[0]
    ends = read(face.burnt.view(np.uint8), frames, bin_px=4.0)
    total = np.maximum(ends.count.sum(axis=1), 1)
    share = (ends.value * ends.count).sum(axis=1) * 255 / total
    if np.mean(share > BURNT_SHARE) > _BURNT_WINDOWS:
        raise Refusal(
            "the photo is overexposed (the belt beside the seam is burnt out); lower the camera's "
            "brightness, or take light or glare away, and take it again"
        )
