"""The finger gap along the seam, window by window; what is no clean slot is left out."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from recorder.photo.edges.response import Response
from recorder.photo.image.light import code
from recorder.photo.image.refusal import Refusal
from recorder.photo.seam.flanks import Flank
from recorder.photo.seam.looks import (
    FIRST_NEAR_MM,
    NEAR_MM,
    Face,
    Look,
    look_at,
    not_burnt,
    off_belt_of,
    windows_along,
)
from recorder.photo.seam.seam import Seam
from recorder.photo.seam.slots import Slots, by_edges, contrast_of, fit, prior_of

Array = NDArray[np.float64]

WINDOW_MM = 1.0
_FIRST_MM = 3.0  # of windows that only say where the flanks run
RESOLVED_SIGMAS = 2.0  # quantification limit of a gap, in sigmas of the blur
_BLUR_STEP = 0.10
_LEAST_WINDOWS = 6
_LEAST_FLANK_MM = 0.5
_LEAST_GOOD, _LEAST_GOOD_OF_FLANK = 0.5, 0.3  # share of windows that must be read
_FIRST_HALF_WIDTH_MM, _LEAST_HALF_WIDTH_MM, _MOST_HALF_WIDTH_MM = 1.1, 0.5, 2.2
_WIDEST_MM = 2.6
_LEAST_BANK_PIXELS = 12  # on each side of a gap
_LEAST_BANK_SHARE = 0.07  # of a window's pixels: less is a sliver between gap and belt edge


@dataclass(frozen=True)
class GapPoint:
    """One window. x, y: middle of the gap there, mm. way: along the flank from its begin, mm.
    gap: mm. u: from the fit alone. sigma: blur there, mm. flank: index.
    by_blur, by_contrast: change of the gap for a change of 1 in the logarithm of sigma and in the
    contrast. by_response: change when the camera's sharpening and blur shape are left out.
    contrast: share of light missing. weight: length of seam that it stands for, mm.
    normal: across the gap towards the left end, unit vector. slant: how much wider the gap seems
    for a millimetre by which the right end lies higher, see ``heights``.
    """

    x: float
    y: float
    way: float
    gap: float
    u: float
    sigma: float
    flank: int
    by_blur: float
    by_contrast: float
    by_response: float
    contrast: float
    weight: float
    normal: tuple[float, float]
    slant: float = 0.0


@dataclass(frozen=True)
class GapProfile:
    """points: in order along the seam. flanks: straight, through the middle of the gap.
    contrast, u_contrast: shared share of missing light. contrast_seen: whether it was learned from
    this photo. unread: indices of flanks beside the belt's edges that could not be read.
    step_mm: by which the right end was found to lie higher, u_step_mm: its standard uncertainty.
    """

    points: tuple[GapPoint, ...]
    flanks: tuple[Flank, ...]
    contrast: float
    u_contrast: float
    contrast_seen: bool
    unread: tuple[int, ...]
    step_mm: float = 0.0
    u_step_mm: float = 0.0


def measure_gaps(face: Face, seam: Seam) -> GapProfile:
    """Gap in every window along the flanks, tips left out; raises Refusal when too few fit."""
    off_belt = off_belt_of(face)
    flanks = [flank for flank in seam.flanks if flank.length > _LEAST_FLANK_MM]
    half = np.full(len(flanks), _FIRST_HALF_WIDTH_MM)
    for _ in range(2):
        windows, index = windows_along(flanks, half, _FIRST_MM)
        look = look_at(face, windows, index, off_belt, first=True)
        slots = fit(look, *prior_of(look))
        good = _good(look, slots, FIRST_NEAR_MM)
        flanks = [_straightened(flank, k, look, slots, good) for k, flank in enumerate(flanks)]
        half = _half_widths(len(flanks), look, slots)
    windows, index = windows_along(flanks, half, WINDOW_MM)
    look = look_at(face, windows, index, off_belt)
    not_burnt(face, look)
    slots = fit(look, *prior_of(look))
    good = _good(look, slots, NEAR_MM)
    contrast, seen = contrast_of(look, slots, good)
    slots = by_edges(look, fit(look, *contrast))
    good = _good(look, slots, NEAR_MM)
    unread = _unread(flanks, look, good)
    # The outermost flanks run out of the belt, between slivers of finger: they may stay unread.
    inner = [k for k in unread if 0 < k < len(flanks) - 1]
    if good.sum() < _LEAST_WINDOWS or inner or good.mean() < _LEAST_GOOD:
        raise Refusal(
            "the seam cannot be followed from edge to edge; clean the splice, avoid glare and "
            "shadows on it, and take the photo again"
        )
    points = _points(face, look, slots, contrast, flanks, good)
    usual, spread = float(np.median(contrast[0][good])), float(np.median(contrast[1][good]))
    return GapProfile(points, tuple(flanks), usual, spread, seen, tuple(unread))


def _good(look: Look, slots: Slots, reach_mm: float) -> NDArray[np.bool_]:
    """Windows with one slot between two banks: no neighbour, shadow or scratch in it."""
    strips, fits = look.strips, slots.fits
    left, right, inside = fits.values.T[:3]
    place, wide = slots.place, slots.gap
    beyond = (wide / 2 + 3 * look.sigma)[:, None]
    d = strips.place - place[:, None]
    bank_pixels = [(strips.count * side).sum(axis=1) for side in (d < -beyond, d > beyond)]
    away = strips.count * (np.abs(d) > beyond)
    total = np.maximum(away.sum(axis=1), 1)
    bank_noise = np.sqrt((away * fits.residual**2).sum(axis=1) / total)
    noise = np.sqrt(
        (strips.count * fits.residual**2).sum(axis=1) / np.maximum(strips.count.sum(axis=1), 1)
    )
    depth = code(slots.bank)[0] - code(np.maximum(inside, 0.0))[0]
    gap_mm, u_mm = wide * look.mm, slots.u_gap * look.mm
    least = np.maximum(_LEAST_BANK_PIXELS, _LEAST_BANK_SHARE * strips.count.sum(axis=1))
    return np.asarray(
        np.isfinite(fits.values).all(axis=1)
        & (np.abs(place) * look.mm < reach_mm)
        & (wide >= 0)
        & (gap_mm < _WIDEST_MM)
        & (np.minimum(left, right) > 0)
        & (inside < 0.9 * slots.bank)
        & (u_mm < 0.03 + 0.12 * gap_mm)
        & (np.minimum(*bank_pixels) >= least)
        & (slots.edges | (noise < 0.3 * depth))
        & (slots.edges | (noise < 1.6 * bank_noise + 0.04 * depth))
    )


def _straightened(flank: Flank, k: int, look: Look, slots: Slots, good: NDArray[np.bool_]) -> Flank:
    """The flank moved onto the middle of the gap, by the windows along it."""
    mine = np.flatnonzero((look.flank == k) & good)
    if len(mine) < 3:
        return flank
    s = np.array([(look.windows[i].centre - flank.begin) @ flank.along for i in mine])
    d = slots.place[mine] * look.mm[mine]
    off = np.abs(d - np.median(d))
    near = off <= max(3 * 1.4826 * float(np.median(off)), 0.1)
    slope, level = np.polyfit(s[near], d[near], 1)
    normal = np.array([-flank.along[1], flank.along[0]])
    return Flank(flank.begin + level * normal, flank.end + (level + slope * flank.length) * normal)


def _half_widths(flanks: int, look: Look, slots: Slots) -> Array:
    """(flanks,) mm: as narrow as gap, blur and banks allow, so that the tips come into view."""
    gap, sigma = slots.gap * look.mm, look.sigma * look.mm
    need = gap / 2 + 3.5 * sigma + np.maximum(0.3, 5 * look.mm)
    told = (np.abs(slots.place) < look.near_px) & (gap > 0) & (gap < _WIDEST_MM)
    half = np.full(flanks, _FIRST_HALF_WIDTH_MM)
    for k in range(flanks):
        mine = need[(look.flank == k) & told]
        half[k] = float(np.percentile(mine, 80)) if len(mine) else _FIRST_HALF_WIDTH_MM
    return np.asarray(np.clip(half, _LEAST_HALF_WIDTH_MM, _MOST_HALF_WIDTH_MM), float)


def _unread(flanks: list[Flank], look: Look, good: NDArray[np.bool_]) -> list[int]:
    """Flanks that are as good as unseen: the largest gap might hide there."""
    usual = float(np.median([flank.length for flank in flanks]))
    found = []
    for k, flank in enumerate(flanks):
        mine = look.flank == k
        if flank.length > 0.6 * usual and good[mine].sum() < _LEAST_GOOD_OF_FLANK * mine.sum():
            found.append(k)
    return found


def _points(
    face: Face,
    look: Look,
    slots: Slots,
    contrast: tuple[Array, Array],
    flanks: list[Flank],
    good: NDArray[np.bool_],
) -> tuple[GapPoint, ...]:
    start = slots.fits.values
    gap, u = slots.gap * look.mm, slots.u_gap * look.mm
    fitted = start[:, 4] * look.mm
    wider = fit(look.blurred(float(np.exp(_BLUR_STEP))), *contrast, start).gap * look.mm
    darker = fit(look, contrast[0] - 0.05, contrast[1], start).gap * look.mm
    plain = fitted
    if face.response != Response():
        as_plain = replace(look.blurred(face.plain_blur), response=Response())
        plain = fit(as_plain, *contrast, start).gap * look.mm
    points = []
    for i in np.flatnonzero(good):
        window = look.windows[i]
        middle = window.centre + window.normal * float(slots.place[i] * look.mm[i])
        flank = flanks[look.flank[i]]
        points.append(
            GapPoint(
                x=float(middle[0]),
                y=float(middle[1]),
                way=float((window.centre - flank.begin) @ flank.along),
                gap=float(gap[i]),
                u=float(u[i]),
                sigma=float(look.sigma[i] * look.mm[i]),
                flank=int(look.flank[i]),
                by_blur=float((wider[i] - fitted[i]) / _BLUR_STEP),
                by_contrast=float((fitted[i] - darker[i]) / 0.05),
                by_response=float(plain[i] - fitted[i]),
                contrast=float(slots.contrast[i]),
                weight=2 * window.half_length,
                normal=(float(window.normal[0]), float(window.normal[1])),
            )
        )
    return tuple(points)
