"""Many narrow windows of raw pixels at once, each as a profile across its line.

Every pixel is taken as it is, with its own distance from the line, and averaged with those at
about the same distance; a picture that is resampled first moves and widens what is measured.
Distances are pixels, square to the line as the photo shows it, since the blur is one in pixels.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recorder.photo.geometry.plane import Plane
from recorder.photo.geometry.windows import Window

Array = NDArray[np.float64]

BIN_PX = 0.25
_MOST_AT_ONCE = 3_000_000  # pixels in one go, to spare memory


@dataclass(frozen=True)
class Frames:
    """n windows in a photo, in pixels. centre: (n, 2). along, across: (n, 2) unit vectors in the
    photo along the line and square to it. half_length, half_width: (n,).
    """

    centre: Array
    along: Array
    across: Array
    half_length: Array
    half_width: Array

    def __len__(self) -> int:
        return len(self.centre)

    def take(self, which: slice | NDArray[np.intp] | NDArray[np.bool_]) -> Frames:
        """Some of the windows."""
        return Frames(
            self.centre[which], self.along[which], self.across[which], self.half_length[which],
            self.half_width[which],
        )  # fmt: skip


@dataclass(frozen=True)
class Strips:
    """n profiles on one grid. place: (bins,) distance from the line in pixels. value: (n, bins)
    mean of the pixels. aside: (n, bins) how far the mean of their places is from ``place``.
    count: (n, bins) how many; 0 where there is none or where the window ends.
    left_out: (n,) share of the window's pixels that were masked.
    """

    place: Array
    value: Array
    aside: Array
    count: Array
    left_out: Array

    def take(self, which: NDArray[np.intp] | NDArray[np.bool_]) -> Strips:
        """Some of the profiles."""
        return Strips(
            self.place, self.value[which], self.aside[which], self.count[which],
            self.left_out[which],
        )  # fmt: skip

    def cropped(self, reach_px: float) -> Strips:
        """Only the bins up to a distance from the line."""
        near = np.abs(self.place) <= reach_px
        return Strips(
            self.place[near], self.value[:, near], self.aside[:, near], self.count[:, near],
            self.left_out,
        )  # fmt: skip

    def within(self, low: Array, high: Array) -> Strips:
        """Only the bins between two distances (n,) of each profile."""
        inside = (self.place >= low[:, None]) & (self.place <= high[:, None])
        return Strips(self.place, self.value, self.aside, self.count * inside, self.left_out)


def frames_of(plane: Plane, windows: Sequence[Window]) -> tuple[Frames, Array]:
    """The windows as the photo shows them; and (n,) millimetres of a pixel across each.

    The picture around a window is taken as affine: over a millimetre beside the line a tilted
    plane is off that by some micrometres, and not at all at the line itself.
    """
    centres = np.array([w.centre for w in windows])
    along_mm = np.array([w.along for w in windows])
    normal_mm = np.array([w.normal for w in windows])
    nudge = 0.05
    begin, end = plane.to_px(centres - nudge * along_mm), plane.to_px(centres + nudge * along_mm)
    left, right = plane.to_px(centres - nudge * normal_mm), plane.to_px(centres + nudge * normal_mm)
    run, rise = (end - begin) / (2 * nudge), (right - left) / (2 * nudge)
    per_mm = np.linalg.norm(run, axis=1)
    along = run / per_mm[:, None]
    across = np.column_stack([-along[:, 1], along[:, 0]])
    reach = (rise * across).sum(axis=1)  # pixels across for a millimetre across; its sign is kept
    across = across * np.sign(reach)[:, None]
    half_length = np.array([w.half_length for w in windows]) * per_mm
    half_width = np.array([w.half_width for w in windows]) * np.abs(reach)
    frames = Frames(plane.to_px(centres), along, across, half_length, half_width)
    return frames, 1 / np.abs(reach)


def read(
    photo: NDArray[np.uint8],
    frames: Frames,
    masked: NDArray[np.bool_] | None = None,
    bin_px: float = BIN_PX,
) -> Strips:
    """Profiles of a (h, w) picture, in codes from 0 to 1; pixels outside of it count as none.

    masked: (h, w) pixels to leave out.
    """
    reach = float(frames.half_width.max()) if len(frames) else 1.0
    bins = 2 * int(np.ceil(reach / bin_px)) + 1
    place: Array = np.asarray((np.arange(bins) - bins // 2) * bin_px, float)
    box = (
        np.abs(frames.along) * frames.half_length[:, None]
        + np.abs(frames.across) * frames.half_width[:, None]
    )
    side_x, side_y = np.ceil(box.max(axis=0)).astype(int) + 1 if len(frames) else (1, 1)
    area = int((2 * side_x + 1) * (2 * side_y + 1))
    step = max(1, _MOST_AT_ONCE // area)
    parts = [
        _read_some(photo, frames.take(slice(i, i + step)), masked, (side_x, side_y), place)
        for i in range(0, len(frames), step)
    ] or [_nothing(bins)]
    columns = [np.asarray(np.concatenate(part), float) for part in zip(*parts, strict=True)]
    return Strips(place, *columns)


def _nothing(bins: int) -> tuple[Array, Array, Array, Array]:
    none = np.zeros((0, bins))
    return none, none, none, np.zeros(0)


def _read_some(
    photo: NDArray[np.uint8],
    frames: Frames,
    masked: NDArray[np.bool_] | None,
    side: tuple[int, int],
    place: Array,
) -> tuple[Array, Array, Array, Array]:
    n, bins = len(frames), len(place)
    bin_px = float(place[1] - place[0])
    middle = np.round(frames.centre).astype(int)
    dx = np.arange(-side[0], side[0] + 1)
    dy = np.arange(-side[1], side[1] + 1)
    columns = middle[:, 0, None] + dx
    rows = middle[:, 1, None] + dy
    x = (columns - frames.centre[:, :1]).astype(np.float32)
    y = (rows - frames.centre[:, 1:]).astype(np.float32)
    u, v = frames.along.astype(np.float32), frames.across.astype(np.float32)
    s = x[:, None, :] * u[:, 0, None, None] + y[:, :, None] * u[:, 1, None, None]
    d = x[:, None, :] * v[:, 0, None, None] + y[:, :, None] * v[:, 1, None, None]
    height, width = photo.shape
    inside = (
        (np.abs(s) <= frames.half_length[:, None, None])
        & (np.abs(d) <= frames.half_width[:, None, None])
        & ((columns >= 0) & (columns < width))[:, None, :]
        & ((rows >= 0) & (rows < height))[:, :, None]
    )
    window, row, column = np.nonzero(inside)
    at = rows[window, row], columns[window, column]
    d = d[inside]
    left_out = np.zeros(n)
    if masked is not None:
        bad = masked[at]
        wanted = np.maximum(np.bincount(window, minlength=n), 1)
        left_out = np.bincount(window, bad, minlength=n) / wanted
        window, d, at = window[~bad], d[~bad], (at[0][~bad], at[1][~bad])
    which = np.clip(np.round(d / bin_px).astype(int) + bins // 2, 0, bins - 1)
    flat = window * bins + which
    count = np.bincount(flat, minlength=n * bins).astype(float)
    some = np.maximum(count, 1)
    value = np.bincount(flat, photo[at], minlength=n * bins) / some / 255.0
    aside = np.bincount(flat, d - place[which], minlength=n * bins) / some
    shape = (n, bins)
    return value.reshape(shape), aside.reshape(shape), count.reshape(shape), left_out
