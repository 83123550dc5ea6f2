"""The reference card in a photo: its markers to a few hundredths of a pixel, and the blur there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recorder.photo.conditions import Conditions
from recorder.photo.exposure import BURNT_SHARE, UNKNOWN_BEND, tone_bend
from recorder.photo.fiducials import find_markers
from recorder.photo.layout import CARD_SIZES, MODULES, CardLayout
from recorder.photo.optics import Optics
from recorder.photo.plane import Plane, from_points
from recorder.photo.profiles import fit, step_model
from recorder.photo.refusal import Refusal

Array = NDArray[np.float64]

LEAST_MARKERS = 4
CORNER_FLOOR_PX = 0.05  # print edge and camera leave this much even where the fit says less
_LARGEST_TILT_DEG = 45.0
_LEAST_MARKER_PX = 24.0


_SOUND_SIDES = 8  # marker sides beside paper that is not burnt out, enough to tell the blur
_BURNT_BLUR = 0.15  # relative standard uncertainty of a blur read beside burnt-out paper


@dataclass(frozen=True)
class FoundCard:
    """layout: which card. plane: of the card, in true millimetres. blur_px: Gaussian sigma.
    blur_spread_px: scatter of it between marker sides.
    markers: how many were used. size_px: diagonal of the box around its markers.
    print_scale: true / nominal length in x and y, as far as known.
    tone_bend: of the photo by the card's black, see ``exposure``.
    overexposed: the card's paper is burnt out beside nearly all of its markers.
    """

    layout: CardLayout
    plane: Plane
    blur_px: float
    blur_spread_px: float
    markers: int
    size_px: float
    print_scale: tuple[float, float]
    tone_bend: float = 0.0
    overexposed: bool = False


@dataclass(frozen=True)
class _Side:
    """One side of a marker: a point and the direction of its line in pixels, its blur in pixels,
    light of ink over light of paper, share of its paper that is burnt out.
    """

    point: Array
    direction: Array
    blur: float
    ink_to_paper: float
    burnt: float


def find_card(
    grey: NDArray[np.uint8],
    light: NDArray[np.float32],
    burnt: NDArray[np.bool_],
    conditions: Conditions,
    optics: Optics,
) -> FoundCard:
    """The card in a photo; raises Refusal when there is none that can carry a measurement.

    grey: coded luminance for the search. light: linear luminance for the fit.
    burnt: pixels at the end of a channel; markers beside such paper tell their place, not the blur.
    optics: what is known of the camera; the card tells more.
    """
    rough = find_markers(grey)
    layout = _which(rough)
    print_scale = conditions.for_card(layout.size).print_scale or (1.0, 1.0)
    mine = {marker: rough[marker] for marker in rough if marker in layout.markers}
    side_px = min(float(np.linalg.norm(np.roll(c, 1, 0) - c, axis=1).min()) for c in mine.values())
    if side_px < _LEAST_MARKER_PX:
        raise Refusal(
            f"the card is too small in the photo ({side_px:.0f} px a marker); "
            "go closer so that the card fills the picture"
        )
    squares: dict[int, Array] = {}
    sides: list[_Side] = []
    for marker, corners in mine.items():
        refined = _refine(light, burnt, corners)
        if refined is not None:
            squares[marker] = refined[0]
            sides += refined[1]
    _enough(squares, layout)
    # Burnt-out paper swells a marker evenly, which leaves its place; its edges look too sharp.
    sound = [side for side in sides if side.burnt <= BURNT_SHARE]
    overexposed = len(sound) < _SOUND_SIDES
    sides = sides if overexposed else sound
    blurs = [side.blur for side in sides]
    spread = 1.4826 * float(np.median(np.abs(np.array(blurs) - np.median(blurs))))
    if overexposed:
        spread = float(np.hypot(spread, _BURNT_BLUR * np.median(blurs)))
    bend = tone_bend(float(np.median([side.ink_to_paper for side in sides])))
    bend = UNKNOWN_BEND if overexposed else bend
    mm = np.concatenate([layout.corners_mm(m) for m in squares]) * print_scale
    px = np.concatenate(list(squares.values()))
    try:
        plane = from_points(mm, px, CORNER_FLOOR_PX, optics.lens, optics.radial_u)
    except ValueError as error:
        raise Refusal("the card's markers lie in no plane; lay the card flat") from error
    centre = np.array(layout.splice_centre_mm) * print_scale
    _usable(plane, centre, px)
    return FoundCard(
        layout=layout,
        plane=plane,
        blur_px=float(np.median(blurs)),
        blur_spread_px=spread,
        markers=len(squares),
        size_px=float(np.linalg.norm(np.ptp(px, axis=0))),
        print_scale=print_scale,
        tone_bend=bend,
        overexposed=overexposed,
    )


def _which(rough: dict[int, Array]) -> CardLayout:
    if not rough:
        raise Refusal(
            "no reference card is in the photo; lay the card around the splice so that all of its "
            "markers show, in even light"
        )
    layout = max(CARD_SIZES.values(), key=lambda card: len(rough.keys() & card.markers.keys()))
    if not rough.keys() & layout.markers.keys():
        raise Refusal("the markers in the photo are not of a Seamnote card; use 'seamnote card'")
    return layout


def _enough(squares: dict[int, Array], layout: CardLayout) -> None:
    """Markers on both strips, so that the splice is between known points."""
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
    shape = np.linalg.svd(plane.jacobian(centre), compute_uv=False)
    if np.linalg.det(plane.jacobian(centre)) <= 0:
        raise Refusal("the card is mirrored in the photo; turn mirroring off in the camera")
    tilt = float(np.degrees(np.arccos(min(1.0, shape[1] / shape[0]))))
    if tilt > _LARGEST_TILT_DEG:
        raise Refusal(
            f"the photo is too oblique ({tilt:.0f}° off square); hold the camera square above"
        )
    size = float(np.linalg.norm(np.ptp(px, axis=0)))
    if plane.residual_px > max(1.0, 0.004 * size):
        raise Refusal(
            f"the card is not flat (its markers are {plane.residual_px:.1f} px off a plane); "
            "glue it on stiff card and lay it flat"
        )


def _refine(
    light: NDArray[np.float32], burnt: NDArray[np.bool_], rough: Array
) -> tuple[Array, list[_Side]] | None:
    """Corners where the lines through the four sides meet; the sides."""
    corners = rough
    sides: list[_Side] = []
    for _ in range(2):
        sides = []
        for i in range(4):
            side = _fit_side(light, burnt, corners[i], corners[(i + 1) % 4])
            if side is None:
                return None
            sides.append(side)
        corners = np.array([_meet(sides[i - 1], sides[i]) for i in range(4)])
    if np.abs(corners - rough).max() > 4.0 + 0.06 * np.linalg.norm(rough[1] - rough[0]):
        return None
    return corners, sides


def _fit_side(
    light: NDArray[np.float32], burnt: NDArray[np.bool_], begin: Array, end: Array
) -> _Side | None:
    length = float(np.linalg.norm(end - begin))
    along = (end - begin) / length
    outward = np.array([along[1], -along[0]])  # the corners run clockwise in the picture
    module = length / MODULES
    half_width, margin = 0.72 * module, 0.9 * module
    box = np.array([begin, end])
    left, top = np.floor(box.min(0) - half_width).astype(int)
    right, bottom = np.ceil(box.max(0) + half_width).astype(int) + 1
    if left < 0 or top < 0 or right > light.shape[1] or bottom > light.shape[0]:
        return None
    rows, columns = np.mgrid[top:bottom, left:right]
    offset = np.column_stack([columns.ravel(), rows.ravel()]) - begin
    s, d = offset @ along, offset @ outward
    inside = (s > margin) & (s < length - margin) & (np.abs(d) < half_width)
    if inside.sum() < 30:
        return None
    s, d = s[inside] - length / 2, d[inside]
    values = light[top:bottom, left:right].ravel()[inside].astype(float)
    ends = burnt[top:bottom, left:right].ravel()[inside][d > 0.3 * module]
    ink = float(np.percentile(values[d < 0], 20))
    paper = float(np.percentile(values[d > 0], 80))
    if paper - ink < 0.03:
        return None
    start = np.array([0.0, 0.0, np.log(max(0.8, 0.06 * module)), ink, paper])
    found = fit(step_model(s, d), values, start)
    place, turn, log_blur, ink, paper = found.values
    if abs(place) > 0.6 * module or paper - ink < 0.03 or found.noise > 0.35 * (paper - ink):
        return None
    point = (begin + end) / 2 + outward * place
    direction = along + outward * turn
    return _Side(
        point=point,
        direction=direction / np.linalg.norm(direction),
        blur=float(np.exp(log_blur)),
        ink_to_paper=float(ink / paper),
        burnt=float(ends.mean()) if len(ends) else 0.0,
    )


def _meet(one: _Side, other: _Side) -> Array:
    directions = np.column_stack([one.direction, -other.direction])
    t = np.linalg.solve(directions, other.point - one.point)
    return np.asarray(one.point + one.direction * t[0])
