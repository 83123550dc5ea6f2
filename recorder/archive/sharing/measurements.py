"""What two devices measured in the photos of one job, to one measurement for each photo."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import PurePosixPath

from pydantic import JsonValue

from recorder.model.event import Event, What
from recorder.model.measurement import SeamMeasurement

_PICTURES = {".jpg", ".jpeg", ".png"}

Seams = tuple[SeamMeasurement, ...]


def united(
    ours: Seams, theirs: Iterable[SeamMeasurement], here: Iterable[Event]
) -> tuple[Seams, Seams]:
    """One measurement for each photo, and those of theirs that differ from ours and are not known
    yet. Theirs counts where ours was refused.

    theirs: with their files as they are called here. here: events of our device.
    """
    merged = list(ours)
    places = {seam.file: place for place, seam in enumerate(merged)}
    shown = {path for seam in merged for path in (seam.overlay, seam.plot)}
    apart: list[SeamMeasurement] = []
    for seam in theirs:
        place = places.setdefault(seam.file, len(merged))
        if place == len(merged):
            merged.append(_with_pictures(seam, shown))
        elif merged[place].status == "refused" and seam.status == "measured":
            own = {merged[place].overlay, merged[place].plot}
            merged[place] = _with_pictures(seam, shown - own)
        elif seam.status == "measured" and _numbers(seam) != _numbers(merged[place]):
            apart.append(seam)
    known = list(_kept_apart(here))
    return tuple(merged), tuple(s for s in apart if s.model_dump(mode="json") not in known)


def _with_pictures(seam: SeamMeasurement, taken: set[str | None]) -> SeamMeasurement:
    """The measurement with those of its pictures that take no other's place."""
    kept = {
        name: path if path not in taken and PurePosixPath(path).suffix in _PICTURES else None
        for name, path in (("overlay", seam.overlay), ("plot", seam.plot))
        if path is not None
    }
    return seam.model_copy(update=kept)


def _numbers(seam: SeamMeasurement) -> SeamMeasurement:
    return seam.model_copy(update={"overlay": None, "plot": None})


def _kept_apart(events: Iterable[Event]) -> Iterator[JsonValue]:
    for event in events:
        seams = event.data.get("measurements") if event.what is What.MERGED else None
        if isinstance(seams, list):
            yield from seams
