"""A job as text for a terminal, and as the JSON of 'process' and 'show'."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from recorder.model.fields import FIELDS, Level
from recorder.model.job import Job, in_force, last_run, last_splice, missing, to_confirm
from recorder.model.measurement import MEASURED_AS, Measurement, SeamMeasurement
from recorder.model.reading import Reading, Role, Spoken

_MEASURED = ("gap_max", "gap_mean", "splice_width", "belt_width", "edge_offset", "skew",
             "finger_pitch")  # fmt: skip
_SIGN = {"confirmed": "✓", "clear": "·", "doubtful": "?"}
_DECISION = {"within": "✓ within limits", "outside": "✗ outside limits", "undecided": "? undecided"}


def as_json(job: Job, folder: Path) -> dict[str, Any]:
    return {
        **job.model_dump(mode="json"),
        "folder": str(folder),
        "to_confirm": [reading.model_dump(mode="json") for reading in to_confirm(job)],
        "missing": missing(job),
    }


def summary(job: Job) -> str:
    """Readings in force, measurements, and what a person must look at."""
    lines = [f"Job {job.title()}   [{job.id}]"]
    if not job.complete:
        lines.append("Interrupted    give 'seamnote process' on its folder again to finish it")
    lines += _readings(in_force(job.readings), Level.JOB)
    for splice in range(1, last_splice(job.readings) + 1):
        lines.append(f"Splice {splice}")
        lines += _readings(in_force(job.readings, splice), Level.SPLICE)
        for run in range(1, last_run(job.readings, splice) + 1):
            held = in_force(job.readings, splice, run)
            asked = in_force(job.readings, splice, run, Role.ASKED)
            rows = _readings(held, Level.RUN, asked)
            lines += ([f"  Press run {run}"] if run > 1 else []) + rows
    for seam in job.measurements:
        lines += measured(seam)
    lines += [f"Not used       {media.refused}" for media in job.media if media.refused]
    doubts = to_confirm(job)
    if doubts:
        lines.append(f"To confirm     ({len(doubts)}: seamnote confirm {job.id})")
        lines += [f"  ? {r.field:22} {r.shown()}  {r.why}".rstrip() for r in doubts]
    absent = missing(job)
    if absent:
        lines.append(f"Not said       {', '.join(absent)}")
    return "\n".join(lines)


def details(job: Job, folder: Path) -> str:
    """What the summary leaves out: the transcript, notes, files and reports."""
    lines: list[str] = []
    for transcript in job.transcripts:
        lines.append(f"Transcript     {transcript.file}")
        lines += [f"  {_clock(u.start_s)}  {u.text}" for u in transcript.utterances]
    if job.notes:
        lines.append("Notes")
        lines += [f"  {_clock(note.start_s)}  {note.text}" for note in job.notes]
    lines.append("Files")
    lines += [f"  {m.sha256[:12]}  {m.size_bytes:>9}  {m.path}" for m in job.media]
    lines += [f"  {r.sha256[:12]}  signed by {r.signer}  {r.path}" for r in job.reports]
    lines.append(f"Folder         {folder}")
    return "\n".join(lines)


def _readings(
    held: dict[str, Reading], level: Level, asked: dict[str, Reading] | None = None
) -> list[str]:
    names = [name for name in FIELDS if FIELDS[name].level is level and name in held]
    return [_line(held[name], (asked or {}).get(name)) for name in names]


def _line(reading: Reading, asked: Reading | None) -> str:
    evidence = reading.evidence
    place = f"  {_clock(evidence.start_s)}" if isinstance(evidence, Spoken) else ""
    wanted = f"  (asked {asked.shown()})" if asked else ""
    sign = _SIGN[reading.standing]
    return f"  {sign} {reading.field:22} {reading.shown()}{wanted}{place}"


def measured(seam: SeamMeasurement) -> list[str]:
    if seam.status == "refused":
        return [f"Photo {seam.file}: not measured, {seam.reason}"]
    verdict = _DECISION[seam.decision] if seam.decision else "no limits"
    lines = [f"Photo {seam.file}: {verdict}"]
    for name in _MEASURED:
        value: Measurement | None = getattr(seam, name)
        if value:
            decided = (d for limit, d in seam.decisions.items() if MEASURED_AS[limit] == name)
            lines.append(f"    {name:22} {value.shown():18} {next(decided, '')}".rstrip())
    return lines


def _clock(seconds: float | None) -> str:
    if seconds is None:
        return "     "
    return f"{int(seconds) // 60:2d}:{int(seconds) % 60:02d}"
