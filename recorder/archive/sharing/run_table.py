"""Jobs as a table for other programs: one row for each press run of each splice."""

from __future__ import annotations

from collections.abc import Iterator

from recorder.archive.sharing.table import Cell, Units, heading, value_in
from recorder.model import splices
from recorder.model.fields import FIELDS
from recorder.model.job import Job, in_force, to_confirm
from recorder.model.measurement import LIMITED_AS, Measurement, SeamMeasurement
from recorder.model.units import UNITS, convert

_PLACE = ("job", "created_at", "complete", "splice", "run")
_VERDICT = ("decision", "to_confirm")
_UNITS = {name: FIELDS[name].unit if name in FIELDS else "mm" for name in LIMITED_AS}
_UNITS["skew"] = "deg"
COVERAGE_FACTOR = 2.0  # of U in the table


def headings(units: Units) -> list[str]:
    """'top_temperature_degC' for what was told, 'finger_gap_measured_mm', 'finger_gap_U_mm' and
    'finger_gap_is_bound' for what photos measured.
    """
    told = [heading(name, units) for name in FIELDS]
    measured = [
        column
        for name in LIMITED_AS
        for unit in [_unit(name, units)]
        for column in (f"{name}_measured_{unit}", f"{name}_U_{unit}", f"{name}_is_bound")
    ]
    return [*_PLACE, *told, *measured, *_VERDICT]


def rows(job: Job, units: Units) -> Iterator[list[Cell]]:
    """The values in force for each run of each splice; those of the job stand in every row.

    Measured values are those of the photos that count for the run; of several the largest. U has
    the coverage factor 2; ``is_bound`` says that the value is an upper bound. ``decision`` is the
    worst of these photos, ``to_confirm`` names the fields whose value nobody confirmed yet.
    """
    waiting = tuple(to_confirm(job))
    for splice in splices.numbers(job):
        for run in _runs(job, splice):
            known = in_force(job.readings, splice, run)
            photos = [p for p in splices.photos_of(job, splice) if p[0].run == run]
            verdict = splices.verdict(photos)
            seams = [seam for _, seam in photos if seam and seam.file in verdict.measured]
            asked = in_force(waiting, splice, run)
            yield [
                *(job.id, job.created_at, job.complete, splice, run),
                *(value_in(n, known[n].value, units) if n in known else None for n in FIELDS),
                *(cell for name in LIMITED_AS for cell in _measured(name, seams, units)),
                verdict.decision,
                " ".join(name for name in FIELDS if name in asked),
            ]


def _runs(job: Job, splice: int) -> list[int]:
    """Those that were told, and those that only photos show."""
    shown = {note.run for note, seam in splices.photos_of(job, splice) if seam}
    return sorted(shown.union(splices.runs(job, splice)))


def _measured(name: str, seams: list[SeamMeasurement], units: Units) -> list[Cell]:
    """Value, U, and whether it is a bound; of the photo that shows the largest."""
    found = [getattr(seam, LIMITED_AS[name]) for seam in seams]
    known: list[Measurement] = [measured for measured in found if measured is not None]
    if not known:
        return [None, None, None]
    largest = max(known, key=lambda measured: abs(measured.value))
    unit = _unit(name, units)  # of a length or an angle: a factor, without an offset
    expanded = largest.U * COVERAGE_FACTOR / largest.k
    return [
        convert(largest.value, largest.unit, unit),
        None if largest.below else convert(expanded, largest.unit, unit),
        largest.below,
    ]


def _unit(name: str, units: Units) -> str:
    canonical = _UNITS[name] or ""
    return units.get(UNITS[canonical].dimension, canonical)
