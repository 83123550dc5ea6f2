"""The press runs of one job as later jobs learn from them; pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from recorder.archive.index.rows import Told, told
from recorder.model import splices
from recorder.model.belt import BELT_FIELDS
from recorder.model.fields import FIELDS, Level
from recorder.model.job import Job, in_force, on_job_card
from recorder.model.measurement import Measurement, SeamMeasurement
from recorder.model.past import SETTINGS, STREAMS, PastRun
from recorder.model.reading import Reading, Role, Standing
from recorder.model.units import convert

COVERAGE_FACTOR = 2.0  # of every U
_TOLD = (
    *("job_number", *STREAMS, *BELT_FIELDS, *SETTINGS),
    *("cycle_time", "ambient_temperature"),
)

Place = tuple[int, int]  # splice and run
_Known = Mapping[str, Reading]


def runs_in(job: Job, lines: Sequence[Told] | None = None) -> list[PastRun]:
    """The press runs of a complete job by splice and run; of any other none.

    A run counts when something of it is in force that the job card did not tell, or a photo shows
    it after pressing. Where nothing does, the job card alone tells of one. The outcome is that of
    the splice: of its last run, where it was told after that run began; each run before is rework.
    lines: what ``rows.told`` gives of the job, where that is known already.
    """
    if not job.complete:
        return []
    known: dict[Place, dict[str, Reading]] = {}
    for splice, run, reading in told(job) if lines is None else lines:
        if reading.role is Role.USED:
            known.setdefault((splice, run), {})[reading.field] = reading
    seams = _measured_after(job)
    found = []
    for splice, runs in sorted(_runs(known, seams).items()):
        for run in sorted(runs):
            place = (splice, run)
            there = known.get(place)
            settled = _settled(in_force(job.readings, *place) if there is None else there)
            outcome = _outcome(job, settled, place) if run == max(runs) else "rework"
            found.append(_run(job, place, settled, outcome, seams.get(place, [])))
    return found


def _settled(known: _Known) -> dict[str, Reading]:
    return {name: r for name, r in known.items() if r.standing is not Standing.DOUBTFUL}


def _runs(known: Mapping[Place, _Known], seams: Iterable[Place]) -> dict[int, set[int]]:
    """The runs of each splice that was pressed."""
    found: dict[int, set[int]] = {}
    for (splice, run), readings in known.items():
        levels = {FIELDS[name].level for name, r in readings.items() if not on_job_card(r)}
        if Level.RUN in levels:
            found.setdefault(splice, set()).add(run)
        elif Level.SPLICE in levels:
            found.setdefault(splice, set())
    for splice, run in seams:
        found.setdefault(splice, set()).add(run)
    if not found and {"outcome", *SETTINGS}.intersection(_settled(known.get((1, 1), {}))):
        found[1] = {1}
    return {splice: runs or {1} for splice, runs in found.items()}


def _outcome(job: Job, settled: _Known, place: Place) -> str | None:
    """That of a splice after its last run. One told before the splice was pressed again is that
    of the run before.
    """
    told = settled.get("outcome")
    if told is None:
        return None
    if place[1] > 1 and not on_job_card(told):
        history = [(r.splice, r.run) if r.role is Role.USED else None for r in job.readings]
        at = max(number for number, reading in enumerate(job.readings) if reading is told)
        if place in history[at:] and place not in history[:at]:
            return None
    return str(told.value)


def _measured_after(job: Job) -> dict[Place, list[SeamMeasurement]]:
    """What photos after pressing gave, by splice and run."""
    found: dict[Place, list[SeamMeasurement]] = {}
    for note, seam in splices.photos(job) if job.measurements else ():
        if seam and seam.status == "measured" and note.stage != "before":
            found.setdefault((note.splice, note.run), []).append(seam)
    return found


def _run(
    job: Job,
    place: Place,
    settled: _Known,
    outcome: str | None,
    seams: Sequence[SeamMeasurement],
) -> PastRun:
    values = {name: settled[name].value for name in _TOLD if name in settled}
    gap = _worst([seam.gap_max for seam in seams])
    width, offset = (
        _worst([m for seam in seams if (m := getattr(seam, name)) and not m.below], nominal)
        for name, nominal in (("splice_width", values.get("belt_width", 0.0)), ("edge_offset", 0.0))
    )
    return PastRun(
        job.id,
        job.created_at,
        *place,
        outcome,
        finger_gap=_mm(gap),
        finger_gap_U=None if gap and gap.below else _expanded(gap),
        gap_below=bool(gap and gap.below),
        splice_width=_mm(width),
        splice_width_U=_expanded(width),
        edge_offset=None if offset is None else abs(_mm(offset) or 0.0),
        edge_offset_U=_expanded(offset),
        **values,  # type: ignore[arg-type]  # kinds of the catalogue, which readings keep to
    )


def _worst(
    found: Sequence[Measurement | None], nominal: bool | float | str = 0.0
) -> Measurement | None:
    """The farthest from the nominal size in mm. A bound counts where there is nothing else."""
    known = [measured for measured in found if measured is not None]
    numbers = [measured for measured in known if not measured.below]
    return max(numbers or known, key=lambda m: abs((_mm(m) or 0.0) - float(nominal)), default=None)


def _mm(measured: Measurement | None) -> float | None:
    return None if measured is None else convert(measured.value, measured.unit, "mm")


def _expanded(measured: Measurement | None) -> float | None:
    if measured is None:
        return None
    return convert(measured.U * COVERAGE_FACTOR / measured.k, measured.unit, "mm")
