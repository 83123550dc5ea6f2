"""A kept photo to its measurement in the job, for a folder that is processed and for a session."""

from __future__ import annotations

from pathlib import Path
from typing import Protocol

from recorder.archive.jobs.folder import JobFolder
from recorder.errors import InputRefused
from recorder.flows import evidence, jobcard, limits
from recorder.model.base import Value
from recorder.model.camera import Camera
from recorder.model.job import Job, MediaFile, MediaKind, in_force
from recorder.model.measurement import SeamMeasurement
from recorder.model.reading import Standing
from recorder.model.software import Software
from recorder.photo.image.conditions import Conditions
from recorder.settings import PhotoSettings

NO_CARD = jobcard.JobCard()


class Measure(Protocol):
    """``recorder.photo.measure.measure``, or ``measure_aside`` for pictures of strangers."""

    def __call__(
        self, path: Path, conditions: Conditions, overlay: Path, *, plot: Path, name: str
    ) -> SeamMeasurement: ...


class Looked(Value):
    """media: of the photo, with why it was refused, if it was. seam: None for a refused file."""

    media: MediaFile
    seam: SeamMeasurement | None = None


def look(
    job: Job, folder: JobFolder, media: MediaFile, settings: PhotoSettings,
    kept: tuple[Camera, ...], measure: Measure, card: jobcard.JobCard = NO_CARD,
) -> Looked:  # fmt: skip
    """Measure a photo of the job that is kept already, by what the job says of its splice.

    kept: calibrated cameras. A file that is no picture is told in ``Looked`` and not raised; raises
    OutputUnwritable and BadJobFolder.
    """
    splice = next((note.splice for note in job.photos if note.file == media.name), 1)
    stem = f"derived/{Path(media.path).stem}"
    overlay, plot = f"{stem}_measured.jpg", f"{stem}_gap.png"
    try:
        with folder.media.local(media.path) as photo:
            seam = measure(
                photo,
                conditions(job, settings, card, kept, splice),
                folder.path_of(overlay),
                name=media.name,
                plot=folder.path_of(plot),
            )
    except InputRefused as error:
        return Looked(media=media.model_copy(update={"refused": refused(media, error)}))
    shown = {"overlay": seam.overlay and overlay, "plot": seam.plot and plot}
    used = media.model_copy(update={"refused": ""})
    return Looked(media=used, seam=seam.model_copy(update=shown))


def card_of(job: Job, folder: JobFolder) -> jobcard.JobCard:
    """The job card that a session began with; one that says nothing where there was none. Raises
    BadJobFolder, BadJobCard.
    """
    cards = (media for media in job.media if media.kind is MediaKind.CARD and not media.removed)
    kept = next(cards, None)
    if kept is None:
        return NO_CARD
    with folder.media.local(kept.path) as path:
        return jobcard.read(path)


def keep(job: Job, looked: Looked) -> Job:
    """The job with what was found; it may have gained other things meanwhile."""
    media = tuple(
        each.model_copy(update={"refused": looked.media.refused})
        if each.path == looked.media.path
        else each
        for each in job.media
    )
    job = job.model_copy(update={"media": media})
    if looked.seam is None:
        return job
    others = [other for other in job.measurements if other.file != looked.seam.file]
    return job.model_copy(
        update={
            "measurements": (*others, looked.seam),
            "software": with_software(job.software, evidence.measuring()),
        }
    )


def conditions(
    job: Job, settings: PhotoSettings, card: jobcard.JobCard, kept: tuple[Camera, ...], splice: int
) -> Conditions:
    """What the job card says comes before the settings."""
    told = in_force(job.readings, splice)
    thickness = told.get("belt_thickness")
    if thickness and thickness.standing is Standing.DOUBTFUL:
        thickness = None  # it would enter every length without a mark
    return Conditions(
        card_on=card.lies_on or settings.card_on,
        belt_thickness_mm=float(thickness.value) if thickness else settings.belt_thickness_mm,
        print_scale=card.print_scale or settings.print_scale,
        print_scale_size=None if card.print_scale else settings.print_scale_size,
        card_thickness_mm=settings.card_thickness_mm,
        print_scales=settings.print_scales,
        cameras=kept,
        limits=limits.in_force(settings, told, card.limits),
    )


def refused(media: MediaFile, error: InputRefused) -> str:
    """Why a file was not used, under the name that the user knows."""
    return str(type(error)(**{**error.data, "path": media.name}))


def with_software(known: tuple[Software, ...], used: tuple[Software, ...]) -> tuple[Software, ...]:
    return tuple(dict.fromkeys((*known, *used)))
