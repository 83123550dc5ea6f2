"""A folder of recordings and photos to a job: the main data path.

::

    folder ─► job card ─► originals on disk ─► hear ─► understand ─► measure ─► index ─► draft

Everything is on disk before it is understood, and the job is saved after each file, so that an
interruption costs at most the file that was being heard. The same files give the same job again.
"""

from __future__ import annotations

import re
from datetime import datetime
from pathlib import Path

from recorder.archive.disk import lock
from recorder.archive.disk.home import Home
from recorder.archive.index.index import bring_up_to_date
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.folders import find_by_originals
from recorder.archive.jobs.originals import digest_over, sha256_of, shown_name
from recorder.archive.jobs.restored import need_originals
from recorder.errors import FileMissing, InputRefused, NothingToProcess, SeamnoteError
from recorder.flows import cameras, draft, evidence, jobcard, photos
from recorder.flows.progress import Progress
from recorder.model.base import Value
from recorder.model.job import Job, MediaFile, MediaKind
from recorder.notes.extract import extract
from recorder.notes.words.vocabulary import hearing_prompt
from recorder.photo.image.picture import PICTURE_SUFFIXES
from recorder.photo.measure import measure
from recorder.settings import Settings
from recorder.voice.audio import AUDIO_SUFFIXES
from recorder.voice.transcribe import transcribe


class Processed(Value):
    """job: as saved. folder: where. again: it had been processed before. passed_over: names of
    files in the folder that are neither recordings nor photos. no_draft: why there is no draft
    report, empty when there is one.
    """

    job: Job
    folder: Path
    again: bool
    passed_over: tuple[str, ...]
    no_draft: str = ""


def process(home: Home, source: Path, settings: Settings, progress: Progress) -> Processed:
    """Process one folder.

    Raises NothingToProcess, BadJobCard, BadCamera, OriginalsElsewhere, Busy while another process
    is at the same files, or that an engine lacks.

    A single file that cannot be used is kept, marked in ``Job.media`` and does not stop the rest.
    What was done before is not done again; what was refused is tried again.
    """
    kinds, passed_over = _sort_out(source)
    # Two that began at once would each find no job of these files, and make two.
    same_files = digest_over({sha256_of(path) for path in kinds})[:16]
    with lock.held(home.jobs / f"processing-{same_files}", wait_s=0):
        return _process(home, source, kinds, passed_over, settings, progress)


def _process(
    home: Home, source: Path, kinds: dict[Path, MediaKind], passed_over: tuple[str, ...],
    settings: Settings, progress: Progress,
) -> Processed:  # fmt: skip
    originals = list(kinds)
    card_path = source / jobcard.FILE_NAME
    card = jobcard.read(card_path) if card_path in kinds else jobcard.JobCard()
    kept = cameras.all_kept(home)

    known = find_by_originals(home, originals)
    if known:
        folder, job = JobFolder(home.jobs / known.id), known
        need_originals(folder, job)
    else:
        progress.stage(f"keeping {len(originals)} original files")
        folder, job = JobFolder.create(
            home, originals, list(kinds.values()), _now(), card.readings, card.photos,
            card.belt_length,
        )  # fmt: skip
    # What the recordings say of the belt counts when its photos are measured.
    for media in _waiting(job, MediaKind.AUDIO):
        job = _hear(job, folder, media, settings, card, progress)
        folder.save(job)
    for media in _waiting(job, MediaKind.PHOTO):
        progress.stage(f"measuring {media.name}")
        job = photos.keep(job, photos.look(job, folder, media, settings.photo, kept, measure, card))
        folder.save(job)

    if not job.complete:
        job = job.model_copy(update={"complete": True})
        folder.save(job)
    progress.stage("entering the job into the index")
    bring_up_to_date(home, job.id)
    no_draft = ""
    if job != known or not folder.path_of(draft.DRAFT).is_file():
        progress.stage("writing the draft report")
        try:
            draft.write(home, job, folder, settings)
        except SeamnoteError as error:  # the job is kept, whatever is wrong with its looks
            no_draft = str(error)
    return Processed(
        job=job,
        folder=folder.path,
        again=known is not None and known.complete,
        passed_over=passed_over,
        no_draft=no_draft,
    )


