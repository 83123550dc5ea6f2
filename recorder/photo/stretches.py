"""The gap profile as stretches of the seam, and the flanks that they belong to."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from recorder.model.measurement import FlankGap, GapReading, Place, SeamMeasurement

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


def worst_stretch(measured: SeamMeasurement) -> Stretch | None:
    """The one where the gap is largest."""
    place = measured.gap_max_at
    if place is None or not measured.gap_profile:
        return None
    return min(stretches(measured), key=lambda one: _apart_mm(one.reading.at, place))


def _apart_mm(one: Place, other: Place) -> float:
    return math.hypot(one.x_mm - other.x_mm, one.y_mm - other.y_mm)
