"""The two edges of the belt inside the card's window.

They are found where the belt's colour ends, walking outwards from its middle in bands across it,
and taken for edges where that happens along one line; then every band is fitted on raw pixels.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

import cv2
import numpy as np
from numpy.typing import NDArray

from recorder.photo.belt.rails import Rail, rails
from recorder.photo.belt.steps import fit_steps
from recorder.photo.geometry.lines import through
from recorder.photo.geometry.plane import Plane
from recorder.photo.geometry.rectified import Raster, rectify
from recorder.photo.image.exposure import burnt_channels
from recorder.photo.image.light import linear
from recorder.photo.image.refusal import Refusal

Array = NDArray[np.float64]

_STEP_MM = 0.2
_BAND_MM = 3.0
_CLEAR_MM = 1.2  # of the card's cross bars, which throw shadows on the belt
_BEYOND_MM = 1.0  # the card's strips show that a belt ends before them
_CUT_MM = 0.3  # an edge all along so near to the card's cut is the cut, the belt lies under it
_LEAST_CODES = 12.0  # least difference in colour (8-bit codes) between belt and bench
_STRIPE_MM, _BACK = 0.5, 0.5  # beyond a line, and share of places with the belt's colour there
_STAYS_MM = 0.8  # a speck is shorter across the belt than this
_FOLLOWS_MM = 4.0  # the belt's colour may change slowly over this way, by uneven light
_SHADE = (0.3, 0.92)  # of the light around, in a shadow on the belt
_LEAST_FOUND = 0.5  # share of the bands of half the belt in which its colour must end on a line
_LEAST_SHOWN = 0.6  # share of the bands in which an edge must show
_STRIP_MM = 1.0  # half width of what is looked at beside an edge
_WIDE_MM = 0.5
_PARALLEL = 0.008  # slope between the two edges of a belt, each at its best
_CROOKED = 0.03
_SOFTER = 1.15  # blur of an edge over its usual blur; softer is something else
_SOFTEST = 2.5  # blur of an edge over that of the card; softer is a shadow's


@dataclass(frozen=True)
class EdgePoint:
    """One place on an edge. x, y: mm. u: of y from the fit. blur_mm: sigma found there."""

    x: float
    y: float
    u: float
    blur_mm: float


_Points = list[EdgePoint | None]


@dataclass(frozen=True)
class _Photo:
    """x: middles of the bands (n,), y: of the rows of the raster, cut: of the card above and below
    the belt, mm.
    """

    bgr: NDArray[np.uint8]
    plane: Plane
    blur_px: float
    x: Array
    y: Array
    cut: tuple[float, float]


@dataclass(frozen=True)
class BeltEdges:
    """upper, lower: points from left to right, at the same bands; None where none was found."""

    upper: tuple[EdgePoint | None, ...]
    lower: tuple[EdgePoint | None, ...]

    def points(self, side: str) -> list[EdgePoint]:
        return [point for point in getattr(self, side) if point is not None]


def find_edges(
    bgr: NDArray[np.uint8],
    plane: Plane,
    window_mm: tuple[float, float, float, float],
    blur_px: float,
) -> BeltEdges:
    """Both edges in bands along the belt; raises Refusal when they do not show.

    window_mm: the card's cut-away part in true millimetres. blur_px: of the photo, at the card.
    """
    left, top, right, bottom = window_mm
    box = (left + _CLEAR_MM, top - _BEYOND_MM, right - _CLEAR_MM, bottom + _BEYOND_MM)
    _in_the_picture(plane, window_mm, bgr.shape)
    raster = rectify(bgr, plane, box, _STEP_MM)
    x, profiles = _bands(raster)
    y = raster.y_mm(np.arange(len(raster.values), dtype=float))
    photo = _Photo(bgr, plane, blur_px, x, y, (top, bottom))
    one, other = _parallel(
        _edges(photo, profiles, -1, "upper"), _edges(photo, profiles, 1, "lower")
    )
    return BeltEdges(tuple(one), tuple(other))


def edges_show(
    bgr: NDArray[np.uint8], plane: Plane, window_mm: tuple[float, float, float, float]
) -> bool:
    """Whether both edges show, by where the belt's colour ends and nothing finer; raises Refusal
    where a part of the window is not in the picture.
    """
    left, top, right, bottom = window_mm
    _in_the_picture(plane, window_mm, bgr.shape)
    box = (left + _CLEAR_MM, top - _BEYOND_MM, right - _CLEAR_MM, bottom + _BEYOND_MM)
    raster = rectify(bgr, plane, box, _STEP_MM)
    x, profiles = _bands(raster)
    y = raster.y_mm(np.arange(len(raster.values), dtype=float))
    return all(_shows(x, y, profiles, way, (top, bottom)[way > 0]) for way in (-1, 1))


def _shows(x: Array, y: Array, profiles: Array, way: int, cut_mm: float) -> bool:
    for shaded in (False, True):
        places = np.interp(_ends_of_colour(profiles, way, shaded), np.arange(len(y)), y)
        found = rails(x, places, way, _LEAST_FOUND)
        if any(np.abs(rail.y - cut_mm).mean() >= _CUT_MM for rail in found):
            return True
    return False


def _parallel(upper: Iterator[_Points], lower: Iterator[_Points]) -> tuple[_Points, _Points]:
    """The likeliest of both that run alongside each other; raises Refusal when none do."""
    one, other = next(upper), next(lower)
    if _turn(one, other) < _PARALLEL:
        return one, other
    turns = [(_turn(*pair), pair) for pair in product([one, *upper], [other, *lower])]
    for turn, pair in turns:
        if turn < _PARALLEL:
            return pair
    turn, pair = min(turns, key=lambda rated: rated[0])
    if turn > _CROOKED:
        raise Refusal(
            "the two edges of the belt are not parallel, so that one of them is something else; "
            "clear the belt and the bench around the splice, and light them evenly"
        )
    return pair


def _in_the_picture(
    plane: Plane, window_mm: tuple[float, float, float, float], shape: tuple[int, ...]
) -> None:
    """The belt's edges may lie anywhere between the strips, so all of the window must show."""
    left, top, right, bottom = window_mm
    corners = plane.to_px(np.array([(left, top), (right, top), (right, bottom), (left, bottom)]))
    outside = np.maximum(-corners, corners - (shape[1] - 1, shape[0] - 1)).max()
    if outside > 0.5 * plane.scale_px_per_mm(np.array([(left + right) / 2, (top + bottom) / 2])):
        raise Refusal(
            "the splice is cut off at the rim of the picture, and perhaps an edge of the belt; "
            "show the whole card with both edges of the belt"
        )


