"""What is known of the camera before its photo is looked at, and what the card then says of it.

A calibration holds for one lens at one setting and for the whole of the picture. Where the file
tells that the photo is another (another focal length, digital zoom, cropped), the calibration is
left aside with a warning, and the card in the photo tells the lens, as it does without one. Where
the file tells nothing of the kind, the card has the last word.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from recorder.model.camera import Camera
from recorder.photo.geometry.lens import Lens, of_camera
from recorder.photo.geometry.plane import Plane, focal_of, from_points
from recorder.photo.image.conditions import Conditions
from recorder.photo.image.picture import Picture

Array = NDArray[np.float64]

# Focal length of a camera that does not say: a phone's main lens, common practice, no source.
_USUAL_35MM = 27.0
_FRAME_MM = 36.0
_U_CALIBRATED, _U_SAID, _U_USUAL = 0.01, 0.05, 0.20
# k1 and k2 of a lens that nobody calibrated, as wide as to let the card tell them.
_RADIAL_U = (0.3, 0.1)
# Of the logarithm of a focal length by perspective: no better than this, since optical centre and
# lens are guessed, and not believed when farther than that from what a camera says or usually has.
_FOCAL_FLOOR, _FOCAL_APART = 0.10, 0.45
_SAME_FOCAL = 0.02  # EXIF rounds focal lengths
_SAME_ZOOM = 0.01

# The right calibration fits a bent card up to 1.5 times worse than a lens that the card tells and
# that bends with it; one with k1 wrong by 0.01 fits a flat card mostly more than 5 times worse. In
# 95 % of the simulated photos of tests/bench/lens.py, as is the next:
_WORSE = 2.0
# Standard uncertainty of a length over the misfit at the markers, both relative: half of what
# covers lenses of several kinds (11.5; cropped 19.4), with something to spare.
LENGTH_PER_MISFIT = 8.0
LENGTH_PER_MISFIT_CROPPED = 11.0
# A lens has more terms than the two that a card can tell: common practice, no source.
LENS_FROM_CARD = 0.0007


@dataclass(frozen=True)
class Optics:
    """lens: as far as known. radial_u: standard uncertainties (2,) of its k1 and k2, None when it
    was calibrated. focal_u: relative standard uncertainty of the focal length.
    held_out: relative standard deviation of lengths by the calibration, None without one.
    turned: the same lens, had the photo been turned in another way, where the file does not say.
    alone: what the card has to tell without the calibration; None without one.
    cropped: the photo is a part of a picture, so that nobody knows where its lens looked.
    warnings: for the person who reads the measurement.
    perspective_px: focal length when the card's perspective was asked too.
    """

    lens: Lens
    radial_u: Array | None
    focal_u: float
    held_out: float | None = None
    turned: tuple[Lens, ...] = ()
    alone: Optics | None = None
    cropped: bool = False
    warnings: tuple[str, ...] = ()
    perspective_px: float | None = None

    @property
    def focal_px(self) -> float:
        return self.perspective_px or sum(self.lens.focal_px) / 2


def optics_of(photo: Picture, conditions: Conditions) -> Optics:
    """The camera that was named, else the kept one that fits the photo's EXIF, else none."""
    alone = _uncalibrated(photo)
    camera = conditions.camera or _kept(photo, conditions.cameras)
    if camera is None:
        return alone
    reason = why_not(camera, photo)
    if reason:
        said = f"the calibration {camera.name} was not used: {reason}"
        return replace(alone, warnings=(said, *alone.warnings))
    first, *others = (of_camera(camera, photo.size_px, turn) for turn in _turns(camera, photo))
    return Optics(first, None, _U_CALIBRATED, camera.held_out, turned=tuple(others), alone=alone)


