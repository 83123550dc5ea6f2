"""The uncertainty budget: named standard uncertainties, added by the law of propagation.

JCGM 100:2008, 5.1.2 (independent terms add as squares) and 6.2 (expanded uncertainty, k = 2).
"""

from __future__ import annotations

import numpy as np

from recorder.model.measurement import BudgetTerm, Measurement
from recorder.photo.conditions import Conditions
from recorder.photo.gap import RESOLVED_SIGMAS
from recorder.photo.plane import distance_mm
from recorder.photo.reference import FoundCard
from recorder.photo.seen import Seen

COVERAGE = 2.0

# Standard uncertainties, common practice, no source, set wide on purpose; relative unless named.
SCALE_NEVER_MEASURED = 0.010  # what printers do to a page at "100 %"
SCALE_MEASURED = 0.0006  # a caliper read to 0.05 mm at both ends of a bar of 100 mm
LENS_UNCALIBRATED_WIDTH = 0.0020  # across a belt that lies between the strips of the card
LENS_PER_MISFIT = 6.0  # see relative_lens
LENS_UNCALIBRATED_LOCAL = 0.006  # of a small length anywhere in the picture
LENS_UNCALIBRATED_ANGLE_DEG = 0.06
LENS_UNCALIBRATED_STEP_MM = 0.02
FLATNESS_MM = 0.35  # how far card and belt top lie off one plane
BLUR_DIFFERENCE = 0.05  # between card and belt, beside what the marker sides show
EDGES_TOGETHER = 2.0  # neighbouring places on an edge share the bench's pattern and shadow
TONE_CURVE_MM = 0.006  # of a gap: camera tone curve, JPEG
TONE_POWER = 0.12  # of the logarithm of the tone curve's power: how black the print may be
BEND_READ_SHORT = 1.15  # sRGB is no pure power, so that black near zero tells too little
SHARPENED_NARROW = 0.45  # of a gap that the blur fills, in sigmas of the blur; see u_of_tone
NARROW_SIGMAS = 3.6  # width of such a gap


def relative_scale(conditions: Conditions) -> float:
    return SCALE_NEVER_MEASURED if conditions.print_scale is None else SCALE_MEASURED


def relative_plane(seen: Seen, conditions: Conditions) -> float:
    """Belt top off the plane that was assumed, in proportion to the camera's distance."""
    centre = np.array([seen.ends.x, seen.ends.middle_y])
    away_mm = distance_mm(seen.plane, centre, seen.optics.focal_px)
    flat = FLATNESS_MM / away_mm
    if conditions.card_on == "belt" or conditions.belt_thickness_mm is None:
        return flat
    raised_by = conditions.belt_thickness_mm / away_mm
    return float(np.hypot(flat, raised_by * seen.optics.focal_u))


def relative_lens(card: FoundCard) -> float:
    """Of a length between the card's strips, from a lens that nobody calibrated.

    A lens that bends straight lines leaves a misfit at the markers. In the six real chessboard
    photos left02 .. left14 (even numbers) of tests/external/test_board_photos.py the error of a
    length between two outer strips was 7.5 to 11.3 times that misfit over the size of the board;
    half of the largest, rounded up to 6, covers it with k = 2. The test holds it against the other
    left photos and against those of the second camera of the pair. Other lenses may bend in
    another way.
    """
    return max(LENS_UNCALIBRATED_WIDTH, LENS_PER_MISFIT * card.plane.residual_px / card.size_px)


def relative_blur(card: FoundCard) -> float:
    """Of the blur at the seam, which is taken from the marker sides."""
    return float(np.hypot(BLUR_DIFFERENCE, card.blur.spread))


def u_of_tone(gap_mm: float, sigma_mm: float, bend: float) -> float:
    """Of a gap, from what the camera does to the light after the lens, mm.

    Sharpening darkens what is narrower than the blur, and a disc of defocus is not Gaussian. In
    rendered scenes with both (unsharp mask of 0.4 to 0.6, disc of 1.2 to 2.4 pixels) gaps of two to
    four sigmas came out up to 0.9 sigma too wide, those of five sigmas hardly. None of them
    came out narrower, so that the upper bound of an unresolved gap needs no more.

    A tone curve that raises light to a power p moves the middle of a blurred edge by 0.81 sigma
    ln p (the mean of the larger of two normal deviates lies 0.56 sigma up: p = 2), both sides of a
    gap alike; an unresolved gap changes by its width times ln p. So 2 sigma ln p bounds it, and
    with k = 2 its standard uncertainty is sigma ln p.
    bend: ln p by the card's black.
    """
    power = float(np.hypot(BEND_READ_SHORT * bend, TONE_POWER))
    curve = float(np.hypot(TONE_CURVE_MM, sigma_mm * power))
    if gap_mm < RESOLVED_SIGMAS * sigma_mm:
        return curve
    fading = min(1.0, (NARROW_SIGMAS * sigma_mm / max(gap_mm, 1e-6)) ** 3)
    return float(np.hypot(curve, SHARPENED_NARROW * sigma_mm * fading))


def terms(**named: float) -> tuple[BudgetTerm, ...]:
    """Terms by name; underscores become spaces."""
    return tuple(BudgetTerm(name=name.replace("_", " "), u=abs(u)) for name, u in named.items())


def stated(value: float, unit: str, budget: tuple[BudgetTerm, ...]) -> Measurement:
    """A measurement from its value and its budget: U = k u_c."""
    u_c = float(np.sqrt(sum(term.u**2 for term in budget)))
    return Measurement(value=value, unit=unit, U=COVERAGE * u_c, k=COVERAGE)


def bounded(number: Measurement, quantification_limit: float) -> Measurement:
    """The same number, or under the quantification limit its upper bound."""
    if number.value >= quantification_limit:
        return number
    bound = max(number.value, 0.0) + number.U
    return number.model_copy(update={"value": bound, "below": True})
