"""The splices of a job for the page, each with its settings, measurements and pictures."""

from __future__ import annotations

from recorder.model.fields import FIELDS, Level
from recorder.model.job import Job, PhotoNote, in_force
from recorder.model.measurement import SeamMeasurement
from recorder.model.reading import Role, Standing
from recorder.model.splices import Photo, photos_of, runs
from recorder.report.content import measured
from recorder.report.content.context import Mark, Picture, SettingRow, Settings, Splice
from recorder.report.content.entries import (
    NOTHING_ASKED,
    STANDING,
    CustomerUnits,
    entries,
    entry,
)
from recorder.report.content.pictures import PictureTray

OUTCOME = {
    "accepted": Mark(kind="accepted", sign="✓", word="accepted"),
    "rework": Mark(kind="rework", sign="◆", word="to be reworked"),
    "rejected": Mark(kind="rejected", sign="✗", word="rejected"),
}
NO_OUTCOME = Mark(kind="open", sign="?", word="without an outcome")

# The largest that the style sheet shows a picture of each kind, width and height.
OVERLAY_MM = PHOTO_MM = (86.0, 86.0)
THUMBNAIL_MM = (43.0, 36.0)
PLOT_MM = (86.0, 50.0)

STAGE = {"before": "Before pressing", "after": "After pressing", "": "Photo"}
_MEASURED_TOO = ("finger_gap", "splice_width", "edge_offset")
_FACTS = tuple(
    name
    for name, field in FIELDS.items()
    if field.level is Level.SPLICE and name not in (*_MEASURED_TOO, "outcome")
)
_SETTINGS = tuple(name for name, field in FIELDS.items() if field.level is Level.RUN)


def missing_in(job: Job, splice: int, run: int) -> list[str]:
    """Labels of the asked fields of this splice and run that have no value."""
    known = in_force(job.readings, splice, run)
    levels = (Level.SPLICE, Level.RUN) if run == runs(job, splice)[0] else (Level.RUN,)
    return [
        field.label
        for name, field in FIELDS.items()
        if field.asked and field.level in levels and name not in known
    ]


def outcome(job: Job, splice: int) -> tuple[Mark, Mark | None]:
    """What became of the splice, and the standing of that reading."""
    reading = in_force(job.readings, splice).get("outcome")
    if reading is None:
        return NO_OUTCOME, None
    return OUTCOME[str(reading.value)], STANDING[reading.standing]


def splice(job: Job, number: int, tray: PictureTray, customer: CustomerUnits) -> Splice:
    known = in_force(job.readings, number)
    mark, standing = outcome(job, number)
    shown = photos_of(job, number)
    results = [(note, found) for note, found in shown if found and found.status == "measured"]
    return Splice(
        heading=f"Splice {number}",
        outcome=mark,
        outcome_standing=standing if standing == STANDING[Standing.DOUBTFUL] else None,
        facts=entries(_FACTS, known, customer, always=("bubbles",)),
        settings=_settings(job, number, customer),
        measurements=measured.table(
            _headings([note for note, _ in results]),
            [found for _, found in results],
            known,
            customer,
        ),
        pictures=tuple(picture(job, note, found, tray) for note, found in shown),
        remarks=_remarks(shown),
    )


def _headings(notes: list[PhotoNote]) -> list[str]:
    """The stage of each photo, with its file name where several show the same stage."""
    stages = [note.stage for note in notes]
    return [
        STAGE[note.stage] if stages.count(note.stage) == 1 else f"{STAGE[note.stage]}, {note.file}"
        for note in notes
    ]


def _settings(job: Job, number: int, customer: CustomerUnits) -> Settings:
    used = [in_force(job.readings, number, run) for run in runs(job, number)]
    asked = in_force(job.readings, number, role=Role.ASKED)
    told = set(asked).union(*used)
    rows = [
        SettingRow(
            label=FIELDS[name].label,
            asked=entry(name, asked, customer, NOTHING_ASKED),
            used=tuple(entry(name, run, customer) for run in used),
        )
        for name in _SETTINGS
        if name in told or FIELDS[name].asked
    ]
    several = len(used) > 1
    headings = [f"Used, run {n}" if several else "Used" for n in runs(job, number)]
    return Settings(runs=tuple(headings), rows=tuple(rows))


def picture(job: Job, note: PhotoNote, found: SeamMeasurement | None, tray: PictureTray) -> Picture:
    """The overlay of a photo, else the photo itself, else the reason why it is not shown."""
    original = next((m.path for m in job.media if m.name == note.file), note.file)
    heading = STAGE[note.stage]
    caption = f"{note.caption} ({note.file})" if note.caption else note.file
    overlay = found.overlay if found else None
    try:
        src = tray.add(overlay or original, OVERLAY_MM if overlay else PHOTO_MM)
    except ValueError as error:
        src, caption = "", f"{caption}: not shown, {error}"
    kind = "overlay of what was measured in" if overlay else "photo"
    taken = _thumbnail(original, tray) if overlay else ""
    plot, without_plot = _plot(found, tray)
    return Picture(
        src=src,
        alt=f"{heading}: {kind} {note.file}" if src else "",
        original=taken,
        original_alt=f"{heading}: {note.file} as it was taken" if taken else "",
        plot=plot,
        plot_alt=f"The gap along the seam in {note.file}" if plot else "",
        without_plot=without_plot,
        heading=heading,
        caption=caption,
        measured=measured.besides(found) if found else "",
    )


def _thumbnail(original: str, tray: PictureTray) -> str:
    """Empty where it cannot be shown: the overlay beside it was made of it."""
    try:
        return tray.add(original, THUMBNAIL_MM)
    except ValueError:
        return ""


def _plot(found: SeamMeasurement | None, tray: PictureTray) -> tuple[str, str]:
    """Its address and why there is none, one of them empty."""
    if found is None or not found.plot:
        return "", ""
    try:
        return tray.add(found.plot, PLOT_MM), ""
    except ValueError as error:
        return "", f"The plot of the gap along the seam is not shown: {error}."


def _remarks(shown: list[Photo]) -> tuple[str, ...]:
    """Refused photos, flags, and what widened an uncertainty, each once with its photos."""
    files: dict[str, list[str]] = {}
    for note, found in shown:
        if found is None:
            told = ["not measured"]
        elif found.status == "refused":
            told = [f"not measured, {found.reason}"]
        else:
            flags = [f"Look: {flag.text}" for flag in found.flags]
            told = [*flags, *found.warnings]
        for line in told:
            files.setdefault(line, []).append(note.file)
    return tuple(f"{', '.join(where)}: {line}" for line, where in files.items())
