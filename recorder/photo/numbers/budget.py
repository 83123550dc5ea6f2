"""The uncertainty budget: named standard uncertainties, added by the law of propagation.

JCGM 100:2008, 5.1.2 (independent terms add as squares) and 6.2 (expanded uncertainty, k = 2).
Windows and edge places share blur, contrast, scale and lens, so that these terms are never divided
by the square root of their number.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from recorder.model.measurement import BudgetTerm, Measurement
from recorder.model.uncertainty import combine
from recorder.photo.card.layout import CardLayout
from recorder.photo.card.reference import FoundCard
from recorder.photo.geometry.optics import relative_lens_u
from recorder.photo.geometry.plane import Plane, distance_mm
from recorder.photo.image.conditions import Conditions
from recorder.photo.numbers.seen import Seen
from recorder.photo.seam.gap import RESOLVED_SIGMAS

COVERAGE = 2.0

# Standard uncertainties, common practice, no source, set wide on purpose; relative unless named.
SCALE_NEVER_MEASURED = 0.010  # what printers do to a page at "100 %"
CALIPER_MM = 0.06  # a caliper read at both ends of a bar
LENS_LOCAL = 3.0  # of a small length anywhere in the picture, over that between the strips
LENS_ANGLE_DEG = 0.025
LENS_STEP_MM = 0.02
FLATNESS_MM = 0.22  # card and belt top lie within 0.38 mm of one plane, rectangular distribution
THICKNESS_MM = 0.10  # of the belt as told, where the card lies on the bench
BELT_TEMPERATURE_K = 6.0  # within 10 K of the 20 degrees of ISO 1, rectangular distribution
BELT_EXPANSION = 6e-5  # a kelvin, of a thermoplastic belt held by its fabric
BLUR_DIFFERENCE = 0.05  # between card and belt, beside what the marker sides show
EDGES_TOGETHER = 2.5  # neighbouring places on an edge share the bench's pattern and shadow
WINDOW_TOGETHER = 1.5  # pixels of a window share texture beyond what the fit knows of
TONE_CURVE_MM = 0.004  # of a gap: camera tone curve, JPEG
TONE_POWER = 0.12  # of the logarithm of the tone curve's power: how black the print may be
BEND_READ_SHORT = 1.15  # sRGB is no pure power, so that black near zero tells too little
CAMERA_HALF_KNOWN = 0.5  # of what sharpening and blur shape change in a gap; see u_of_camera
BLUR_SHAPE = 0.10  # of sigma, of a gap that the blur fills; see u_of_camera
NARROW_SIGMAS = 3.0  # width of such a gap
# Of a step between the ends, as far as it is not small, in the width at the splice: which end
# bounds it where.
SPLIT_STEP, SMALL_STEP_MM = 0.3, 0.15
LARGEST_OF_MANY = 1.5  # of how the gap varies within a stretch, in the largest
UNSEEN = 1 / float(np.sqrt(3))  # of what a gap may grow towards a tip, rectangular distribution


@dataclass(frozen=True)
class Relative:
    """Relative standard uncertainties that all lengths in a photo share.

    scale_x, scale_y: print scale along and across the belt. plane: belt top off the plane that was
    assumed. lens: of a length between the card's strips. corners: noise of the marker corners, on
    the belt's width. temperature: of the belt.
    """

    scale_x: float
    scale_y: float
    plane: float
    lens: float
    corners: float
    temperature: float = BELT_TEMPERATURE_K * BELT_EXPANSION

    @property
    def scale(self) -> float:
        """Along any direction."""
        return max(self.scale_x, self.scale_y)


def relative_of(seen: Seen, conditions: Conditions) -> Relative:
    """What scale, plane and lens leave open in this photo."""
    scale_x, scale_y = relative_scale(seen.card.layout, conditions)
    return Relative(
        scale_x,
        scale_y,
        relative_plane(seen, conditions),
        relative_lens(seen.card),
        relative_corners(seen),
    )


def relative_scale(layout: CardLayout, conditions: Conditions) -> tuple[float, float]:
    """Of the printed card in x and y: what the caliper leaves open, or what printers do."""
    if conditions.print_scale is None:
        return SCALE_NEVER_MEASURED, SCALE_NEVER_MEASURED
    across, down = layout.bars_mm
    return CALIPER_MM / across, CALIPER_MM / down


def relative_plane(seen: Seen, conditions: Conditions) -> float:
    """Belt top off the plane that was assumed, in proportion to the camera's distance."""
    centre = np.array([seen.ends.x, seen.ends.middle_y])
    away_mm = distance_mm(seen.plane, centre, seen.optics.focal_px)
    flat = FLATNESS_MM / away_mm
    if conditions.card_on == "belt" or conditions.belt_thickness_mm is None:
        return flat
    raised_by = conditions.belt_thickness_mm / away_mm
    told = THICKNESS_MM / away_mm
    return float(np.hypot(np.hypot(flat, told), raised_by * seen.optics.focal_u))


