"""The finger gap along the seam, in windows of raw pixels across the flanks.

Below about two sigma of the blur a slot only shows how much light it takes away, which is its
width times its contrast; so the contrast is learned where the gap is wide, and elsewhere taken
from a prior whose width goes into the uncertainty. What the camera does to edges is known from
the card. The gaps are not asked for the blur: where they are narrow enough for it to matter, a
slot with more blur and one with a lighter floor look alike, and a blur that is no Gaussian pulled
it by a quarter.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from recorder.photo.edges.batch import Fits, fit_all
from recorder.photo.edges.blur import Blur
from recorder.photo.edges.response import NOISE_FLOOR, Response, banks, fit_steps, slot_model
from recorder.photo.edges.strips import BIN_PX, Frames, Strips, frames_of, read
from recorder.photo.geometry.lines import Line
from recorder.photo.geometry.plane import Plane
from recorder.photo.geometry.windows import Window
from recorder.photo.image.exposure import BURNT_SHARE
from recorder.photo.image.light import code
from recorder.photo.image.refusal import Refusal
from recorder.photo.seam.seam import Flank, Seam

Array = NDArray[np.float64]

WINDOW_MM = 1.0
_FIRST_NEAR_MM, _NEAR_MM = 0.9, 0.5  # of the line through the flank, where the slot lies
_FIRST_MM = 3.0  # of windows that only say where the flanks run
_BIN_SIGMAS, _FIRST_BIN_SIGMAS = 0.33, 0.6
RESOLVED_SIGMAS = 2.0  # quantification limit of a gap, in sigmas of the blur
_TELLING_SIGMAS = 2.6  # from here on the floor of the gap shows and tells the contrast
# How dark a gap is against the belt, where no wide gap tells: common practice, no source. An open
# cut in a belt gives back 0 to 35 % of the light of the belt around it, and up to 1.2 % of that of
# white paper by reflections and haze, which counts on a black belt.
_FLOOR_SHARE, _FLOOR_SHARE_U = 0.13, 0.11
_VEIL, _VEIL_U = 0.006, 0.004
_WHITE = 0.8
_LEAST_SPREAD = 0.03  # of the contrast along a seam
_LEAST_TELLING = 5
_OPEN_CONTRAST_U = 0.5
_BLUR_STEP = 0.10
_TIES = 4.0  # pixels that texture and JPEG tie together: this many count as one
_LEAN_U = 0.04  # of the light over a millimetre
_LEAST_WINDOWS = 6
_LEAST_FLANK_MM = 0.5
_LEAST_GOOD, _LEAST_GOOD_OF_FLANK = 0.5, 0.3  # share of windows that must be read
_BURNT_WINDOWS = 0.03  # share of all windows in which the belt may be burnt out
_FIRST_HALF_WIDTH_MM, _LEAST_HALF_WIDTH_MM, _MOST_HALF_WIDTH_MM = 1.1, 0.5, 2.2
_WIDEST_MM = 2.6
_LEAST_BANK_PIXELS = 12  # on each side of a gap
_LEAST_BANK_SHARE = 0.07  # of a window's pixels: less is a sliver between gap and belt edge
_TWO_EDGES_SIGMAS = 5.0  # from here on the edges of a gap are told apart from its inside
_EDGE_REACH_SIGMAS, _BANK_REACH_SIGMAS = 2.5, 5.0  # into the gap, and onto the belt
_EDGE_BLUR_U = 0.08  # of the logarithm of the blur of such an edge
_MOST_OFF_BELT = 0.25  # of a window: where the seam runs out of the belt, a sliver is left
_RIM_MM = 0.4  # of the belt beside its edges, where bench and shadow blur into it


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
class _Look:
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

    def blurred(self, by: float) -> _Look:
        return replace(self, sigma=self.sigma * by)


@dataclass(frozen=True)
class _Slots:
    """What fits gave, by window. gap, place, u_gap: pixels. bank: light of the two banks together.
    edges: where the gap is that between two edges which were fitted each by itself.
    """

    fits: Fits
    gap: Array
    place: Array
    u_gap: Array
    bank: Array
    contrast: Array
    u_contrast: Array
    edges: NDArray[np.bool_]


def measure_gaps(face: Face, seam: Seam) -> GapProfile:
    """Gap in every window along the flanks, tips left out; raises Refusal when too few fit."""
    off_belt = _off_belt(face)
    flanks = [flank for flank in seam.flanks if flank.length > _LEAST_FLANK_MM]
    half = np.full(len(flanks), _FIRST_HALF_WIDTH_MM)
    for _ in range(2):
        windows, index = _windows(flanks, half, _FIRST_MM)
        look = _look(face, windows, index, off_belt, first=True)
        slots = _fit(look, *_prior(look))
        good = _good(look, slots, _FIRST_NEAR_MM)
        flanks = [_straightened(flank, k, look, slots, good) for k, flank in enumerate(flanks)]
        half = _half_widths(len(flanks), look, slots)
    windows, index = _windows(flanks, half, WINDOW_MM)
    look = _look(face, windows, index, off_belt)
    _not_burnt(face, look)
    slots = _fit(look, *_prior(look))
    good = _good(look, slots, _NEAR_MM)
    contrast, seen = _contrast(look, slots, good)
    slots = _by_edges(look, _fit(look, *contrast))
    good = _good(look, slots, _NEAR_MM)
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


def _off_belt(face: Face) -> NDArray[np.bool_]:
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


def _windows(
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


def _look(
    face: Face,
    windows: list[Window],
    index: NDArray[np.intp],
    off_belt: NDArray[np.bool_],
    first: bool = False,
) -> _Look:
    frames, mm = frames_of(face.plane, windows)
    sigma = face.blur.sigma_px(frames.centre, frames.across)
    bin_px = max(BIN_PX, (_FIRST_BIN_SIGMAS if first else _BIN_SIGMAS) * float(np.median(sigma)))
    strips = read(face.grey, frames, off_belt, bin_px)
    whole = strips.left_out < _MOST_OFF_BELT
    if whole.any() and not whole.all():
        windows = [window for window, kept in zip(windows, whole, strict=True) if kept]
        index, strips = index[whole], strips.take(whole)
        mm, sigma = mm[whole], sigma[whole]
    near_px = (_FIRST_NEAR_MM if first else _NEAR_MM) / mm
    return _Look(windows, index, strips, mm, sigma, near_px, face.response)


def _not_burnt(face: Face, look: _Look) -> None:
    frames: Frames = frames_of(face.plane, look.windows)[0]
    ends = read(face.burnt.view(np.uint8), frames, bin_px=4.0)
    total = np.maximum(ends.count.sum(axis=1), 1)
    share = (ends.value * ends.count).sum(axis=1) * 255 / total
    if np.mean(share > BURNT_SHARE) > _BURNT_WINDOWS:
        raise Refusal(
            "the photo is overexposed (the belt beside the seam is burnt out); lower the camera's "
            "brightness, or take light or glare away, and take it again"
        )


def _prior(look: _Look) -> tuple[Array, Array]:
    """Mean and standard uncertainty of the contrast of each window, by the light of its banks."""
    bank = np.maximum(sum(banks(look.strips)) / 2, 1e-3)
    veil, veil_u = _VEIL * _WHITE / bank, _VEIL_U * _WHITE / bank
    return np.clip(1 - _FLOOR_SHARE - veil, 0.3, 0.95), np.hypot(_FLOOR_SHARE_U, veil_u)


def _light(coded: Array) -> Array:
    """Linear light of codes, good enough to start a fit."""
    return np.asarray(((coded + 0.055) / 1.055) ** 2.4)


def _fit(look: _Look, contrast: Array, contrast_u: Array, start: Array | None = None) -> _Slots:
    """Slots whose floor is held near ``contrast`` (n,) below the banks."""
    strips = look.strips
    left, right = banks(strips)
    bank = (left + right) / 2
    floor = bank * (1 - contrast)
    if start is None:
        where, area = _darkest(strips, np.minimum(left, right), look.near_px)
        gap = np.clip(area / np.maximum(bank - floor, 1e-4), 0.5 * look.sigma, 2.0 / look.mm)
        start = np.column_stack([left, right, floor, where, gap, np.zeros_like(bank)])
    mean = start.copy()
    mean[:, 2], mean[:, 5] = floor, 0.0
    stiff = np.zeros_like(start)
    stiff[:, 2] = 1 / np.maximum(bank * contrast_u, 1e-6)
    stiff[:, 5] = 1 / (_LEAN_U * look.mm)
    model = slot_model(strips, look.response, look.sigma)
    fits = fit_all(model, strips.value, strips.count / _TIES, start, (mean, stiff), NOISE_FLOOR)
    left, right, inside, place, wide = fits.values.T[:5]
    bank = np.maximum((left + right) / 2, 1e-6)
    return _Slots(
        fits=fits,
        gap=wide,
        place=place,
        u_gap=fits.u(4),
        bank=bank,
        contrast=1 - inside / bank,
        u_contrast=fits.u(2) / bank,
        edges=np.zeros(len(wide), bool),
    )


def _by_edges(look: _Look, slots: _Slots) -> _Slots:
    """Where a gap is wide, each of its edges by itself: its floor is no even dark, since walls and
    depth show in it, and only what lies within a few sigma of an edge tells where that is.
    """
    room = np.array([window.half_width for window in look.windows]) / look.mm
    inside = np.abs(slots.place) + slots.gap / 2 < room
    wide = np.flatnonzero(inside & (slots.gap > _TWO_EDGES_SIGMAS * look.sigma))
    if not len(wide):
        return slots
    sigma, middle, half = look.sigma[wide], slots.place[wide], slots.gap[wide] / 2
    strips = look.strips.take(wide)
    reach = np.minimum(_EDGE_REACH_SIGMAS * sigma, half)
    places, variances, good = [], [], np.ones(len(wide), bool)
    for way in (-1, 1):
        at = middle + way * half
        beyond = _BANK_REACH_SIGMAS * sigma
        low, high = (at - beyond, at + reach) if way < 0 else (at - reach, at + beyond)
        fits = fit_steps(strips.within(low, high), look.response, sigma, _EDGE_BLUR_U)
        before, after = fits.values[:, 2], fits.values[:, 3]
        good &= (np.abs(fits.values[:, 0] - at) < 1.5 * sigma) & (way * (after - before) > 0)
        places.append(fits.values[:, 0])
        variances.append(fits.covariance[:, 0, 0] * _TIES)
    chosen = wide[good]
    gap, place, u = slots.gap.copy(), slots.place.copy(), slots.u_gap.copy()
    gap[chosen] = (places[1] - places[0])[good]
    place[chosen] = ((places[1] + places[0]) / 2)[good]
    u[chosen] = np.sqrt(variances[0] + variances[1])[good]
    edges = np.zeros(len(gap), bool)
    edges[chosen] = True
    return replace(slots, gap=gap, place=place, u_gap=u, edges=edges)


def _darkest(strips: Strips, bank: Array, near_px: Array) -> tuple[Array, Array]:
    """Rough place of the slot and the light that it takes away times its width, in pixels.

    bank: (n,) light of the darker bank. near_px: (n,) how far from the line the slot may lie.
    """
    lack = np.where(strips.count > 0, bank[:, None] - _light(strips.value), 0.0)
    bin_px = strips.place[1] - strips.place[0]
    width = max(1, round(1.0 / bin_px))
    lack = np.maximum(cv2.blur(lack, (width | 1, 1)), 0)
    close = np.abs(strips.place) <= near_px[:, None]
    peak = strips.place[np.argmax(np.where(close, lack, -1.0), axis=1)]
    near = np.abs(strips.place - peak[:, None]) < 0.45 * float(np.abs(strips.place).max())
    most = np.where(close, lack, 0.0).max(axis=1, keepdims=True)
    lack = np.where(near & (lack > 0.2 * most), lack, 0)
    total = np.maximum(lack.sum(axis=1), 1e-9)
    return np.asarray((lack @ strips.place) / total), total * bin_px


def _good(look: _Look, slots: _Slots, reach_mm: float) -> NDArray[np.bool_]:
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


def _straightened(
    flank: Flank, k: int, look: _Look, slots: _Slots, good: NDArray[np.bool_]
) -> Flank:
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


def _half_widths(flanks: int, look: _Look, slots: _Slots) -> Array:
    """(flanks,) mm: as narrow as gap, blur and banks allow, so that the tips come into view."""
    gap, sigma = slots.gap * look.mm, look.sigma * look.mm
    need = gap / 2 + 3.5 * sigma + np.maximum(0.3, 5 * look.mm)
    told = (np.abs(slots.place) < look.near_px) & (gap > 0) & (gap < _WIDEST_MM)
    half = np.full(flanks, _FIRST_HALF_WIDTH_MM)
    for k in range(flanks):
        mine = need[(look.flank == k) & told]
        half[k] = float(np.percentile(mine, 80)) if len(mine) else _FIRST_HALF_WIDTH_MM
    return np.asarray(np.clip(half, _LEAST_HALF_WIDTH_MM, _MOST_HALF_WIDTH_MM), float)


def _contrast(
    look: _Look, slots: _Slots, good: NDArray[np.bool_]
) -> tuple[tuple[Array, Array], bool]:
    """Contrast and its standard uncertainty for each window: learned, or the prior."""
    prior = _prior(look)
    free = _fit(look, prior[0], np.full_like(prior[0], _OPEN_CONTRAST_U), slots.fits.values)
    telling = good & (free.gap > _TELLING_SIGMAS * look.sigma) & (free.u_contrast < 0.12)
    telling &= (free.contrast > 0.15) & (free.contrast < 1.05)
    if telling.sum() < _LEAST_TELLING:
        return prior, False
    found = free.contrast[telling]
    middle = float(np.median(found))
    spread = 1.4826 * float(np.median(np.abs(found - middle)))
    each = np.ones_like(prior[0])
    return (middle * each, max(spread, _LEAST_SPREAD) * each), True


def _unread(flanks: list[Flank], look: _Look, good: NDArray[np.bool_]) -> list[int]:
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
    look: _Look,
    slots: _Slots,
    contrast: tuple[Array, Array],
    flanks: list[Flank],
    good: NDArray[np.bool_],
) -> tuple[GapPoint, ...]:
    start = slots.fits.values
    gap, u = slots.gap * look.mm, slots.u_gap * look.mm
    fitted = start[:, 4] * look.mm
    wider = _fit(look.blurred(float(np.exp(_BLUR_STEP))), *contrast, start).gap * look.mm
    darker = _fit(look, contrast[0] - 0.05, contrast[1], start).gap * look.mm
    plain = fitted
    if face.response != Response():
        as_plain = replace(look.blurred(face.plain_blur), response=Response())
        plain = _fit(as_plain, *contrast, start).gap * look.mm
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
