"""The gap profile as stretches of the seam, and the flanks that they belong to."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from recorder.model.measurement import FlankGap, GapReading, Measurement, Place, SeamMeasurement

_SAME_PLACE_MM = 0.5
_USUAL_MM = 2.0  # length of a stretch where no second one beside it tells


@dataclass(frozen=True)
class Stretch:
    """A part of the seam with one reading. begin_mm, end_mm: way along the seam."""

    begin_mm: float
    end_mm: float
    reading: GapReading


@dataclass(frozen=True)
class Span:
    """One flank. begin_mm, end_mm: way along the seam."""

    flank: FlankGap
    begin_mm: float
    end_mm: float


def stretches(measured: SeamMeasurement) -> tuple[Stretch, ...]:
    """Each reading with the length that it stands for; what no reading covers was not seen."""
    steps: dict[int, float] = {}
    for one, next_one in pairwise(measured.gap_profile):
        if one.flank == next_one.flank:
            step = next_one.s_mm - one.s_mm
            steps[one.flank] = min(step, steps.get(one.flank, step))
    usual = float(np.median(list(steps.values()))) if steps else _USUAL_MM
    return tuple(
        Stretch(reading.s_mm - half, reading.s_mm + half, reading)
        for reading in measured.gap_profile
        for half in [steps.get(reading.flank, usual) / 2]
    )


def spans(measured: SeamMeasurement) -> tuple[Span, ...]:
    """The flanks that have readings, along the seam."""
    found = []
    for flank in measured.flanks:
        starts = [
            reading.s_mm - _apart_mm(flank.begin, reading.at)
            for reading in measured.gap_profile
            if reading.flank == flank.flank
        ]
        if starts:
            begin = float(np.median(starts))
            found.append(Span(flank, begin, begin + _apart_mm(flank.begin, flank.end)))
    return tuple(found)


@dataclass(frozen=True)
class Widest:
    """Where the gap is largest. way_mm: along the seam. seen: whether a reading is there; a tip has
    none.
    """

    flank: FlankGap
    at: Place
    gap: Measurement
    way_mm: float
    seen: bool


def widest(measured: SeamMeasurement) -> Widest | None:
    """The largest gap with the flank that its place lies on; of two that meet in a tip, the one
    with the larger gap.
    """
    place, gap, flanks = measured.gap_max_at, measured.gap_max, spans(measured)
    if place is None or gap is None or not flanks:
        return None
    away = {span: _away_mm(span.flank, place) for span in flanks}
    near = [span for span in flanks if away[span] < min(away.values()) + _SAME_PLACE_MM]
    span = max(near, key=lambda span: span.flank.gap_max.value)
    way = min(span.begin_mm + _apart_mm(span.flank.begin, place), span.end_mm)
    seen = any(part.begin_mm <= way <= part.end_mm for part in stretches(measured))
    return Widest(span.flank, place, gap, way, seen)


def _away_mm(flank: FlankGap, place: Place) -> float:
    """From the straight line between the flank's ends."""
    begin = np.array([flank.begin.x_mm, flank.begin.y_mm])
    along = np.array([flank.end.x_mm, flank.end.y_mm]) - begin
    at = np.array([place.x_mm, place.y_mm])
    share = np.clip((at - begin) @ along / (along @ along), 0, 1)
    return float(np.linalg.norm(begin + share * along - at))


def _apart_mm(one: Place, other: Place) -> float:
    return math.hypot(one.x_mm - other.x_mm, one.y_mm - other.y_mm)
