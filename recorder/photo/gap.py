"""The finger gap along the seam, in windows of raw pixels across the flanks.

Below about two sigma of the blur a slot only shows how much light it takes away, which is its
width times its contrast; so the contrast is learned where the gap is wide, and elsewhere taken
from a prior whose width goes into the uncertainty.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from recorder.photo.exposure import BURNT_SHARE
from recorder.photo.lines import Line
from recorder.photo.plane import Plane
from recorder.photo.profiles import Fit, fit, gap_model
from recorder.photo.refusal import Refusal
from recorder.photo.seam import Flank, Seam
from recorder.photo.windows import Window, pixels

Array = NDArray[np.float64]

WINDOW_MM = 2.0
RESOLVED_SIGMAS = 2.0  # quantification limit of a gap, in sigmas of the blur
_WIDE_SIGMAS = 3.2  # from here on the floor of the gap shows and tells the contrast
# How dark a gap is against the belt, where no wide gap tells: common practice, no source. An open
# cut in a belt gives back 0 to 45 % of the light of the belt around it.
_PRIOR_CONTRAST = (0.80, 0.14)
_LEAST_WINDOWS = 6
_BURNT_WINDOWS = 0.03  # share of all windows in which the belt may be burnt out
_WIDE_WINDOW_MM = 1.9  # half width for a wide-open gap
_LEAST_BANK_PIXELS = 12  # on each side of a gap
_RIM_MM = 0.4  # of the belt beside its edges, where bench and shadow blur into it


@dataclass(frozen=True)
class GapPoint:
    """One window. x, y: middle of the gap there, mm. gap: mm. u: from the fit alone.
    sigma: blur there, mm. flank: index. weight: length of seam that it stands for, mm.
    by_blur, by_contrast: change of the gap for a change of 1 in the logarithm of sigma and in the
    contrast. contrast: share of light missing. normal: across the gap, unit vector.
    """

    x: float
    y: float
    gap: float
    u: float
    sigma: float
    flank: int
    by_blur: float
    by_contrast: float
    weight: float
    contrast: float
    normal: tuple[float, float]


@dataclass(frozen=True)
class GapProfile:
    """points: in order along the seam. contrast, u_contrast: shared share of missing light.
    contrast_seen: whether it was learned from this photo.
    """

    points: tuple[GapPoint, ...]
    contrast: float
    u_contrast: float
    contrast_seen: bool


@dataclass(frozen=True)
class Face:
    """The belt's face in the photo. light: linear. burnt: pixels at the end of a channel.
    plane: of the face. upper, lower: its edges. blur_px: Gaussian sigma of the photo.
    """

    light: NDArray[np.float32]
    burnt: NDArray[np.bool_]
    plane: Plane
    upper: Line
    lower: Line
    blur_px: float


def measure_gaps(face: Face, seam: Seam) -> GapProfile:
    """Gap in every window along the flanks, tips left out; raises Refusal when too few fit."""
    flanks = [_straightened(face, flank) for flank in seam.flanks]
    windows = [
        (index, window) for index, flank in enumerate(flanks) for window in _windows(flank, flanks)
    ]
    if np.mean([_is_burnt(face, window) for _, window in windows]) > _BURNT_WINDOWS:
        raise Refusal(
            "the photo is overexposed (the belt beside the seam is burnt out); lower the camera's "
            "brightness, or take light or glare away, and take it again"
        )
    loose = [_fit_window(face, w, _PRIOR_CONTRAST) for _, w in windows]
    wide = [c.contrast for c in loose if c is not None and c.gap > _WIDE_SIGMAS * c.sigma]
    seen = len(wide) >= 5
    contrast = _PRIOR_CONTRAST
    if seen:
        middle = float(np.median(wide))
        spread = 1.4826 * float(np.median(np.abs(np.array(wide) - middle)))
        contrast = (middle, max(spread, 0.03))
    points = []
    for index, window in windows:
        found = _fit_window(face, window, contrast)
        if found is not None:
            points.append(replace(found, flank=index))
    if len(points) < _LEAST_WINDOWS or _is_broken(flanks, windows, points):
        raise Refusal(
            "the seam cannot be followed from edge to edge; clean the splice, avoid glare and "
            "shadows on it, and take the photo again"
        )
    return GapProfile(tuple(points), contrast[0], contrast[1], seen)


def _is_burnt(face: Face, window: Window) -> bool:
    _, _, places = pixels(face.plane, window, face.light.shape)
    rows, columns = places.astype(int).T
    return bool(len(places) and face.burnt[rows, columns].mean() > BURNT_SHARE)


def _is_broken(
    flanks: list[Flank], windows: list[tuple[int, Window]], points: list[GapPoint]
) -> bool:
    """Whether a whole flank is as good as unseen: the largest gap might hide there."""
    usual = float(np.median([flank.length for flank in flanks]))
    for index, flank in enumerate(flanks):
        wanted = sum(number == index for number, _ in windows)
        got = sum(point.flank == index for point in points)
        if flank.length > 0.6 * usual and got < 0.4 * wanted:
            return True
    return len(points) < 0.6 * len(windows)


def _straightened(face: Face, flank: Flank) -> Flank:
    """The flank moved onto the middle of the gap, by windows fitted along it."""
    for _ in range(2):
        places, offsets = [], []
        for window in _windows(flank, [flank], margin=0.15):
            found = _fit_window(face, window, _PRIOR_CONTRAST)
            if found is not None:
                middle = np.array([found.x, found.y]) - flank.begin
                places.append(float(middle @ flank.along))
                offsets.append(float(middle @ _normal(flank)))
        if len(places) < 3:
            return flank
        s, d = np.array(places), np.array(offsets)
        near = np.abs(d - np.median(d)) < max(3 * 1.4826 * np.median(np.abs(d - np.median(d))), 0.1)
        slope, level = np.polyfit(s[near], d[near], 1)
        normal = _normal(flank)
        flank = Flank(
            flank.begin + level * normal, flank.end + (level + slope * flank.length) * normal
        )
    return flank


def _normal(flank: Flank) -> Array:
    return np.array([-flank.along[1], flank.along[0]])


def _windows(flank: Flank, all_flanks: list[Flank], margin: float | None = None) -> list[Window]:
    """Windows along a flank, far enough from its ends that the next flank stays out of them."""
    half_width = 1.1
    if margin is None:
        margin = 0.06
        for other in all_flanks:
            if (
                other is not flank
                and min(
                    np.linalg.norm(other.begin - flank.end), np.linalg.norm(other.end - flank.begin)
                )
                < 1.0
            ):
                cosine = abs(float(flank.along @ other.along))
                between = float(np.sqrt(max(1 - cosine**2, 1e-4)))
                margin = max(margin, min(0.3, (half_width + 0.35) / between / flank.length))
    begin, end = margin * flank.length, (1 - margin) * flank.length
    count = max(1, round((end - begin) / WINDOW_MM))
    step = (end - begin) / count
    return [
        Window(
            flank.begin + flank.along * (begin + (i + 0.5) * step),
            flank.along,
            step / 2,
            half_width,
        )
        for i in range(count)
    ]


def _fit_window(face: Face, window: Window, contrast: tuple[float, float]) -> GapPoint | None:
    """In the usual window, or in a wider one when the gap leaves no banks in it."""
    usual = _fit_inside(face, window, contrast)
    if usual is not None:
        return usual
    return _fit_inside(face, replace(window, half_width=_WIDE_WINDOW_MM), contrast)


def _fit_inside(face: Face, window: Window, contrast: tuple[float, float]) -> GapPoint | None:
    s, d, places = pixels(face.plane, window, face.light.shape)
    x, y = window.centre[:, None] + np.outer(window.along, s) + np.outer(window.normal, d)
    on_belt = (y > face.upper.along(x) + _RIM_MM) & (y < face.lower.along(x) - _RIM_MM)
    d, places = d[on_belt], places[on_belt].astype(int)
    if len(d) < 60:
        return None
    values = face.light[places[:, 0], places[:, 1]].astype(float)
    if face.burnt[places[:, 0], places[:, 1]].mean() > BURNT_SHARE:
        return None
    sigma = face.plane.blur_mm(window.centre, window.normal, face.blur_px)
    found = _slot(d, values, sigma, contrast)
    if found is None:
        return None
    bank = (found.values[0] + found.values[1]) / 2
    middle = window.centre + window.normal * found.values[3]
    wider = _slot(d, values, sigma * 1.1, contrast, found.values)
    darker = _slot(d, values, sigma, (contrast[0] - 0.05, contrast[1]), found.values)
    gap = float(found.values[4])
    return GapPoint(
        x=float(middle[0]),
        y=float(middle[1]),
        gap=gap,
        u=found.u(4),
        sigma=sigma,
        flank=-1,
        by_blur=gap if wider is None else float(wider.values[4] - gap) / 0.1,
        by_contrast=gap if darker is None else float(gap - darker.values[4]) / 0.05,
        weight=2 * window.half_length,
        contrast=float(1 - found.values[2] / bank),
        normal=(float(window.normal[0]), float(window.normal[1])),
    )


def _slot(
    d: Array,
    values: Array,
    sigma: float,
    contrast: tuple[float, float],
    start: Array | None = None,
) -> Fit | None:
    """Slot with the floor held near ``contrast`` (mean, standard uncertainty) below the banks."""
    bank = float(np.percentile(values, 80))
    floor = bank * (1 - contrast[0])
    if start is None:
        where, area = _darkest(d, values, bank)
        gap = float(np.clip(area / max(bank - floor, 1e-4), 0.5 * sigma, 2.0))
        start = np.array([bank, bank, floor, where, gap])
    mean = np.array([0.0, 0.0, floor, 0.0, 0.0])
    weight = np.array([0.0, 0.0, 1 / max(bank * contrast[1], 1e-6) ** 2, 0.0, 0.0])
    found = fit(gap_model(d, sigma), values, start, (mean, weight))
    left, right, inside, place, gap = found.values
    near = abs(place) < 0.8 and 0 <= gap < 2.6
    banks = (left + right) / 2
    if not near or min(left, right) <= 0 or inside > 0.9 * banks:
        return None
    # a neighbouring flank, a shadow or a scratch in the window: not one slot between two banks
    if found.u(4) > 0.02 + 0.1 * gap or found.noise > 0.3 * (banks - inside):
        return None
    beyond = gap / 2 + 3 * sigma
    if min(np.sum(d < place - beyond), np.sum(d > place + beyond)) < _LEAST_BANK_PIXELS:
        return None
    bank_noise = float(np.std(values[np.abs(d - place) > beyond]))
    if found.noise > 1.6 * bank_noise + 0.03 * (banks - inside):
        return None
    if abs(1 - inside / banks - contrast[0]) > max(3 * contrast[1], 0.2):
        return None
    return found


def _darkest(d: Array, values: Array, bank: float) -> tuple[float, float]:
    """Rough place of the slot and the light that it takes away times its width."""
    bins = np.linspace(d.min(), d.max(), 45)
    which = np.clip(np.digitize(d, bins) - 1, 0, 43)
    count = np.bincount(which, minlength=44)
    mean = np.bincount(which, values, minlength=44) / np.maximum(count, 1)
    mean[count == 0] = bank
    lack = np.maximum(bank - mean, 0)
    near = np.abs(bins[:-1] - bins[int(np.argmax(lack))]) < 1.0
    lack = np.where(near & (lack > 0.15 * lack.max()), lack, 0)
    width = bins[1] - bins[0]
    centres = bins[:-1] + width / 2
    return float(lack @ centres / max(lack.sum(), 1e-9)), float(lack.sum() * width)