def _waiting(job: Job, kind: MediaKind) -> list[MediaFile]:
    """Files of a kind that have neither transcript nor measurement yet, and are here."""
    done = {transcript.file for transcript in job.transcripts}
    done |= {seam.file for seam in job.measurements if seam.status == "measured"}
    here = [media for media in job.media if media.kind is kind and not media.removed]
    return [media for media in here if media.name not in done]


def _sort_out(source: Path) -> tuple[dict[Path, MediaKind], tuple[str, ...]]:
    """The files to keep with their kinds, by name, and the names of all others."""
    kinds: dict[Path, MediaKind] = {}
    passed_over: list[str] = []
    for path in _files(source):
        suffix = path.suffix.lower()
        if suffix in AUDIO_SUFFIXES:
            kinds[path] = MediaKind.AUDIO
        elif suffix in PICTURE_SUFFIXES:
            kinds[path] = MediaKind.PHOTO
        elif path.name == jobcard.FILE_NAME:
            kinds[path] = MediaKind.CARD
        elif path.name != jobcard.PAGE:
            passed_over.append(shown_name(path))
    if not {MediaKind.AUDIO, MediaKind.PHOTO} & set(kinds.values()):
        raise NothingToProcess(path=source)
    return kinds, tuple(passed_over)


def _files(source: Path) -> list[Path]:
    """The visible files of a folder, "Recording 2" before "Recording 10"."""
    if not source.exists():
        raise FileMissing(path=source)
    if not source.is_dir():
        raise InputRefused(path=source, detail="it is a file; give the folder that holds the job")
    try:
        files = [path for path in source.iterdir() if path.is_file() and path.name[0] != "."]
    except OSError as error:
        raise InputRefused(path=source, detail=error.strerror) from error
    return sorted(files, key=lambda path: _natural(path.name))


def _natural(name: str) -> list[tuple[int, str]]:
    return [
        (int(part), "") if part.isdecimal() else (-1, part.casefold())
        for part in re.split(r"(\d+)", name)
    ]


def _hear(
    job: Job, folder: JobFolder, media: MediaFile, settings: Settings, card: jobcard.JobCard,
    progress: Progress,
) -> Job:  # fmt: skip
    progress.stage(f"hearing {media.name}")
    prompt = hearing_prompt(card.names())
    try:
        with folder.media.local(media.path) as sound:
            heard = transcribe(sound, settings.speech, prompt, progress.share)
    except InputRefused as error:
        return _refuse(job, media, error)
    transcript = heard.model_copy(update={"file": media.name})
    found = extract(transcript, job.readings, settings.trust)
    return _mark(job, media, "").model_copy(
        update={
            "transcripts": (*job.transcripts, transcript),
            "readings": (*job.readings, *found.readings),
            "notes": (*job.notes, *found.notes),
            "stages": (*job.stages, *found.stages),
            "software": photos.with_software(job.software, evidence.hearing(settings.speech)),
        }
    )


def _refuse(job: Job, media: MediaFile, error: InputRefused) -> Job:
    """Keep the file and say on it why it was not used, under the name that the user knows."""
    return _mark(job, media, photos.refused(media, error))


def _mark(job: Job, media: MediaFile, refused: str) -> Job:
    marked = media.model_copy(update={"refused": refused})
    return job.model_copy(
        update={"media": tuple(marked if m.path == media.path else m for m in job.media)}
    )


def all_refused(job: Job) -> bool:
    """Whether not one recording was heard and not one photo could be opened."""
    return not job.transcripts and not any(m.status == "measured" for m in job.measurements)


def refusals(job: Job) -> tuple[str, ...]:
    """One line for each file that could not be used, and for each photo without a measurement."""
    return tuple(
        [media.refused for media in job.media if media.refused]
        + [f"{m.file}: {m.reason}" for m in job.measurements if m.status == "refused"]
    )


def _now() -> datetime:
    return datetime.now().astimezone().replace(microsecond=0)