def _bands(raster: Raster) -> tuple[Array, Array]:
    """Middles (n,) of the bands along the belt in mm, and their colours across it (n, rows, 3)."""
    wide = round(_BAND_MM / _STEP_MM)
    count = raster.values.shape[1] // wide
    cut = raster.values[:, : count * wide].reshape(len(raster.values), count, wide, 3)
    profiles = np.median(cut[:, :, ::3], axis=2).transpose(1, 0, 2)
    return raster.x_mm(np.arange(count) * wide + (wide - 1) / 2), np.asarray(profiles, float)


def _edges(photo: _Photo, profiles: Array, way: int, name: str) -> Iterator[_Points]:
    """What may be an edge, likeliest first: as if no shadow lay along the belt, then as if one may.

    Raises Refusal when nothing is.
    """
    unsharp = found = False
    for shaded in (False, True):
        places = np.interp(_ends_of_colour(profiles, way, shaded), np.arange(len(photo.y)), photo.y)
        for rail in rails(photo.x, places, way, _LEAST_FOUND):
            if np.abs(rail.y - photo.cut[way > 0]).mean() < _CUT_MM:
                continue
            if _goes_on(photo, profiles, rail, way):
                continue
            points = _fitted(photo, rail)
            if sum(point is not None for point in points) >= _LEAST_SHOWN * len(photo.x):
                found = True
                yield points
            unsharp = True
    if unsharp and not found:
        raise Refusal(
            f"the {name} edge of the belt is not sharp enough to measure, or is burnt out; "
            "clear away what lies beside the belt, focus on it, and light it evenly"
        )
    if not found:
        raise Refusal(
            f"the {name} edge of the belt does not show inside the card; use a card whose "
            "window is wider than the belt, show both edges, and a bench of another colour"
        )


