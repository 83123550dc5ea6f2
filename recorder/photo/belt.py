"""The two edges of the belt inside the card's window."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recorder.photo.exposure import burnt_channels
from recorder.photo.light import linear
from recorder.photo.lines import NoLine, through
from recorder.photo.plane import Plane
from recorder.photo.profiles import fit, step_model
from recorder.photo.rectified import Raster, rectify
from recorder.photo.refusal import Refusal
from recorder.photo.windows import Window, pixels

Array = NDArray[np.float64]

_STEP_MM = 0.2
_BAND_MM = 3.0
_CLEAR_MM = 1.2  # of the card's own cut, whose white rim and shadow are no belt edge
_LEAST_CODES = 14.0  # least difference in colour (8-bit codes) between belt and bench
_STAYS_MM = 0.8  # a speck is shorter across the belt than this
_SHARPNESS_U = 0.25  # of the logarithm of an edge's blur about that of the card
_OFF_LINE_MM = 2.5  # from the line through all bands: not the edge but the seam or a mark


@dataclass(frozen=True)
class EdgePoint:
    """One place on an edge. x, y: mm. u: of y from the fit. blur_mm: sigma found there."""

    x: float
    y: float
    u: float
    blur_mm: float


@dataclass(frozen=True)
class BeltEdges:
    """upper, lower: points from left to right, at the same bands; None where none was found."""

    upper: tuple[EdgePoint | None, ...]
    lower: tuple[EdgePoint | None, ...]

    def points(self, side: str) -> list[EdgePoint]:
        return [point for point in getattr(self, side) if point is not None]


@dataclass(frozen=True)
class _Photo:
    bgr: NDArray[np.uint8]
    plane: Plane
    blur_px: float


def find_edges(
    bgr: NDArray[np.uint8],
    plane: Plane,
    window_mm: tuple[float, float, float, float],
    blur_px: float,
) -> BeltEdges:
    """Both edges in bands along the belt; raises Refusal when they do not show.

    window_mm: the card's cut-away part in true millimetres. blur_px: of the photo, at the card.
    """
    photo = _Photo(bgr, plane, blur_px)
    left, top, right, bottom = window_mm
    box = (left + _CLEAR_MM, top + _CLEAR_MM, right - _CLEAR_MM, bottom - _CLEAR_MM)
    raster = rectify(bgr, plane, box, _STEP_MM)
    wide = round(_BAND_MM / _STEP_MM)
    bands = raster.values.shape[1] // wide
    rough: list[tuple[float, float | None, float | None]] = []
    for band in range(bands):
        columns = raster.values[:, band * wide : (band + 1) * wide]
        profile = np.median(columns, axis=1).astype(float)
        x = float(raster.x_mm(np.array(band * wide + (wide - 1) / 2)))
        rough.append((x, _walk(profile, raster, -1), _walk(profile, raster, 1)))
    need = 0.6 * bands
    for index, name in ((1, "upper"), (2, "lower")):
        if sum(row[index] is not None for row in rough) < need:
            raise Refusal(
                f"the {name} edge of the belt does not show inside the card; use a card whose "
                "window is wider than the belt, show both edges, and a bench of another colour"
            )
    try:
        upper = _refined(photo, _believed([(x, y) for x, y, _ in rough]), -1)
        lower = _refined(photo, _believed([(x, y) for x, _, y in rough]), 1)
    except NoLine as error:
        raise Refusal(
            "the belt does not run along the card; turn the card so that its marker strips lie "
            "beside the belt"
        ) from error
    for name, points in (("upper", upper), ("lower", lower)):
        if sum(point is not None for point in points) < need:
            raise Refusal(
                f"the {name} edge of the belt is not sharp enough to measure, or is burnt out; "
                "focus on the belt and light it evenly"
            )
    return BeltEdges(tuple(upper), tuple(lower))


def _walk(profile: Array, raster: Raster, way: int) -> float | None:
    """From the middle outwards to where the belt's colour ends for good: y in mm, or None."""
    middle = len(profile) // 2
    start = profile[middle - 15 : middle + 16]
    colour = np.median(start, axis=0)
    noise = 1.4826 * float(np.median(np.abs(start - colour)))
    limit = max(6 * noise * np.sqrt(3), _LEAST_CODES)
    stay = round(_STAYS_MM / _STEP_MM)
    outward = profile[middle::way] if way > 0 else profile[middle::-1]
    for i in range(len(outward) - stay):
        if i > 25:
            colour = np.median(outward[max(0, i - 40) : i - 3], axis=0)
        distance = np.linalg.norm(outward[i : i + stay] - colour, axis=1)
        if (distance > limit).all():
            near = np.linalg.norm(np.diff(outward[max(0, i - 3) : i + stay], axis=0), axis=1)
            best = max(0, i - 3) + int(np.argmax(near)) + 0.5
            return float(raster.y_mm(np.array(middle + way * best)))
    return None


