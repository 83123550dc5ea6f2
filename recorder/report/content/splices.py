"""The splices of a job for the page, each with its settings, measurements and pictures."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from recorder.model.fields import FIELDS, Level
from recorder.model.job import Job, MediaKind, PhotoNote, in_force
from recorder.model.measurement import SeamMeasurement
from recorder.model.reading import Role, Standing
from recorder.model.splices import Photo, photos_of, runs
from recorder.report.content import measured
from recorder.report.content.context import Picture, SettingRow, Settings, Splice
from recorder.report.content.entries import (
    NOTHING_ASKED,
    CustomerUnits,
    entries,
    entry,
    standing_mark,
)
from recorder.report.content.frame import Mark
from recorder.report.content.pictures import PictureTray, Wanted
from recorder.report.content.story import heading, outcome_mark, steps
from recorder.report.content.text import brief, clean
from recorder.report.content.timeline import timeline
from recorder.report.wording.wording import noted, say

# The largest that the style sheet shows a picture of each kind, width and height.
OVERLAY_MM = PHOTO_MM = (86.0, 86.0)
THUMBNAIL_MM = (43.0, 36.0)
PLOT_MM = (86.0, 50.0)
_LONGEST_CAPTION = 110

STAGE = {
    "before": noted("Before pressing"),
    "after": noted("After pressing"),
    "": noted("Photo"),
}
_ORIGIN = {Role.ASKED: noted("Asked"), Role.RECIPE: noted("Recipe")}
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
        say(field.label)
        for name, field in FIELDS.items()
        if field.asked and field.level in levels and name not in known
    ]


def outcome(job: Job, splice: int) -> tuple[Mark, Mark | None]:
    """What became of the splice, and the mark of its doubt, where nobody confirmed it."""
    reading = in_force(job.readings, splice).get("outcome")
    doubtful = reading is not None and reading.standing is Standing.DOUBTFUL
    return outcome_mark(reading), standing_mark(Standing.DOUBTFUL) if doubtful else None


def splice(job: Job, number: int, tray: PictureTray, customer: CustomerUnits) -> Splice:
    known = in_force(job.readings, number)
    mark, standing = outcome(job, number)
    shown = photos_of(job, number)
    results = [(note, found) for note, found in shown if found and found.status == "measured"]
    pressed = runs(job, number)
    drawn = (timeline(job, number, run, heading(job, number, run)) for run in pressed)
    return Splice(
        heading=say("Splice {splice}", splice=number),
        outcome=mark,
        outcome_standing=standing,
        steps=steps(job, number) if len(pressed) > 1 else (),
        facts=entries(_FACTS, known, customer, always=("bubbles",)),
        settings=settings(job, number, pressed, customer),
        timelines=tuple(each for each in drawn if each),
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
    told = [stage(note, notes) for note in notes]
    return [
        each if told.count(each) == 1 else f"{each}, {note.file}"
        for each, note in zip(told, notes, strict=True)
    ]


def stage(note: PhotoNote, notes: Iterable[PhotoNote]) -> str:
    """'After pressing', with the press run where ``notes`` show several."""
    label = say(STAGE[note.stage])
    if len({each.run for each in notes}) > 1:
        return say("Run {run}: {stage}", run=note.run, stage=label)
    return label


def settings(job: Job, number: int, pressed: Sequence[int], customer: CustomerUnits) -> Settings:
    """What was wanted, by each role that the record has, and what these press runs used."""
    wanted = {
        role: held
        for role in _ORIGIN
        if ((held := in_force(job.readings, number, role=role)) or role is Role.ASKED)
    }
    used = [in_force(job.readings, number, run) for run in pressed]
    told = set[str]().union(*wanted.values(), *used)
    several = len(runs(job, number)) > 1
    return Settings(
        columns=(
            *(say(_ORIGIN[role]) for role in wanted),
            *(say("Used, run {run}", run=run) if several else say("Used") for run in pressed),
        ),
        rows=tuple(
            SettingRow(
                label=say(FIELDS[name].label),
                values=(
                    *(entry(name, held, customer, NOTHING_ASKED) for held in wanted.values()),
                    *(entry(name, run, customer) for run in used),
                ),
            )
            for name in _SETTINGS
            if name in told or FIELDS[name].asked
        ),
    )


def picture(job: Job, note: PhotoNote, found: SeamMeasurement | None, tray: PictureTray) -> Picture:
    """The overlay of a photo, else the photo itself, else the reason why it is not shown."""
    original = next((m.path for m in job.media if m.name == note.file), note.file)
    heading = stage(note, (each for each in job.photos if each.splice == note.splice))
    said, file = brief(note.caption, _LONGEST_CAPTION), brief(note.file, _LONGEST_CAPTION)
    caption = f"{said} ({file})" if said else file
    overlay = found.overlay if found else None
    try:
        src = tray.add(overlay or original, OVERLAY_MM if overlay else PHOTO_MM)
    except ValueError as error:
        src = ""
        caption = say("{caption}: not shown, {why}", caption=caption, why=say(str(error)))
    alt = (
        say("{stage}: overlay of what was measured in {file}", stage=heading, file=note.file)
        if overlay
        else say("{stage}: photo {file}", stage=heading, file=note.file)
    )
    taken = _thumbnail(original, tray) if overlay else ""
    plot, without_plot = _plot(found, tray)
    return Picture(
        src=src,
        alt=alt if src else "",
        original=taken,
        original_alt=say("{stage}: {file} as it was taken", stage=heading, file=note.file)
        if taken
        else "",
        plot=plot,
        plot_alt=say("The gap along the seam in {file}", file=note.file) if plot else "",
        without_plot=without_plot,
        heading=heading,
        caption=caption,
        whole=note.caption if said != clean(note.caption) else "",
        measured=measured.besides(found) if found else "",
    )


def wanted(job: Job) -> Iterator[Wanted]:
    """The pictures of all photos, as ``picture`` asks for them."""
    results = {found.file: found for found in job.measurements}
    for media in job.media:
        if media.kind is not MediaKind.PHOTO:
            continue
        found = results.get(media.name)
        if found and found.overlay:
            yield found.overlay, OVERLAY_MM
            yield media.path, THUMBNAIL_MM
        else:
            yield media.path, PHOTO_MM
        if found and found.plot:
            yield found.plot, PLOT_MM


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
        why = say(str(error))
        return "", say("The plot of the gap along the seam is not shown: {why}.", why=why)


def _remarks(shown: list[Photo]) -> tuple[str, ...]:
    """Refused photos, flags, and what widened an uncertainty, each once with its photos."""
    files: dict[str, list[str]] = {}
    for note, found in shown:
        if found is None:
            told = [say("not measured")]
        elif found.status == "refused":
            told = [say("not measured, {reason}", reason=found.reason)]
        else:
            flags = [say("Look: {flag}", flag=flag.text) for flag in found.flags]
            told = [*flags, *found.warnings]
        for line in told:
            files.setdefault(line, []).append(note.file)
    return tuple(f"{', '.join(where)}: {line}" for line, where in files.items())