def _goes_on(photo: _Photo, profiles: Array, rail: Rail, way: int) -> bool:
    """Whether the belt's colour comes back beyond a line: then it is a stripe on the belt."""
    rows = profiles.shape[1]
    colour = np.median(profiles[:, rows // 2 - 15 : rows // 2 + 16], axis=1)
    like = np.linalg.norm(profiles - colour[:, None], axis=2) < _LEAST_CODES
    away = (photo.y[None, :] - rail.y[:, None]) * way
    beyond = away > _STRIPE_MM
    again = (like & beyond).sum(axis=1) > _BACK * np.maximum(beyond.sum(axis=1), 1)
    return bool(again.mean() > _BACK)


def _turn(upper: _Points, lower: _Points) -> float:
    """Difference in slope of two edges; they may be cut differently at each end of the belt."""
    slopes = []
    for points in (upper, lower):
        at = np.array([(p.x, p.y) for p in points if p is not None])
        slopes.append(through(at[:, 0], at[:, 1], steepest=0.7).slope)
    return abs(slopes[0] - slopes[1])


def _ends_of_colour(profiles: Array, way: int, shaded: bool) -> Array:
    """Rows (n, rows) at which the belt's colour ends in each band, walking outwards; NaN elsewhere.

    shaded: a darker tone of the same colour is taken for the belt in a shadow, so that the walk
    goes on with it.
    """
    bands, rows, _ = profiles.shape
    middle = rows // 2
    start = profiles[:, middle - 15 : middle + 16]
    colour = np.median(start, axis=1)
    noise = 1.4826 * np.median(np.abs(start - colour[:, None]), axis=(1, 2))
    limit = np.maximum(6 * np.sqrt(3) * np.minimum(noise, np.median(noise) * 2), _LEAST_CODES)
    third = max(bands // 4, 1)
    both = [np.median(colour[:third], axis=0), np.median(colour[-third:], axis=0)]
    outward = profiles[:, middle:] if way > 0 else profiles[:, middle::-1]
    like = np.zeros(outward.shape[:2], bool)
    fresh = _STEP_MM / _FOLLOWS_MM
    left_for, stays = np.zeros(bands), round(2.0 / _STEP_MM)
    for i in range(outward.shape[1]):
        value = outward[:, i]
        away = np.linalg.norm(value - colour, axis=1)
        for end in both:
            away = np.minimum(away, np.linalg.norm(value - end, axis=1))
        like[:, i] = away < limit
        colour = colour + (fresh * like[:, i])[:, None] * (value - colour)
        if shaded:
            left_for = np.where(like[:, i], 0, left_for + 1)
            again = (left_for > stays) & _is_shade(value, colour)
            colour = np.where(again[:, None], value, colour)
    found = np.full(outward.shape[:2], np.nan)
    stay = round(_STAYS_MM / _STEP_MM)
    change = np.linalg.norm(np.diff(outward, axis=1), axis=2)
    for i in range(3, outward.shape[1] - stay):
        ends = (like[:, i - 3 : i].sum(axis=1) >= 2) & ~like[:, i : i + stay].any(axis=1)
        near = change[:, i - 3 : i + stay - 1]
        best = i - 3 + np.argmax(near, axis=1) + 0.5
        found[ends, i] = middle + way * best[ends]
    return found


def _is_shade(value: Array, colour: Array) -> NDArray[np.bool_]:
    """Whether colours (n, 3) are a darker tone of others."""
    now, before = linear(_coded(value)) + 1e-3, linear(_coded(colour)) + 1e-3
    share = now / before
    mean = share.mean(axis=1)
    tone = (mean > _SHADE[0]) & (mean < _SHADE[1])
    return np.asarray(tone & (np.ptp(share, axis=1) < 0.12 * mean))


def _coded(value: Array) -> NDArray[np.uint8]:
    return np.clip(value + 0.5, 0, 255).astype(np.uint8)


def _fitted(photo: _Photo, rail: Rail) -> _Points:
    """The edge in every band. Where it is softer than elsewhere it is something else, such as the
    shadow of the belt on a thing that lies beside it; there it is looked for once more on the line
    through the others.
    """
    seen = _fitted_once(photo, rail)
    sharp = _as_sharp_as_most(seen)
    points = [point if keep else None for point, keep in zip(seen, sharp, strict=True)]
    at = np.array([(point.x, point.y) for point in points if point is not None])
    if len(at) < 3 or all(sharp):
        return points
    line = through(at[:, 0], at[:, 1], steepest=0.7)
    again = _fitted_once(photo, Rail(line.along(photo.x), np.full(len(photo.x), line.slope)))
    both = [new if point is None else point for point, new in zip(points, again, strict=True)]
    kept = _as_sharp_as_most(both)
    return [point if keep else None for point, keep in zip(both, kept, strict=True)]


def _as_sharp_as_most(points: _Points) -> list[bool]:
    """Whether each point is there and about as sharp as the sharper ones."""
    blur = np.array([point.blur_mm for point in points if point is not None])
    if not len(blur):
        return [False] * len(points)
    usual = float(np.percentile(blur, 35))
    spread = 1.4826 * float(np.median(np.abs(blur[blur <= usual] - usual)))
    limit = usual * _SOFTER + 3 * spread
    return [point is not None and point.blur_mm < limit for point in points]


def _fitted_once(photo: _Photo, rail: Rail) -> _Points:
    """On raw pixels: wide first, to find it; then narrow, so that shadow and pattern beside it stay
    out.
    """
    bgr, plane, x = photo.bgr, photo.plane, photo.x
    places = np.column_stack([x, rail.y])
    px = _strip(plane, places, bgr.shape)
    if len(px) < 100:
        return [None] * len(x)
    coded = bgr[px[:, 1], px[:, 0]]
    mm = plane.to_mm(px.astype(float))
    band = np.round((mm[:, 0] - x[0]) / _BAND_MM).astype(int)
    near = (band >= 0) & (band < len(x)) & (np.abs(mm[:, 0] - x[0] - band * _BAND_MM) < 1.4)
    mm, band, coded = mm[near], band[near], coded[near]
    square = 1 / np.hypot(1, rail.slope)
    d = (mm[:, 1] - rail.y[band] - rail.slope[band] * (mm[:, 0] - x[band])) * square[band]
    normals = np.column_stack([-rail.slope, np.ones_like(x)]) * square[:, None]
    sigma = np.array(
        [plane.blur_mm(at, n, photo.blur_px) for at, n in zip(places, normals, strict=True)]
    )
    pixel = 1 / plane.scale_px_per_mm(places[len(x) // 2])
    light = np.where(_burnt_bands(coded, band, len(x))[band], 0.0, linear(coded))
    wide = fit_steps(d, light, band, np.zeros(len(x)), sigma, np.maximum(_WIDE_MM, 3 * sigma))
    centre = np.where(wide.ok, wide.place, 0.0)
    half = np.maximum(np.maximum(0.3, 4 * sigma), 3.5 * pixel)
    narrow = fit_steps(d, light, band, centre, sigma, half)
    good = wide.ok & narrow.ok & (narrow.sigma < _SOFTEST * sigma)
    # the point of the line at this x, so that bands at equal x can be subtracted
    y = rail.y + narrow.place / square
    return [
        EdgePoint(float(x[i]), float(y[i]), float(narrow.u[i]), float(narrow.sigma[i]))
        if good[i]
        else None
        for i in range(len(x))
    ]


def _burnt_bands(
    coded: NDArray[np.uint8], band: NDArray[np.int64], bands: int
) -> NDArray[np.bool_]:
    """(bands, 3) channels that are burnt out there."""
    return np.array([burnt_channels(coded[band == i]) for i in range(bands)])


def _strip(plane: Plane, places: Array, shape: tuple[int, ...]) -> NDArray[np.int64]:
    """Pixels (n, 2), column and row, within reach of a line through places in mm."""
    ends = np.array([places[0] - (_BAND_MM / 2, 0), *places, places[-1] + (_BAND_MM / 2, 0)])
    line = plane.to_px(ends)
    scale = max(plane.scale_px_per_mm(at) for at in places[:: max(len(places) // 4, 1)])
    reach = 1.3 * _STRIP_MM * scale
    low = np.maximum(np.floor(line.min(axis=0) - reach).astype(int), 0)
    high = np.minimum(np.ceil(line.max(axis=0) + reach).astype(int) + 1, (shape[1], shape[0]))
    if (high - low).min() < 2:
        return np.empty((0, 2), np.int64)
    mask = np.zeros((high[1] - low[1], high[0] - low[0]), np.uint8)
    corners = np.round(line - low).astype(np.int32)
    cv2.polylines(mask, [corners], False, 1, thickness=int(np.ceil(2 * reach)))
    rows, columns = np.nonzero(mask)
    return np.asarray(np.column_stack([columns, rows]) + low, np.int64)
