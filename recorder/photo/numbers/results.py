"""Numbers with their uncertainty budgets and decisions, from what was found in a photo."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from recorder.model.measurement import (
    LIMITED_AS,
    BudgetTerm,
    Decision,
    Flag,
    FlagKind,
    FlankGap,
    GapReading,
    Limit,
    Measurement,
    Place,
    SeamMeasurement,
    decisions_on,
    held_against,
    worst,
)
from recorder.model.uncertainty import probability_of_conformity
from recorder.photo.image.conditions import Conditions
from recorder.photo.numbers.budget import (
    EDGES_TOGETHER,
    LARGEST_OF_MANY,
    LENS_ANGLE_DEG,
    LENS_LOCAL,
    LENS_STEP_MM,
    SMALL_STEP_MM,
    SPLIT_STEP,
    TONE_POWER,
    UNSEEN,
    WINDOW_TOGETHER,
    Relative,
    bounded,
    relative_blur,
    relative_of,
    stated,
    terms,
    u_of_camera,
    u_of_tone,
)
from recorder.photo.numbers.seen import Seen
from recorder.photo.seam.ends import (
    Number,
    belt_width,
    bow,
    edge_offsets,
    end_widths,
    skew,
    splice_width,
)
from recorder.photo.seam.fingers import count_and_pitch, finger_length
from recorder.photo.seam.gap import GapPoint
from recorder.photo.seam.heights import WALL_SHARE
from recorder.photo.seam.trend import Trend, trend_of

Array = NDArray[np.float64]
Stated = dict[str, tuple[Measurement, tuple[BudgetTerm, ...]]]


def results(file: str, seen: Seen, conditions: Conditions) -> SeamMeasurement:
    """The measurement of one photo with its decisions."""
    conditions = conditions.for_card(seen.card.layout.size)
    shared = relative_of(seen, conditions)
    trend = trend_of(seen.gaps)
    all_stated: Stated = {}
    all_stated |= _gaps(seen, shared, trend)
    all_stated |= _widths(seen, shared)
    all_stated |= _ends(seen, shared)
    fingers, pitch = count_and_pitch(replace(seen.seam, flanks=seen.gaps.flanks))
    if pitch is not None:
        all_stated["finger_pitch"] = _length(pitch, shared.scale_y, shared)
    length = finger_length(seen.seam)
    if length is not None:
        all_stated["finger_length"] = _length(length, shared.scale_x, shared)
    numbers = {name: number for name, (number, _) in all_stated.items()}
    flags = tuple(_flags(seen))
    decisions = _with_flags(decisions_on(numbers, conditions.limits), flags)
    return SeamMeasurement.model_validate(
        {
            "file": file,
            "status": "measured",
            "gap_max_at": _place(seen, _widest(trend).at),
            "gap_profile": tuple(_profile(seen, shared)),
            "flanks": tuple(_flanks(seen, shared, trend)),
            "finger_count": fingers,
            "flags": flags,
            "scale_px_per_mm": seen.plane.scale_px_per_mm(_centre(seen)),
            "decision": worst(decisions.values()),
            "decisions": decisions,
            "conformity": dict(_conformity(conditions.limits, numbers)),
            "limits": conditions.limits,
            "budget": {name: budget for name, (_, budget) in all_stated.items()},
            "lens": seen.plane.lens.said,
            "warnings": tuple(_warnings(seen, conditions, numbers, decisions)),
            **numbers,
        }
    )


def _conformity(
    limits: tuple[Limit, ...], numbers: dict[str, Measurement]
) -> Iterator[tuple[str, float]]:
    """By limit; an upper bound has no distribution to count with."""
    for limit in limits:
        pair = held_against(limit, numbers)
        if pair is None or pair[0].below:
            continue
        number, bounds = pair
        low = -np.inf if bounds.low is None else bounds.low
        high = np.inf if bounds.high is None else bounds.high
        yield limit.name, probability_of_conformity(number.value, number.U / number.k, low, high)


def _gap_budget(
    gap: float, point: GapPoint, seen: Seen, shared: Relative, **own: float
) -> tuple[BudgetTerm, ...]:
    """The terms that every gap in the photo shares, after those of its ``own``."""
    return terms(
        **own,
        blur_of_the_photo=point.by_blur * relative_blur(seen.card),
        contrast_of_the_gap=point.by_contrast * seen.gaps.u_contrast,
        sharpening_and_blur_shape=u_of_camera(gap, point.sigma, point.by_response),
        tone_curve_and_jpeg=u_of_tone(point.sigma, seen.card.tone_bend),
        step_between_the_ends=point.slant * seen.gaps.u_step_mm,
        wall_of_the_gap=gap * WALL_SHARE * point.slant,
        print_scale=gap * shared.scale,
        plane_offset=gap * shared.plane,
        lens=gap * LENS_LOCAL * shared.lens,
        corner_noise=gap * shared.corners,
        temperature_of_the_belt=gap * shared.temperature,
    )


@dataclass(frozen=True)
class _Widest:
    """The largest gap: where it is, from scatter alone; unseen: how much of it no window shows."""

    gap: float
    u: float
    unseen: float
    at: Array


def _widest(trend: Trend) -> _Widest:
    """In the windows, or where a flank runs on towards a tip.

    The slot across a tip is no part of it: what stands open there is flagged, see ``flags``.
    """
    if trend.tip > trend.seen:
        return _Widest(trend.tip, trend.u_tip, trend.tip - trend.seen, np.array(trend.tip_at))
    return _Widest(trend.seen, trend.u_seen, 0.0, np.array(trend.at))


def _gaps(seen: Seen, shared: Relative, trend: Trend) -> Stated:
    """The largest gap and the mean along the seam."""
    points = seen.gaps.points
    top = next(p for p in points if (p.x, p.y) == trend.at)
    widest = _widest(trend)
    value = widest.gap
    largest = _gap_budget(
        value, top, seen, shared,
        fit_and_scatter=WINDOW_TOGETHER * widest.u,
        variation_within_a_stretch=LARGEST_OF_MANY * trend.scatter,
        tips_not_seen=UNSEEN * widest.unseen,
    )  # fmt: skip
    # By turns the higher end is on either side, so that a step nearly leaves the mean alone.
    usual = replace(_usual(points), slant=float(np.mean([p.slant for p in points])))
    average = _gap_budget(
        trend.mean, usual, seen, shared, scatter_along_the_seam=WINDOW_TOGETHER * trend.u_mean
    )
    return {
        "gap_max": (bounded(stated(value, "mm", largest), top.sigma), largest),
        "gap_mean": (bounded(stated(trend.mean, "mm", average), usual.sigma), average),
    }


def worst_point(seen: Seen) -> GapPoint:
    """The window with the largest gap."""
    return max(seen.gaps.points, key=lambda point: point.gap)


def _usual(points: tuple[GapPoint, ...]) -> GapPoint:
    """A point with the mean sensitivities of several, for what they share."""

    def mean(name: str) -> float:
        return float(np.mean([getattr(p, name) for p in points]))

    return replace(
        points[0],
        gap=mean("gap"),
        sigma=mean("sigma"),
        by_blur=mean("by_blur"),
        by_contrast=mean("by_contrast"),
        by_response=mean("by_response"),
        slant=float(np.mean([abs(p.slant) for p in points])),
    )


def _profile(seen: Seen, shared: Relative) -> Iterator[GapReading]:
    """Every window by itself, as it was fitted."""
    starts = np.cumsum([0.0, *(flank.length for flank in seen.gaps.flanks)])
    for point in seen.gaps.points:
        own = _gap_budget(point.gap, point, seen, shared, fit=WINDOW_TOGETHER * point.u)
        yield GapReading(
            s_mm=float(starts[point.flank] + point.way),
            at=_place(seen, np.array([point.x, point.y])),
            flank=point.flank + 1,
            gap=bounded(stated(point.gap, "mm", own), point.sigma),
        )


def _flanks(seen: Seen, shared: Relative, trend: Trend) -> Iterator[FlankGap]:
    for k, run in trend.flanks.items():
        mine = tuple(p for p in seen.gaps.points if p.flank == k)
        usual = _usual(mine)
        flank = seen.gaps.flanks[k]
        wide = max(run.largest, run.begin, run.end)
        scatter = {"scatter": WINDOW_TOGETHER * run.u}
        unseen = {"scatter": WINDOW_TOGETHER * run.u_ends, "tip": UNSEEN * (wide - run.largest)}
        mean = stated(run.mean, "mm", _gap_budget(run.mean, usual, seen, shared, **scatter))
        most = stated(wide, "mm", _gap_budget(wide, usual, seen, shared, **unseen))
        yield FlankGap(
            flank=k + 1,
            begin=_place(seen, flank.begin),
            end=_place(seen, flank.end),
            gap_mean=bounded(mean, usual.sigma),
            gap_max=bounded(most, usual.sigma),
        )


_FINGERS = (FlagKind.OPEN_FINGER, FlagKind.UNMESHED_FINGER, FlagKind.TRUNCATED_FINGER)


def _with_flags(decisions: dict[str, Decision], flags: tuple[Flag, ...]) -> dict[str, Decision]:
    """A finger that may stand open is for a person to look at: the gap is not passed before."""
    told = any(flag.kind in _FINGERS for flag in flags)
    if told and decisions.get("finger_gap") is Decision.WITHIN:
        return decisions | {"finger_gap": Decision.UNDECIDED}
    return decisions


def _flags(seen: Seen) -> Iterator[Flag]:
    for notice in seen.notices:
        at = None if notice.at is None else _place(seen, notice.at)
        yield Flag(kind=notice.kind, text=notice.text, at=at)


def _place(seen: Seen, mm: Array) -> Place:
    """From the middle of the splice, along and across the belt as it lies in the photo."""
    turn = np.arctan(seen.ends.turn)
    x, y = mm - _centre(seen)
    column, row = seen.plane.to_px(mm[None, :])[0]
    return Place(
        x_mm=float(x * np.cos(turn) + y * np.sin(turn)),
        y_mm=float(y * np.cos(turn) - x * np.sin(turn)),
        px=(float(column), float(row)),
    )


def _widths(seen: Seen, shared: Relative) -> Stated:
    edges = [*seen.edges.points("upper"), *seen.edges.points("lower")]
    expected = seen.card.blur_px / seen.plane.scale_px_per_mm(_centre(seen))
    softer = max(0.0, float(np.median([e.blur_mm for e in edges])) - expected)
    left, right = end_widths(seen.ends)
    offset = max(abs(number.value) for number in edge_offsets(seen.ends))
    split = SPLIT_STEP * max(0.0, offset - SMALL_STEP_MM)
    found: Stated = {}
    for name, number in (
        ("belt_width", belt_width(seen.ends)),
        ("belt_width_left", left),
        ("belt_width_right", right),
        ("splice_width", splice_width(seen.edges, seen.ends)),
    ):
        # What lies higher is nearer to the camera: each end by half of the step.
        step = number.value * seen.gaps.u_step_mm / 2 / seen.away_mm
        budget = terms(
            edge_scatter=EDGES_TOGETHER * number.u,
            edge_fray_and_softness=0.3 * softer * np.sqrt(2) + 0.01,
            step_between_the_ends=step if name in ("belt_width_left", "belt_width_right") else 0.0,
            place_of_the_step=split if name == "splice_width" else 0.0,
            corner_noise=number.value * shared.corners,
            print_scale=number.value * shared.scale_y,
            plane_offset=number.value * shared.plane,
            lens=number.value * shared.lens,
            temperature_of_the_belt=number.value * shared.temperature,
        )
        found[name] = (stated(number.value, "mm", budget), budget)
    return found


def _ends(seen: Seen, shared: Relative) -> Stated:
    worse = max(1.0, shared.lens / 0.001)
    found: Stated = {}
    upper, lower = edge_offsets(seen.ends)
    lines = (seen.ends.left_upper, seen.ends.left_lower)
    names = ("edge_offset_upper", "edge_offset_lower")
    turn = skew(seen.ends)
    for name, number, line, leaves in zip(
        names, (upper, lower), lines, seen.ends.leaves, strict=True
    ):
        # Between ends at an angle the step is another at every place of the splice.
        place = np.tan(np.radians(turn.value)) * (leaves - seen.ends.x) / np.sqrt(3)
        slant = abs(line.at(seen.ends.x) - float(seen.eye[1])) / seen.away_mm
        budget = terms(
            edge_scatter=EDGES_TOGETHER * number.u,
            place_of_the_step=float(place),
            step_between_the_ends=slant * seen.gaps.u_step_mm,
            print_scale=number.value * shared.scale_y,
            plane_offset=number.value * shared.plane,
            lens=LENS_STEP_MM * worse,
        )
        found[name] = (stated(number.value, "mm", budget), budget)
    larger = max(found, key=lambda name: abs(found[name][0].value))
    most, its_budget = found[larger]
    found["edge_offset"] = (most.model_copy(update={"value": abs(most.value)}), its_budget)
    arc = bow(seen.edges, seen.ends)
    turn_budget = terms(edge_scatter=EDGES_TOGETHER * turn.u, lens=LENS_ANGLE_DEG * worse)
    arc_budget = terms(edge_scatter=EDGES_TOGETHER * arc.u, lens=LENS_STEP_MM * worse)
    found["skew"] = (stated(turn.value, "deg", turn_budget), turn_budget)
    found["bow"] = (stated(arc.value, "mm", arc_budget), arc_budget)
    return found


def _length(
    number: Number, scale: float, shared: Relative
) -> tuple[Measurement, tuple[BudgetTerm, ...]]:
    """A length on the seam. scale: relative uncertainty of the print along it."""
    budget = terms(
        seam_scatter=number.u,
        print_scale=number.value * scale,
        plane_offset=number.value * shared.plane,
        lens=number.value * LENS_LOCAL * shared.lens,
        corner_noise=number.value * shared.corners,
        temperature_of_the_belt=number.value * shared.temperature,
    )
    return stated(number.value, "mm", budget), budget


def _centre(seen: Seen) -> Array:
    return np.array([seen.ends.x, seen.ends.middle_y])


def _warnings(
    seen: Seen,
    conditions: Conditions,
    numbers: dict[str, Measurement],
    decisions: dict[str, Decision],
) -> Iterator[str]:
    yield from seen.optics.warnings
    if conditions.print_scale is None:
        yield _print_never_measured(conditions.print_scale_size, seen.card.layout.size)
    if seen.optics.held_out is None:
        yield "the lens is not calibrated: the card told it, and lengths carry an allowance for it"
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
    for flank in seen.gaps.unread:
        edge = "upper" if flank == 0 else "lower"
        yield f"the seam beside the {edge} belt edge could not be read: look at it by eye"
    for limit in conditions.limits:
        if decisions.get(limit.name) is not Decision.UNDECIDED:
            continue
        name = limit.name.replace("_", " ")
        if LIMITED_AS[limit.name] not in numbers or held_against(limit, numbers) is None:
            yield f"{name} is limited but could not be compared: undecided"
        else:
            why = "lies within its uncertainty of a limit, or a finger may stand open"
            yield f"{name} {why}: undecided"


def _print_never_measured(measured: str | None, size: str) -> str:
    of = "the print of the card was never measured"
    if measured not in (None, size):
        of = f"the print of card {measured} was measured, but the photo shows card {size}"
    return f"{of}: every length carries 1 % for it; measure the two bars once with a caliper"