def plane_of_card(mm: Array, px: Array, floor_px: float, optics: Optics) -> tuple[Plane, Optics]:
    """The plane through the card's corners (n, 2), and the optics by which it was found.

    A calibration that fits the card clearly worse than a lens that the card itself tells is that
    of another camera, or of another focal length, and is left aside with a warning. ``floor_px``
    as for ``from_points``. Raises ValueError for points that fix no plane.
    """
    if optics.alone is None:
        told = from_points(mm, px, floor_px, optics.lens, optics.radial_u)
        return told, _with_focal(told, optics)
    alone = optics.alone
    free = from_points(mm, px, floor_px, alone.lens, alone.radial_u)
    fits = [
        (from_points(mm, px, floor_px, lens), lens)
        for lens in (optics.lens, *optics.turned)
        if lens.reaches(px)
    ]
    plane, lens = min(fits, key=lambda fit: fit[0].residual_px, default=(None, optics.lens))
    if plane and plane.residual_px <= _WORSE * max(free.residual_px, floor_px):
        return plane, replace(optics, lens=lens, turned=())
    off = f"are {plane.residual_px:.1f} px off with it" if plane else "have no place with it"
    said = (
        f"the lens {optics.lens.said} does not fit this photo (the card's corners {off} and "
        f"{free.residual_px:.1f} px without); it was not used, calibrate this camera at this focal "
        "length and distance"
    )
    alone = replace(alone, warnings=(said, *optics.warnings, *alone.warnings))
    return free, _with_focal(free, alone)


def _with_focal(plane: Plane, optics: Optics) -> Optics:
    """The focal length by the card's perspective as well: seen askance, a square tells it.

    The two means of its logarithm are weighed by their variances.
    """

    def logarithm(seen: Plane) -> float:
        focal = focal_of(seen, np.array(optics.lens.centre_px))
        return math.log(focal) if focal else math.nan

    found = logarithm(plane)
    u = plane.u_of(logarithm) if math.isfinite(found) else math.nan
    before = math.log(optics.focal_px)
    if not math.isfinite(u) or abs(found - before) > _FOCAL_APART:
        return optics
    u = math.hypot(u, _FOCAL_FLOOR)
    share = optics.focal_u**2 / (optics.focal_u**2 + u**2)
    return replace(
        optics,
        perspective_px=math.exp(before + share * (found - before)),
        focal_u=math.sqrt(share) * u,
    )


def relative_lens_u(optics: Optics, residual_px: float, size_px: float) -> float:
    """Relative standard uncertainty of a length between the card's strips, from the lens.

    residual_px: misfit of the card's corners. size_px: diagonal of the box around them.
    """
    misfit = residual_px / size_px
    if optics.held_out is not None:
        return math.hypot(optics.held_out, LENGTH_PER_MISFIT * misfit)
    per_misfit = LENGTH_PER_MISFIT_CROPPED if optics.cropped else LENGTH_PER_MISFIT
    return max(LENS_FROM_CARD, per_misfit * misfit)


def why_not(camera: Camera, photo: Picture) -> str:
    """Why a calibration does not hold for a photo, as far as the file tells, and what to do.

    Empty where it holds.
    """
    if camera.model and photo.model and not _same_device(camera, photo):
        return f"{photo.make} {photo.model} took the photo; calibrate that camera"
    if not _near(camera.focal_mm, photo.focal_mm, _SAME_FOCAL):
        return (
            f"its focal length is {camera.focal_mm:g} mm and that of the photo "
            f"{photo.focal_mm:g} mm; calibrate this focal length too"
        )
    if not _near(camera.zoom, photo.zoom, _SAME_ZOOM):
        return (
            f"its digital zoom is {camera.zoom:g} and that of the photo {photo.zoom:g}; "
            "take the photo at the zoom of the calibration"
        )
    if not _near(camera.focal_35mm, photo.focal_35mm, 2 * _SAME_FOCAL):
        return (
            f"the photo shows what a lens of {photo.focal_35mm:g} mm would on 35 mm film, and the "
            f"calibration is for {camera.focal_35mm:g} mm; take the photo without digital zoom"
        )
    if _cropped(photo):
        return "the photo was cropped; use it as the camera took it"
    if not same_shape(photo.size_px, camera.size_px):
        return (
            f"the photo's sides are {_sides(photo.size_px)} and those of the calibration "
            f"{_sides(camera.size_px)}; set the camera to the same format, and do not crop"
        )
    return ""