def _believed(rough: list[tuple[float, float | None]]) -> list[tuple[float, float]]:
    """A place for every band: the rough one, or the line through all where that is far away."""
    known = np.array([(x, y) for x, y in rough if y is not None])
    line = through(known[:, 0], known[:, 1], steepest=0.7)
    return [
        (x, y if y is not None and abs(y - line.at(x)) < _OFF_LINE_MM else float(line.at(x)))
        for x, y in rough
    ]


def _refined(photo: _Photo, rough: list[tuple[float, float]], way: int) -> list[EdgePoint | None]:
    """Each rough place fitted on raw pixels, in the colour that shows the edge best."""
    places = np.array(rough)
    slope = through(places[:, 0], places[:, 1], steepest=0.7).slope
    along = np.array([1.0, slope]) / np.hypot(1.0, slope)
    return [_fit_edge(photo, x, y, along, way) for x, y in rough]


def _fit_edge(photo: _Photo, x: float, y: float, along: Array, way: int) -> EdgePoint | None:
    """Wide first, to find the edge; then narrow, so that shadow and pattern beside it stay out."""
    scale = photo.plane.scale_px_per_mm(np.array([x, y]))
    sigma = photo.blur_px / scale
    wide = _fit_step(photo, Window(np.array([x, y]), along, 0.46 * _BAND_MM, 0.75), sigma, way)
    if wide is None:
        return None
    half = max(0.3, 4 * sigma, 3.5 / scale)
    window = Window(np.array([x, wide.y]), along, 0.46 * _BAND_MM, half)
    return _fit_step(photo, window, sigma, way)


def _fit_step(photo: _Photo, window: Window, sigma: float, way: int) -> EdgePoint | None:
    """A cut edge is about as sharp as the card's print; only that keeps a soft shadow from it."""
    s, d, places = pixels(photo.plane, window, photo.bgr.shape)
    if len(s) < 40:
        return None
    coded = photo.bgr[places[:, 0].astype(int), places[:, 1].astype(int)]
    usable = ~burnt_channels(coded)
    if not usable.any():
        return None
    light = linear(coded).astype(float)
    inner, outer = d * way < -0.4 * window.half_width, d * way > 0.4 * window.half_width
    if inner.sum() < 8 or outer.sum() < 8:
        return None
    contrast = np.abs(np.median(light[inner], axis=0) - np.median(light[outer], axis=0))
    noise = np.std(light[inner], axis=0) + np.std(light[outer], axis=0) + 0.01
    values = light[:, int(np.argmax(usable * contrast / noise))]
    start = np.array([0.0, 0.0, np.log(sigma), np.median(values[d < 0]), np.median(values[d > 0])])
    weight = np.array([0.0, 0.0, 1 / _SHARPNESS_U**2, 0.0, 0.0])
    found = fit(step_model(s, d), values, start, (start, weight))
    place = float(found.values[0])
    if not found.ok or abs(place) > 0.8 * window.half_width:
        return None
    if abs(found.values[4] - found.values[3]) < 2.5 * found.noise:
        return None
    # the point of the line at this x, so that bands at equal x can be subtracted
    y = float(window.centre[1]) + place / float(window.normal[1])
    return EdgePoint(float(window.centre[0]), y, found.u(0), float(np.exp(found.values[2])))
