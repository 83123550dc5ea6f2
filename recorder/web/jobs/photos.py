"""The photos of a job as its page shows them: the picture, the numbers, the decision."""

from __future__ import annotations

from recorder.model.base import Value
from recorder.model.characteristics import CHARACTERISTICS
from recorder.model.job import Job, MediaFile, MediaKind, PhotoNote
from recorder.model.measurement import SeamMeasurement

KINDS = ("photo", "overlay", "plot")
# Told beside the number of which they are a part.
_PARTS = ("belt_width_left", "belt_width_right", "edge_offset_upper", "edge_offset_lower")


class Row(Value):
    """One characteristic. decision: '' where no limit was in force."""

    label: str
    value: str
    decision: str = ""
    limit: str = ""
    source: str = ""


class Photo(Value):
    """number: among the photos of the job, from 1. of: splice, press run, and whether it was before
    or after pressing. shown: kinds of picture that there are. alt: what the overlay shows, in
    words. measured: whether there are numbers; reason: why there are none. look: what a person
    should look at.
    """

    number: int
    name: str
    caption: str
    of: str
    shown: tuple[str, ...]
    alt: str
    measured: bool
    reason: str = ""
    decision: str = ""
    rows: tuple[Row, ...] = ()
    look: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()


def photo_files(job: Job) -> list[MediaFile]:
    """The photos of a job; the first one has the number 1."""
    return [media for media in job.media if media.kind is MediaKind.PHOTO]


def photos(job: Job) -> tuple[Photo, ...]:
    found = {seam.file: seam for seam in job.measurements}
    noted = {note.file: note for note in job.photos}
    return tuple(
        _photo(number, media, noted.get(media.name), found.get(media.name))
        for number, media in enumerate(photo_files(job), 1)
    )


def _photo(
    number: int, media: MediaFile, note: PhotoNote | None, seam: SeamMeasurement | None
) -> Photo:
    there = {
        "photo": not media.removed,
        "overlay": bool(seam and seam.overlay),
        "plot": bool(seam and seam.plot),
    }
    return Photo(
        number=number,
        name=media.name,
        caption=note.caption if note else "",
        of=_of(note),
        shown=tuple(kind for kind in KINDS if there[kind]),
        alt=_alt(seam, media.name),
        measured=seam is not None and seam.status == "measured",
        reason=_reason(media, seam),
        decision=seam.decision.value if seam and seam.decision else "",
        rows=tuple(_rows(seam)) if seam else (),
        look=tuple(flag.text for flag in seam.flags) if seam else (),
        warnings=seam.warnings if seam else (),
    )


def _of(note: PhotoNote | None) -> str:
    if note is None:
        return ""
    stage = f"{note.stage} pressing" if note.stage else ""
    return ", ".join(filter(None, (f"splice {note.splice}, press run {note.run}", stage)))


def _reason(media: MediaFile, seam: SeamMeasurement | None) -> str:
    if media.removed:
        return f"removed on request by {media.removed.by or 'nobody named'}: {media.removed.reason}"
    if media.refused:
        return media.refused
    return seam.reason if seam else "not measured yet"


def _alt(seam: SeamMeasurement | None, name: str) -> str:
    if seam is None or seam.status != "measured":
        return f"Photo {name}"
    told = [f"{row.label.lower()} {row.value}" for row in _rows(seam)[:3]]
    return f"What was measured in photo {name}: {', '.join(told)}"


def _rows(seam: SeamMeasurement) -> list[Row]:
    limits = {limit.name: limit for limit in seam.limits}
    rows: list[Row] = []
    for name, each in CHARACTERISTICS.items():
        value, limit = getattr(seam, name), limits.get(each.limited or "")
        if name in _PARTS or (value is None and limit is None):
            continue
        decided = seam.decisions.get(limit.name) if limit else None
        rows.append(
            Row(
                label=each.label,
                value=value.shown() if value else "not measured",
                decision=decided.value if decided else "",
                limit=limit.shown() if limit else "",
                source=limit.source if limit else "",
            )
        )
    return rows
