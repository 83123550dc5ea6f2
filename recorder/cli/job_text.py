"""A job as text for a terminal, and as the JSON of 'process' and 'show'."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.reports import reports
from recorder.archive.jobs.restored import elsewhere
from recorder.model.characteristics import CHARACTERISTICS, limit_label
from recorder.model.fields import FIELDS, Level
from recorder.model.job import Job, MediaFile, in_force, last_run, last_splice, missing, to_confirm
from recorder.model.length import BeltLength
from recorder.model.measurement import Decision, SeamMeasurement
from recorder.model.reading import Reading, Role, Spoken
from recorder.model.recording import gaps
from recorder.model.splices import numbers, photos_of, verdict
from recorder.model.tension import untold

# Told beside the number of which they are a part.
_PARTS = ("belt_width_left", "belt_width_right", "edge_offset_upper", "edge_offset_lower")
_SIGN = {"confirmed": "✓", "clear": "·", "doubtful": "?"}  # a withdrawn one is never in force
_DECISION = {"within": "✓ within limits", "outside": "✗ outside limits", "undecided": "? undecided"}
_DECIDED = {"within": "✓ within", "outside": "✗ outside", "undecided": "? undecided"}


def as_json(job: Job, folder: Path) -> dict[str, Any]:
    return {
        **job.model_dump(mode="json"),
        "reports": [record.model_dump(mode="json") for record in reports(JobFolder(folder))],
        "originals_elsewhere": [media.name for media in elsewhere(JobFolder(folder), job)],
        "folder": str(folder),
        "to_confirm": [reading.model_dump(mode="json") for reading in to_confirm(job)],
        "missing": missing(job),
        "verdicts": {
            splice: verdict(photos_of(job, splice)).model_dump(mode="json")
            for splice in numbers(job)
        },
    }


def summary(job: Job, brief: bool = True) -> str:
    """Readings in force, measurements, and what a person must look at.

    brief: of each photo only what is decided.
    """
    lines = [f"Job {job.title()}   [{job.id}]"]
    if not job.complete:
        lines.append(f"Interrupted    {_to_finish(job)}")
    lines += _readings(in_force(job.readings), Level.JOB)
    stretched = untold(in_force(job.readings))
    lines += [f"    {'elongation':22} {stretched:z.2f} %, from the marks"] if stretched else []
    told = range(1, last_splice(job.readings) + 1)
    for splice in sorted({*told, *numbers(job)}):
        lines.append(f"Splice {splice}")
        lines += _readings(in_force(job.readings, splice), Level.SPLICE)
        for run in range(1, last_run(job.readings, splice) + 1):
            held = in_force(job.readings, splice, run)
            asked = in_force(job.readings, splice, run, Role.ASKED)
            rows = _readings(held, Level.RUN, asked)
            lines += ([f"  Press run {run}"] if run > 1 else []) + rows
        lines += _by_photos(job, splice)
    for seam in job.measurements:
        lines += measured(seam, brief)
    lines += [f"Not used       {media.refused}" for media in job.media if media.refused]
    doubts = to_confirm(job)
    if doubts:
        lines.append(f"To confirm     ({len(doubts)}: seamnote confirm {job.id})")
        lines += [f"  ? {r.field:22} {r.shown()}  {r.why}".rstrip() for r in doubts]
    absent = missing(job)
    if absent:
        lines.append(f"Not said       {', '.join(absent)}")
    return "\n".join(lines)


def _to_finish(job: Job) -> str:
    if job.recordings:
        return "start 'seamnote serve'; its session goes on there"
    return "give 'seamnote process' on its folder again to finish it"


def _sound(job: Job) -> list[str]:
    """The stretches of sound of a live session, and the gaps between them."""
    if not job.recordings:
        return []
    ordered = sorted(job.recordings, key=lambda each: each.began_at)
    silent = {gap.file: gap for gap in gaps(ordered)}
    lines = ["Sound of the session, by the clock of the machine that kept it"]
    for each in ordered:
        gap = silent.get(each.file)
        if gap:
            lines.append(f"  {'no sound':>19}  {_length(gap.seconds):>9}  {gap.why}")
        at = each.began_at.strftime("%Y-%m-%d %H:%M:%S")
        device = f", {each.device}" if each.device else ""
        lines.append(f"  {at}  {_length(each.duration_s):>9}  {each.file}{device}")
    return lines


def _length(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02d}:{rest:02d} h" if hours else f"{minutes}:{rest:02d} min"


def details(job: Job, folder: Path) -> str:
    """What the summary leaves out: the transcript, notes, files and reports."""
    lines: list[str] = []
    removed = {media.name for media in job.media if media.removed}
    for transcript in job.transcripts:
        gone = transcript.file in removed and not transcript.utterances
        words = ", whose words were removed on request" if gone else ""
        lines.append(f"Transcript     {transcript.file}{words}")
        lines += [f"  {_clock(u.start_s)}  {u.text}" for u in transcript.utterances]
    if job.belt_length:
        lines += ["Belt length, worked out beforehand", *length_lines(job.belt_length)]
    if job.notes:
        lines.append("Notes")
        lines += [f"  {_clock(note.start_s)}  {note.text}" for note in job.notes]
    lacking = elsewhere(JobFolder(folder), job)
    if lacking:
        lines.append(f"Restored       from a report; {len(lacking)} original files are not here")
    lines += _sound(job)
    if job.stages:
        lines.append("Stages of the press runs, as they were called out")
        lines += [
            f"  {_clock(mark.at_s)}  {mark.stage}, splice {mark.splice}, run {mark.run}  "
            f"({mark.file}: “{mark.said}”)"
            for mark in job.stages
        ]
    lines.append("Files")
    lines += [
        f"  {m.sha256[:12]}  {m.size_bytes:>9}  {m.path}{_absent(m, m in lacking)}"
        for m in job.media
    ]
    lines += [
        f"  {r.sha256[:12]}  signed by {r.signer}  {r.path}" for r in reports(JobFolder(folder))
    ]
    lines.append(f"Folder         {folder}")
    return "\n".join(lines)


def length_lines(belt: BeltLength) -> list[str]:
    """What is cut and marked, by the millimetre."""
    rows = {
        "endless": belt.endless,
        "joined, slack": belt.joined,
        "punched, tip to tip": belt.punched,
        "cut, square to square": belt.cut,
        "marks apart, slack": belt.mark_spacing,
        "marks apart, tensioned": belt.mark_tensioned,
    }
    return [f"  · {name:22} {mm:.1f} mm" for name, mm in rows.items() if mm is not None]


def _absent(media: MediaFile, lacking: bool) -> str:
    """What follows a file that is not in the folder, and may be meant to be so."""
    if media.removed:
        gone = media.removed
        by = gone.by or "nobody named"
        return f"   removed on request {gone.at:%Y-%m-%d} by {by}: {gone.reason}"
    return "   not here" if lacking else ""


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


def measured(seam: SeamMeasurement, brief: bool = False) -> list[str]:
    """What one photo gave. brief: only what is decided, and what a person should look at."""
    if seam.status == "refused":
        return [f"Photo {seam.file}: not measured, {seam.reason}"]
    lines = [f"Photo {seam.file}: {_verdict(seam.decision, _worst_of(seam))}"]
    limits = {limit.name: limit for limit in seam.limits}
    for name, each in CHARACTERISTICS.items():
        value, limit = getattr(seam, name), limits.get(each.limited or "")
        if limit is None and (brief or value is None or name in _PARTS):
            continue
        shown = value.shown() if value else "not measured"
        decided = seam.decisions.get(limit.name) if limit else None
        row = f"    {name:22} {shown:18} {_DECIDED[decided] if decided else ''}"
        if limit and not (brief and decided is Decision.WITHIN):
            row = f"{row:58} {limit.shown()}, {limit.source or 'source not given'}"
        lines.append(row.rstrip())
        if not brief:
            lines += [f"{'':27}{part}" for part in _parts(seam, name)]
    if seam.finger_count is not None and not brief:
        lines.append(f"    {'finger_count':22} {seam.finger_count}")
    lines += [f"    look: {flag.text}" for flag in seam.flags]
    if not brief:
        lines += [f"    note: {warning}" for warning in seam.warnings]
        pictures = {"lens": seam.lens, "overlay": seam.overlay, "plot": seam.plot}
        lines += [f"    {name}: {said}" for name, said in pictures.items() if said]
    return lines


def _worst_of(seam: SeamMeasurement) -> list[str]:
    return [name for name, decided in seam.decisions.items() if decided is seam.decision]


def _verdict(decision: Decision | None, limits: Iterable[str]) -> str:
    if decision is None:
        return "no limits"
    of = f": {', '.join(map(limit_label, limits))}" if decision is not Decision.WITHIN else ""
    return f"{_DECISION[decision]}{of}"


def _parts(seam: SeamMeasurement, name: str) -> list[str]:
    """Where the gap is largest; of the belt's two ends, or its two edges, each by itself."""
    if name == "gap_max" and seam.gap_max_at:
        return [seam.gap_max_at.shown()]
    parts = {"belt_width": ("left end", "right end"), "edge_offset": ("upper edge", "lower edge")}
    told = [
        f"{where} {value.shown()}"
        for where in parts.get(name, ())
        if (value := getattr(seam, f"{name}_{where.split()[0]}"))
    ]
    return [", ".join(told)] if told else []


def _by_photos(job: Job, splice: int) -> list[str]:
    """What the photos that count say of a splice, in the form of a reading."""
    found = verdict(photos_of(job, splice))
    if not found.measured and not found.refused:
        return []
    if not found.measured:
        earlier = "; an earlier one was" if found.earlier else ""
        return [f"  ? {'photos':22} {', '.join(found.refused)} not measured{earlier}"]
    sign, _, said = _verdict(found.decision, found.limits).partition(" ")
    if found.decision is None:
        sign, said = "·", "no limits"
    refused = f"; {', '.join(found.refused)} not measured" if found.refused else ""
    return [f"  {sign} {'photos':22} {said} ({', '.join(found.measured)}{refused})"]


def _clock(seconds: float | None) -> str:
    if seconds is None:
        return "     "
    return f"{int(seconds) // 60:2d}:{int(seconds) % 60:02d}"
