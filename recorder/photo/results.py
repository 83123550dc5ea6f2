"""Numbers with their uncertainty budgets and decisions, from what was found in a photo."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from recorder.model.measurement import (
    BudgetTerm,
    Decision,
    Measurement,
    SeamMeasurement,
    decisions_on,
    worst,
)
from recorder.photo.budget import (
    EDGES_TOGETHER,
    LENS_UNCALIBRATED_ANGLE_DEG,
    LENS_UNCALIBRATED_LOCAL,
    LENS_UNCALIBRATED_STEP_MM,
    LENS_UNCALIBRATED_WIDTH,
    TONE_POWER,
    bounded,
    relative_blur,
    relative_lens,
    relative_plane,
    relative_scale,
    stated,
    terms,
    u_of_tone,
)
from recorder.photo.conditions import Conditions
from recorder.photo.ends import Number, belt_width, edge_offset, skew, splice_width
from recorder.photo.fingers import count_and_pitch
from recorder.photo.gap import RESOLVED_SIGMAS, GapPoint
from recorder.photo.plane import Plane
from recorder.photo.seen import Seen
from recorder.photo.trend import scatter_mm, unseen_mm

# By name of the measurement, with its budget.
Stated = dict[str, tuple[Measurement, tuple[BudgetTerm, ...]]]


def results(file: str, seen: Seen, conditions: Conditions) -> SeamMeasurement:
    """The measurement of one photo with its decisions."""
    conditions = conditions.for_card(seen.card.layout.size)
    all_stated: Stated = {}
    all_stated |= _gaps(seen, conditions)
    all_stated |= _widths(seen, conditions)
    all_stated |= _ends(seen, conditions)
    fingers, pitch = count_and_pitch(seen.seam)
    if pitch is not None:
        all_stated |= _length("finger_pitch", pitch, seen, conditions)
    numbers = {name: number for name, (number, _) in all_stated.items()}
    decisions = decisions_on(numbers, conditions.limits)
    centre = np.array([seen.ends.x, seen.ends.middle_y])
    return SeamMeasurement.model_validate(
        {
            "file": file,
            "status": "measured",
            "finger_count": fingers,
            "scale_px_per_mm": seen.plane.scale_px_per_mm(centre),
            "decision": worst(decisions.values()),
            "decisions": decisions,
            "limits": conditions.limits,
            "budget": {name: budget for name, (_, budget) in all_stated.items()},
            "warnings": tuple(_warnings(seen, conditions, numbers, decisions)),
            **numbers,
        }
    )


def worst_point(seen: Seen) -> GapPoint:
    """The window with the largest gap."""
    return max(seen.gaps.points, key=lambda point: point.gap)


def _gaps(seen: Seen, conditions: Conditions) -> Stated:
    """The largest gap and the mean along the flanks.

    Blur, contrast and scale are shared by all windows, so only the scatter shrinks in the mean.
    """
    points, worst_one = seen.gaps.points, worst_point(seen)
    scatter = scatter_mm(seen.gaps)
    mean = float(np.average([p.gap for p in points], weights=[p.weight for p in points]))
    blur = relative_blur(seen.card)
    scale = relative_scale(conditions)
    plane = relative_plane(seen, conditions)
    contrast = seen.gaps.u_contrast
    sigma = float(np.median([p.sigma for p in points]))

    def common(gap: float, by_blur: float, by_contrast: float) -> dict[str, float]:
        return {
            "blur_of_the_photo": by_blur * blur,
            "contrast_of_the_gap": by_contrast * contrast,
            "print_scale": gap * scale,
            "plane_offset": gap * plane,
            "lens_not_calibrated": gap * max(LENS_UNCALIBRATED_LOCAL, relative_lens(seen.card)),
            "corner_noise": gap * _u_corners(seen) / _width(seen),
            "tone_curve_and_jpeg": u_of_tone(gap, sigma, seen.card.tone_bend),
        }

    largest = terms(
        fit_of_the_window=2 * worst_one.u,  # texture and JPEG tie neighbouring pixels together
        largest_of_many=1.5 * scatter,
        tips_not_seen=unseen_mm(seen.gaps),
        **common(worst_one.gap, worst_one.by_blur, worst_one.by_contrast),
    )
    average = terms(
        scatter_along_the_seam=float(np.std([p.gap for p in points])) / np.sqrt(len(points)),
        **common(
            mean,
            float(np.mean([p.by_blur for p in points])),
            float(np.mean([p.by_contrast for p in points])),
        ),
    )
    resolved = RESOLVED_SIGMAS * sigma
    return {
        "gap_max": (bounded(stated(worst_one.gap, "mm", largest), resolved), largest),
        "gap_mean": (bounded(stated(mean, "mm", average), resolved), average),
    }


def _widths(seen: Seen, conditions: Conditions) -> Stated:
    found: Stated = {}
    edges = [*seen.edges.points("upper"), *seen.edges.points("lower")]
    expected = seen.card.blur_px / seen.plane.scale_px_per_mm(_centre(seen))
    softer = max(0.0, float(np.median([e.blur_mm for e in edges])) - expected)
    for name, number in (
        ("belt_width", belt_width(seen.ends)),
        ("splice_width", splice_width(seen.edges, seen.ends)),
    ):
        budget = terms(
            edge_scatter=EDGES_TOGETHER * number.u,
            edge_softness=0.3 * softer * np.sqrt(2) + 0.01,
            corner_noise=_u_corners(seen),
            print_scale=number.value * relative_scale(conditions),
            plane_offset=number.value * relative_plane(seen, conditions),
            lens_not_calibrated=number.value * relative_lens(seen.card),
        )
        found[name] = (stated(number.value, "mm", budget), budget)
    return found


def _ends(seen: Seen, conditions: Conditions) -> Stated:
    step, turn = edge_offset(seen.ends), skew(seen.ends)
    worse = relative_lens(seen.card) / LENS_UNCALIBRATED_WIDTH
    step_budget = terms(
        edge_scatter=EDGES_TOGETHER * step.u,
        print_scale=step.value * relative_scale(conditions),
        plane_offset=step.value * relative_plane(seen, conditions),
        lens_not_calibrated=LENS_UNCALIBRATED_STEP_MM * worse,
    )
    turn_budget = terms(
        edge_scatter=EDGES_TOGETHER * turn.u,
        lens_not_calibrated=LENS_UNCALIBRATED_ANGLE_DEG * worse,
    )
    return {
        "edge_offset": (stated(step.value, "mm", step_budget), step_budget),
        "skew": (stated(turn.value, "deg", turn_budget), turn_budget),
    }


def _length(name: str, number: Number, seen: Seen, conditions: Conditions) -> Stated:
    budget = terms(
        seam_scatter=number.u,
        print_scale=number.value * relative_scale(conditions),
        plane_offset=number.value * relative_plane(seen, conditions),
        lens_not_calibrated=number.value * relative_lens(seen.card),
        corner_noise=number.value * _u_corners(seen) / _width(seen),
    )
    return {name: (stated(number.value, "mm", budget), budget)}


def _centre(seen: Seen) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    return np.array([seen.ends.x, seen.ends.middle_y])


def _width(seen: Seen) -> float:
    x = seen.ends.x
    return float(seen.ends.left_lower.at(x) - seen.ends.left_upper.at(x))


def _u_corners(seen: Seen) -> float:
    """What the noise of the marker corners does to the distance between the belt's edges, mm."""
    arm = np.array([0.0, _width(seen) / 2])
    ends_px = seen.plane.to_px(np.array([_centre(seen) - arm, _centre(seen) + arm]))

    def distance(plane: Plane) -> float:
        one, other = plane.to_mm(ends_px)
        return float(np.linalg.norm(other - one))

    return seen.plane.u_of(distance)


