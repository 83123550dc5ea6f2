"""The reference card in a photo: its markers to a few hundredths of a pixel, and what the camera
makes of edges there.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from recorder.photo.card.fiducials import find_markers
from recorder.photo.card.layout import CARD_SIZES, MODULES, CardLayout
from recorder.photo.edges.blur import Blur, blur_of
from recorder.photo.edges.response import Response, fit_steps, learn
from recorder.photo.edges.strips import Frames, read
from recorder.photo.geometry.optics import Optics, plane_of_card
from recorder.photo.geometry.plane import Plane
from recorder.photo.image.conditions import Conditions
from recorder.photo.image.exposure import BURNT_SHARE, UNKNOWN_BEND, tone_bend
from recorder.photo.image.refusal import Refusal

Array = NDArray[np.float64]

LEAST_MARKERS = 4
_LEAST_OF_OTHER = 2  # markers of another card that are no chance
CORNER_FLOOR_PX = 0.05  # print edge and camera leave this much even where the fit says less
LARGEST_TILT_DEG = 45.0
LEAST_MARKER_PX = 24.0
_SOUND_SIDES = 8  # marker sides beside paper that is not burnt out, enough to tell the blur
_BURNT_BLUR = 0.15  # relative standard uncertainty of a blur read beside burnt-out paper
_SIDE_BIN_PX = 0.5
_CLEAR_SIGMAS = 2.7  # of the blur, from what lies beyond the border of a marker and its white
_LEAST_PLACES = 5  # across a side, at which there are pixels
_PIECES = 3  # of a marker side, whose line is drawn through their places
_LEARN_FROM = 16  # sides, spread over the card: more tell no more and take longer
_LEARN_REACH_PX = 14.0


@dataclass(frozen=True)
class FoundCard:
    """layout: which card. plane: of the card, in true millimetres. blur: over the photo.
    response: what the camera makes of edges; plain_blur:
    the blur over ``blur`` if that were plain. markers: how many were used.
    size_px: diagonal of the box around its markers.
    print_scale: true / nominal length in x and y, as far as known. optics: as the card left them.
    tone_bend: of the photo by the card's black, see ``exposure``.
    overexposed: the card's paper is burnt out beside nearly all of its markers.
    """

    layout: CardLayout
    plane: Plane
    blur: Blur
    markers: int
    size_px: float
    print_scale: tuple[float, float]
    optics: Optics
    response: Response
    plain_blur: float
    tone_bend: float
    overexposed: bool

    @property
    def blur_px(self) -> float:
        """Gaussian sigma in the middle of the card."""
        return self.blur.usual_px


@dataclass(frozen=True)
class _Sides:
    """The four sides of n markers, in order. point, direction: (n, 4, 2) of their lines in pixels.
    across: (n, 4, 2) outward. blur: (n, 4) sigma in pixels. ink_to_paper: (n, 4) light of one over
    that of the other. burnt: (n, 4) share of paper that is burnt out. sound: (n,) markers all of
    whose sides could be fitted.
    """

    point: Array
    direction: Array
    across: Array
    blur: Array
    ink_to_paper: Array
    burnt: Array
    sound: NDArray[np.bool_]

    def corners(self) -> Array:
        """(n, 4, 2) where neighbouring sides meet; top left first, as the marker is read."""
        point, direction = self.point, self.direction
        before, onward = np.roll(point, 1, axis=1), np.roll(direction, 1, axis=1)
        apart = point - before
        cross = onward[..., 0] * direction[..., 1] - onward[..., 1] * direction[..., 0]
        way = (apart[..., 0] * direction[..., 1] - apart[..., 1] * direction[..., 0]) / cross
        return np.asarray(before + onward * way[..., None])


def find_card(
    grey: NDArray[np.uint8],
    burnt: NDArray[np.bool_],
    conditions: Conditions,
    optics: Optics,
) -> FoundCard:
    """The card in a photo; raises Refusal when there is none that can carry a measurement.

    grey: codes of the luminance. burnt: pixels at the end of a channel; markers beside such paper
    tell their place, not the blur. optics: what is known of the camera; the card tells more.
    """
    rough = find_markers(grey)
    if not rough and find_markers(np.ascontiguousarray(grey[:, ::-1])):
        raise Refusal(
            "the card is mirrored in the photo; turn mirroring off in the camera, or print the "
            "card on the front of the sheet"
        )
    layout = layout_of(rough)
    print_scale = conditions.for_card(layout.size).print_scale or (1.0, 1.0)
    mine = {marker: rough[marker] for marker in rough if marker in layout.markers}
    side_px = min(float(np.linalg.norm(np.roll(c, 1, 0) - c, axis=1).min()) for c in mine.values())
    if side_px < LEAST_MARKER_PX:
        raise Refusal(
            f"the card is too small in the photo ({side_px:.0f} px a marker); "
            "go closer so that the card fills the picture"
        )
    seen = _look(grey, burnt, np.array(list(mine.values())))
    sides, good = seen.sides, seen.good
    used = {marker: seen.sides.corners()[i] for i, marker in enumerate(mine) if good[i]}
    need_markers(used, layout)
    mm = np.concatenate([layout.corners_mm(m) for m in used]) * print_scale
    px = np.concatenate(list(used.values()))
    try:
        plane, optics = plane_of_card(mm, px, CORNER_FLOOR_PX, optics)
    except ValueError as error:
        raise Refusal("the card's markers lie in no plane; lay the card flat") from error
    centre = np.array(layout.splice_centre_mm) * print_scale
    _usable(plane, centre, px)
    # Burnt-out paper swells a marker evenly, which leaves its place; its edges look too sharp.
    unburnt = good[:, None] & (sides.burnt <= BURNT_SHARE)
    overexposed = int(unburnt.sum()) < _SOUND_SIDES
    told = np.broadcast_to(good[:, None], unburnt.shape) if overexposed else unburnt
    blur = blur_of(sides.point[told], sides.across[told], np.log(sides.blur[told]))
    if overexposed:
        blur = replace(blur, spread=float(np.hypot(blur.spread, _BURNT_BLUR)))
    swell = _swell(plane, mm.reshape(-1, 4, 2), sides, good) / blur.usual_px
    bend = tone_bend(float(np.median(sides.ink_to_paper[told])), swell)
    return FoundCard(
        layout=layout,
        plane=plane,
        blur=blur,
        markers=len(used),
        size_px=float(np.linalg.norm(np.ptp(px, axis=0))),
        print_scale=print_scale,
        optics=optics,
        response=seen.response,
        plain_blur=seen.plain_blur,
        tone_bend=UNKNOWN_BEND if overexposed else bend,
        overexposed=overexposed,
    )


def marker_corners(
    grey: NDArray[np.uint8], burnt: NDArray[np.bool_], rough: dict[int, Array]
) -> dict[int, Array]:
    """Corners (4, 2) to a few hundredths of a pixel of the markers that are sound, by their ids.

    rough: as ``find_markers`` gives them.
    """
    if not rough:
        return {}
    seen = _look(grey, burnt, np.array(list(rough.values())))
    corners = seen.sides.corners()
    return {marker: corners[i] for i, marker in enumerate(rough) if seen.good[i]}


def glance(
    grey: NDArray[np.uint8], burnt: NDArray[np.bool_], squares: Array
) -> tuple[float, float] | None:
    """Blur in pixels (Gaussian sigma) and light of ink over that of paper at some markers
    (n, 4, 2), roughly; None where no marker is sound.
    """
    length = np.linalg.norm(squares[:, 1] - squares[:, 0], axis=1)
    sides = _sides(grey, burnt, squares, Response(), float(length.min()) / MODULES / 6, 0.0)
    if not sides.sound.any():
        return None
    ink = float(np.median(sides.ink_to_paper[sides.sound]))
    return float(np.median(sides.blur[sides.sound])), ink


@dataclass(frozen=True)
class _Seen:
    """good: (n,) markers whose sides are sound and near where the search saw them."""

    sides: _Sides
    good: NDArray[np.bool_]
    response: Response
    plain_blur: float


def _look(grey: NDArray[np.uint8], burnt: NDArray[np.bool_], squares: Array) -> _Seen:
    """The sides of markers (n, 4, 2), first as a plain camera shows them, then as this one does."""
    length = np.linalg.norm(squares[:, 1] - squares[:, 0], axis=1)
    first = _sides(grey, burnt, squares, Response(), float(length.min()) / MODULES / 6, 0.0)
    response = _response(grey, first)
    usual = float(np.median(first.blur))
    sides = _sides(grey, burnt, first.corners(), response, usual, _CLEAR_SIGMAS * usual)
    moved = np.abs(sides.corners() - squares).max(axis=(1, 2))
    good = first.sound & sides.sound & (moved < 4.0 + 0.06 * length)
    return _Seen(sides, good, response, float(np.median(first.blur / sides.blur)))


def _swell(plane: Plane, mm: Array, sides: _Sides, good: NDArray[np.bool_]) -> float:
    """How far the sides of the good markers lie outside of their places on the plane, in pixels.

    mm: (n, 4, 2) their corners. The spaces between the markers hold the plane's scale, so that it
    hides little of it.
    """
    middles = (mm + np.roll(mm, -1, axis=1)) / 2
    wanted = plane.to_px(middles.reshape(-1, 2)).reshape(middles.shape)
    outward = ((sides.point[good] - wanted) * sides.across[good]).sum(axis=2)
    return float(np.median(outward))


def layout_of(rough: dict[int, Array]) -> CardLayout:
    """The card to which markers belong, by their ids; raises Refusal."""
    if not rough:
        raise Refusal(
            "no reference card is in the photo; lay the card around the splice so that all of its "
            "markers show, in even light"
        )
    layout = max(CARD_SIZES.values(), key=lambda card: len(rough.keys() & card.markers.keys()))
    mine = rough.keys() & layout.markers.keys()
    if not mine:
        raise Refusal("the markers in the photo are not of a Seamnote card; use 'seamnote card'")
    for other in CARD_SIZES.values():
        if other is not layout and len(rough.keys() & other.markers.keys()) >= _LEAST_OF_OTHER:
            raise Refusal(
                f"two cards are in the photo ({layout.size} and {other.size}); "
                "leave the one that lies around the splice"
            )
    return layout


def need_markers(squares: dict[int, Array], layout: CardLayout) -> None:
    """Markers on both strips, so that the splice is between known points; raises Refusal."""
    middle = layout.splice_centre_mm[1]
    above = sum(layout.markers[m][1] < middle for m in squares)
    below = len(squares) - above
    too_few = len(squares) < LEAST_MARKERS or min(above, below) < 2
    if too_few:
        raise Refusal(
            f"only {len(squares)} of the card's {len(layout.markers)} markers can be used "
            f"({above} on one strip, {below} on the other; two on each are needed); "
            "show the whole card, in focus and without glare"
        )


def _usable(plane: Plane, centre: Array, px: Array) -> None:
    tilt = plane.tilt_deg(centre)
    if tilt > LARGEST_TILT_DEG:
        raise Refusal(
            f"the photo is too oblique ({tilt:.0f}° off square); hold the camera square above"
        )
    size = float(np.linalg.norm(np.ptp(px, axis=0)))
    if plane.residual_px > max(1.0, 0.004 * size):
        raise Refusal(
            f"the card is not flat (its markers are {plane.residual_px:.1f} px off a plane); "
            "glue it on stiff card and lay it flat"
        )


def _frames(squares: Array, trim: float, clear_px: float) -> tuple[Frames, Array]:
    """Windows over the four sides of n markers (n, 4, 2), in order; (4n,) pixels of a module.

    trim: share of a side at each end that the neighbouring side would reach into. clear_px: how
    far the bits of the marker, and what lies beyond its white, are blurred into a window.
    """
    begin, end = squares.reshape(-1, 2), np.roll(squares, -1, axis=1).reshape(-1, 2)
    length = np.linalg.norm(end - begin, axis=1)
    along = (end - begin) / length[:, None]
    outward = np.column_stack([along[:, 1], -along[:, 0]])  # the corners run clockwise
    module = length / MODULES
    half_width = np.clip(module - clear_px, 0.45 * module, 0.8 * module)
    frames = Frames((begin + end) / 2, along, outward, length / 2 - trim * length, half_width)
    return frames, module


_TRIM = 0.9 / MODULES


def _sides(
    grey: NDArray[np.uint8],
    burnt: NDArray[np.bool_],
    squares: Array,
    response: Response,
    sigma_px: float,
    clear_px: float,
) -> _Sides:
    """The sides of markers whose corners (n, 4, 2) are known to a pixel or two.

    sigma_px: rough blur. clear_px: as for ``_frames``; a first look, which has to find the sides,
    takes none.
    """
    n = len(squares)
    whole, module = _frames(squares, _TRIM, clear_px)
    pieces = _cut(whole, _PIECES)
    strips = read(grey, pieces, bin_px=_SIDE_BIN_PX)
    fits = fit_steps(strips, response, np.full(len(pieces), max(sigma_px, 0.5)), 1.0)
    place, log_sigma, ink, paper = fits.values.T
    room = np.repeat(module, _PIECES)
    plain = (
        (np.abs(place) < 0.6 * room)
        & (paper - ink > 0.03)
        & ((strips.count > 0).sum(axis=1) >= _LEAST_PLACES)
        & np.isfinite(fits.values).all(axis=1)
    ).reshape(n, 4, _PIECES)
    places = place.reshape(n * 4, _PIECES)
    away = (np.arange(_PIECES) - (_PIECES - 1) / 2) * (2 / _PIECES) * whole.half_length[:, None]
    level = places.mean(axis=1)
    slope = (places * away).sum(axis=1) / (away**2).sum(axis=1)
    crooked = np.abs(places - level[:, None] - slope[:, None] * away).max(axis=1) > 1.5
    point = whole.centre + whole.across * level[:, None]
    direction = whole.along + whole.across * slope[:, None]
    direction /= np.linalg.norm(direction, axis=1, keepdims=True)
    across = np.column_stack([direction[:, 1], -direction[:, 0]])
    beyond = _outside(pieces, room)
    ends = read(burnt.view(np.uint8), beyond, bin_px=2.0)
    total = ends.count.sum(axis=1)
    bright = (ends.value * ends.count).sum(axis=1) * 255 / np.maximum(total, 1)

    def by_side(values: Array) -> Array:
        return np.asarray(values.reshape(n, 4, _PIECES).mean(axis=2))

    return _Sides(
        point=point.reshape(n, 4, 2),
        direction=direction.reshape(n, 4, 2),
        across=across.reshape(n, 4, 2),
        blur=np.exp(by_side(np.clip(log_sigma, -3, 3))),
        ink_to_paper=by_side(ink / np.maximum(paper, 1e-6)),
        burnt=by_side(bright),
        sound=plain.all(axis=(1, 2)) & ~crooked.reshape(n, 4).any(axis=1),
    )


def _cut(whole: Frames, pieces: int) -> Frames:
    """Each window cut into pieces along its line, in order."""
    steps = np.arange(pieces) - (pieces - 1) / 2
    reach = np.repeat(whole.half_length / pieces, pieces)
    along, across = np.repeat(whole.along, pieces, axis=0), np.repeat(whole.across, pieces, axis=0)
    shift = np.tile(steps, len(whole)) * 2 * reach
    centre = np.repeat(whole.centre, pieces, axis=0) + along * shift[:, None]
    return Frames(centre, along, across, reach, np.repeat(whole.half_width, pieces))


def _outside(frames: Frames, module: Array) -> Frames:
    """The paper beside each window."""
    centre = frames.centre + frames.across * (0.55 * module)[:, None]
    return replace(frames, centre=centre, half_width=0.25 * module)


def _response(grey: NDArray[np.uint8], sides: _Sides) -> Response:
    """What the camera makes of edges, from whole sides beside paper that is not burnt out."""
    whole, _ = _frames(sides.corners(), _TRIM, _CLEAR_SIGMAS * float(np.median(sides.blur)))
    fit = (sides.sound[:, None] & (sides.burnt <= BURNT_SHARE)).ravel()
    chosen = np.flatnonzero(fit)
    if len(chosen) < _SOUND_SIDES:
        return Response()
    chosen = chosen[np.linspace(0, len(chosen) - 1, min(_LEARN_FROM, len(chosen))).astype(int)]
    strips = read(grey, whole.take(chosen), bin_px=_SIDE_BIN_PX).cropped(_LEARN_REACH_PX)
    return learn(strips, sides.blur.ravel()[chosen]).response
