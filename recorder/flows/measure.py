"""Photos to measurements, without a job."""

from __future__ import annotations

import hashlib
from pathlib import Path

from recorder.errors import BadValue, InputRefused, OutputUnwritable
from recorder.model.measurement import Decision, SeamMeasurement
from recorder.model.reading import Typed
from recorder.notes.typed import typed_reading
from recorder.photo.conditions import Conditions
from recorder.photo.measure import measure
from recorder.settings import PhotoSettings


def conditions(
    settings: PhotoSettings, belt_thickness: str | None, card_on: str | None,
    print_scale: str | None,
) -> Conditions:  # fmt: skip
    """The settings, with what the command line says put first."""
    given: dict[str, object] = {
        "card_on": settings.card_on,
        "belt_thickness_mm": settings.belt_thickness_mm,
        "print_scale": settings.print_scale,
        "print_scale_size": settings.print_scale_size,
        "limits": settings.limits,
    }
    if belt_thickness:
        given["belt_thickness_mm"] = typed_reading("belt_thickness", belt_thickness, Typed()).value
    if card_on:
        given["card_on"] = card_on
    if print_scale:
        given |= {"print_scale": _pair(print_scale), "print_scale_size": None}
    return Conditions.model_validate(given)


def _pair(text: str) -> tuple[float, float]:
    hint = "write caliper reading / nominal length for x and y, like 1.002,0.998"
    try:
        x, y = (float(part) for part in text.split(","))
        return PhotoSettings(print_scale=(x, y)).print_scale or (x, y)
    except ValueError as error:
        raise BadValue(value=text, field="a print scale", hint=hint) from error


def one(path: Path, given: Conditions, overlays: Path) -> SeamMeasurement:
    """Measure one photo, a file that is no picture included: it is refused like any other.

    ``overlay`` is the path of the picture that shows what was measured."""
    try:
        overlays.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputUnwritable(path=overlays, detail=error.strerror) from error
    # Two cameras may use the same file name.
    place = hashlib.sha256(str(path.resolve()).encode()).hexdigest()[:8]
    overlay = overlays / f"{path.stem}_{place}_measured.jpg"
    try:
        seam = measure(path, given, overlay)
    except InputRefused as error:
        return SeamMeasurement(file=str(path), status="refused", reason=str(error))
    shown = str(overlay) if seam.overlay else None
    return seam.model_copy(update={"file": str(path), "overlay": shown})


def exit_code(seam: SeamMeasurement) -> int:
    """3 refused; 4 outside or undecided; 0 within, or measured without a limit."""
    if seam.status == "refused":
        return 3
    return 4 if seam.decision in (Decision.OUTSIDE, Decision.UNDECIDED) else 0