def _warnings(
    seen: Seen,
    conditions: Conditions,
    numbers: dict[str, Measurement],
    decisions: dict[str, Decision],
) -> Iterator[str]:
    if conditions.print_scale is None:
        yield _print_never_measured(conditions.print_scale_size, seen.card.layout.size)
    yield "the lens is not calibrated: lengths carry an allowance for it"
    missing = len(seen.card.layout.markers) - seen.card.markers
    if missing:
        yield f"{missing} of the card's markers could not be used"
    if seen.card.overexposed:
        yield "the card's paper is burnt out: the blur is less well known"
    if abs(seen.card.tone_bend) > TONE_POWER:
        yield "the card's black is unlike print, bent by the camera: gaps carry an allowance"
    if numbers["gap_max"].below:
        yield "the gap is too narrow for this photo: its number is an upper bound"
    elif not seen.gaps.contrast_seen:
        yield "no gap is wide enough to tell how dark it is inside: its uncertainty is wider"
    for name, decision in decisions.items():
        if decision is Decision.UNDECIDED:
            yield f"{name.replace('_', ' ')} lies within its uncertainty of a limit: undecided"


def _print_never_measured(measured: str | None, size: str) -> str:
    of = "the print of the card was never measured"
    if measured not in (None, size):
        of = f"the print of card {measured} was measured, but the photo shows card {size}"
    return f"{of}: every length carries 1 % for it; measure the two bars once with a caliper"