def relative_corners(seen: Seen) -> float:
    """What the noise of the marker corners does to the distance between the belt's edges."""
    ends = seen.ends
    edges = ends.left_upper.at(ends.x), ends.left_lower.at(ends.x)
    ends_px = seen.plane.to_px(np.array([(ends.x, y) for y in edges]))

    def distance(plane: Plane) -> float:
        one, other = plane.to_mm(ends_px)
        return float(np.linalg.norm(other - one))

    return seen.plane.u_of(distance) / distance(seen.plane)


def relative_lens(card: FoundCard) -> float:
    """Of a length between the card's strips."""
    return relative_lens_u(card.optics, card.plane.residual_px, card.size_px)


def relative_blur(card: FoundCard) -> float:
    """Of the blur at the seam, which is taken from the marker sides."""
    return float(np.hypot(BLUR_DIFFERENCE, card.blur.spread))


def u_of_tone(sigma_mm: float, bend: float) -> float:
    """Of a gap, from a tone curve that is not sRGB, mm.

    A tone curve that raises light to a power p moves the middle of a blurred edge by 0.81 sigma
    ln p (the mean of the larger of two normal deviates lies 0.56 sigma up: p = 2), both sides of a
    gap alike; an unresolved gap changes by its width times ln p. So 2 sigma ln p bounds it, and
    with k = 2 its standard uncertainty is sigma ln p.
    bend: ln p by the card's black.
    """
    power = float(np.hypot(BEND_READ_SHORT * bend, TONE_POWER))
    return float(np.hypot(TONE_CURVE_MM, sigma_mm * power))


def u_of_camera(gap_mm: float, sigma_mm: float, by_response: float) -> float:
    """Of a gap, from what the camera does to edges beside a Gaussian blur, mm.

    by_response: how much the gap changes when sharpening and the shape of the blur, as the card
    shows them, are left out: two estimators that know the camera well and not at all. What the
    card cannot show of them grows where the blur fills the gap.
    """
    filled = min(1.0, (NARROW_SIGMAS * sigma_mm / max(gap_mm, 1e-6)) ** 2)
    return float(np.hypot(CAMERA_HALF_KNOWN * by_response, BLUR_SHAPE * sigma_mm * filled))


def terms(**named: float) -> tuple[BudgetTerm, ...]:
    """Terms by name; underscores become spaces."""
    return tuple(BudgetTerm(name=name.replace("_", " "), u=abs(u)) for name, u in named.items())


def stated(value: float, unit: str, budget: tuple[BudgetTerm, ...]) -> Measurement:
    """A measurement from its value and its budget: U = k u_c."""
    return Measurement(value=value, unit=unit, U=COVERAGE * combine(budget).u, k=COVERAGE)


def bounded(number: Measurement, sigma_mm: float) -> Measurement:
    """The same gap, or under the quantification limit its upper bound."""
    if number.value >= RESOLVED_SIGMAS * sigma_mm:
        return number
    bound = max(number.value, 0.0) + number.U
    return number.model_copy(update={"value": bound, "below": True})