def same_shape(one: tuple[int, int], other: tuple[int, int]) -> bool:
    """Whether two pictures have the same ratio of long to short side, but for whole pixels."""
    (a, b), (c, d) = sorted(one), sorted(other)
    return abs(a * d - b * c) <= max(b, d)


def _kept(photo: Picture, cameras: tuple[Camera, ...]) -> Camera | None:
    """The calibration for the photo's lens: one that holds, near its size, the newest."""
    mine = [
        camera
        for camera in cameras
        if camera.model
        and _same_device(camera, photo)
        and _near(camera.focal_mm, photo.focal_mm, _SAME_FOCAL)
    ]
    pixels = math.prod(photo.size_px)
    return min(
        mine,
        key=lambda camera: (
            bool(why_not(camera, photo)),
            abs(math.log(math.prod(camera.size_px) / pixels)),
            -camera.calibrated_at.timestamp(),
        ),
        default=None,
    )


def _same_device(camera: Camera, photo: Picture) -> bool:
    return (camera.make.casefold(), camera.model.casefold()) == (
        photo.make.casefold(),
        photo.model.casefold(),
    )


def _near(one: float | None, other: float | None, relative: float) -> bool:
    """Whether two numbers agree; one that nobody wrote down does not disagree."""
    return not one or not other or abs(one / other - 1) <= relative


def _turns(camera: Camera, photo: Picture) -> tuple[int, ...]:
    """EXIF orientations that the photo may have had, the likeliest first.

    A program that turns a picture upright and writes "not turned" gives itself away only by the
    picture's shape.
    """

    def as_the_camera(size_px: tuple[int, int]) -> bool:
        return (size_px[0] < size_px[1]) == (camera.size_px[0] < camera.size_px[1])

    if photo.orientation and as_the_camera(photo.stored_px):
        return (photo.orientation,)
    return (1, 3) if as_the_camera(photo.size_px) else (6, 8)


def _uncalibrated(photo: Picture) -> Optics:
    """By EXIF where the camera writes it, else a usual phone."""
    width, height = photo.size_px
    cropped = _cropped(photo)
    whole = photo.said_px if cropped and photo.said_px else photo.size_px
    # Some cameras count the digital zoom in the focal length for 35 mm film and some do not.
    zoomed = math.log(photo.zoom) / 2 if photo.focal_35mm else 0.0
    focal_35mm = photo.focal_35mm or _USUAL_35MM * photo.zoom
    focal = focal_35mm / _FRAME_MM * max(whole) * math.exp(zoomed)
    focal_u = _U_SAID if photo.focal_35mm and not cropped else _U_USUAL
    middle = ((width - 1) / 2, (height - 1) / 2)
    lens = Lens((focal, focal), middle, said="found from the card in the photo")
    said = (
        f"the photo was cropped from {_sides(whole)} to {_sides(photo.size_px)} px, so that "
        "nobody knows where its lens looked; use the photo as the camera took it"
    )
    return Optics(
        lens=lens,
        radial_u=np.array(_RADIAL_U),
        focal_u=math.hypot(focal_u, zoomed),
        cropped=cropped,
        warnings=(said,) if cropped else (),
    )


def _cropped(photo: Picture) -> bool:
    """As far as the file tells: a program left the size that the camera wrote down.

    A picture that was made smaller keeps its shape.
    """
    return photo.said_px is not None and not same_shape(photo.said_px, photo.size_px)


def _sides(size_px: tuple[int, int]) -> str:
    return f"{size_px[0]} x {size_px[1]}"
