"""Photos to measurements, by the job card beside them if there is one, into no job."""

from __future__ import annotations

import hashlib
from pathlib import Path

from recorder.errors import BadValue, InputRefused, OutputUnwritable
from recorder.flows import limits
from recorder.flows.jobcard import FILE_NAME, JobCard, read
from recorder.model.camera import Camera
from recorder.model.job import in_force
from recorder.model.measurement import Decision, Limit, SeamMeasurement
from recorder.model.reading import Reading, Typed
from recorder.notes.typed import typed_reading
from recorder.photo.image.conditions import Conditions
from recorder.photo.measure import measure
from recorder.settings import PhotoSettings


def conditions(
    photo: Path, settings: PhotoSettings, belt_thickness: str | None, card_on: str | None,
    print_scale: str | None, own_limits: tuple[Limit, ...] | None,
    camera: Camera | None, kept: tuple[Camera, ...],
) -> Conditions:  # fmt: skip
    """What the command line says, then the job card beside the photo, then the settings.

    own_limits: those alone, whatever the others say. camera: that took the photo, None to let the
    photo choose among those that are kept. Raises BadJobCard, BadValue.
    """
    card, told = _job_card_beside(photo)
    thickness = told.get("belt_thickness")
    given: dict[str, object] = {
        "card_on": card_on or card.lies_on or settings.card_on,
        "belt_thickness_mm": thickness.value if thickness else settings.belt_thickness_mm,
        "print_scale": card.print_scale or settings.print_scale,
        "print_scale_size": None if card.print_scale else settings.print_scale_size,
        "card_thickness_mm": settings.card_thickness_mm,
        "print_scales": settings.print_scales,
        "camera": camera,
        "cameras": kept,
        "limits": limits.in_force(settings, told, card.limits)
        if own_limits is None
        else limits.around(own_limits, told),
    }
    if belt_thickness:
        given["belt_thickness_mm"] = typed_reading("belt_thickness", belt_thickness, Typed()).value
    if print_scale:
        given |= {"print_scale": _pair(print_scale), "print_scale_size": None}
    return Conditions.model_validate(given)


def _job_card_beside(photo: Path) -> tuple[JobCard, dict[str, Reading]]:
    """The job card in the photo's folder, and what it tells of the splice in the photo."""
    path = photo.parent / FILE_NAME
    if not path.is_file():
        return JobCard(), {}
    card = read(path)
    splice = next((note.splice for note in card.photos if note.file == photo.name), 1)
    return card, in_force(card.readings, splice)


def _pair(text: str) -> tuple[float, float]:
    hint = "write caliper reading / nominal length for x and y, like 1.002,0.998"
    try:
        x, y = (float(part) for part in text.split(","))
        return PhotoSettings(print_scale=(x, y)).print_scale or (x, y)
    except ValueError as error:
        raise BadValue(value=text, field="a print scale", hint=hint) from error


def one(path: Path, given: Conditions, overlays: Path) -> SeamMeasurement:
    """Measure one photo, a file that is no picture included: it is refused like any other.

    ``overlay`` and ``plot`` are the paths of the pictures that show what was measured."""
    try:
        overlays.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputUnwritable(path=overlays, detail=error.strerror) from error
    # Two cameras may use the same file name.
    place = hashlib.sha256(str(path.resolve()).encode()).hexdigest()[:8]
    overlay = overlays / f"{path.stem}_{place}_measured.jpg"
    plot = overlays / f"{path.stem}_{place}_gap.png"
    try:
        seam = measure(path, given, overlay, plot=plot)
    except InputRefused as error:
        return SeamMeasurement(file=str(path), status="refused", reason=str(error))
    shown = {"overlay": seam.overlay and str(overlay), "plot": seam.plot and str(plot)}
    return seam.model_copy(update={"file": str(path), **shown})


def exit_code(seam: SeamMeasurement) -> int:
    """3 refused; 4 outside or undecided; 0 within, or measured without a limit."""
    if seam.status == "refused":
        return 3
    return 4 if seam.decision in (Decision.OUTSIDE, Decision.UNDECIDED) else 0
