"""A person's voice taken out of a job on request, while the record of the job stays provable.

::

    record and event say that it is gone ─► what was made of it ─► manifest ─► the recordings

Digests and sizes, the chain of events and signed reports stay. A kill between two deeds leaves
files that the record says are gone: ``left_over`` finds them, and the same call again takes them.
"""

from __future__ import annotations

from pathlib import Path

from pydantic import JsonValue

from recorder.archive.disk import lock
from recorder.archive.disk.home import cause
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.sounds import FOLDER as LIVE
from recorder.errors import (
    BadJobFolder,
    JobChanged,
    JobUnfinished,
    OutputUnwritable,
    RemovalIncomplete,
)
from recorder.model.base import Value
from recorder.model.event import What
from recorder.model.job import Job, MediaFile, MediaKind, Removal


class Spoken(Value):
    """What of a person's speech a job still holds, and a removal would take.

    recordings: original files of sound. transcripts: names of the files whose words go. words: how
    many these are, by the first hearing. notes: how many notes go.
    """

    recordings: tuple[MediaFile, ...] = ()
    transcripts: tuple[str, ...] = ()
    words: int = 0
    notes: int = 0

    def __bool__(self) -> bool:
        return bool(self.recordings or self.transcripts or self.notes)


def spoken(job: Job, transcript: bool) -> Spoken:
    """What a removal takes. transcript: also what was said and is no reading's evidence."""
    recordings = tuple(m for m in job.media if m.kind is MediaKind.AUDIO and not m.removed)
    if not transcript:
        return Spoken(recordings=recordings)
    heard = [each for each in job.transcripts if each.utterances]
    return Spoken(
        recordings=recordings,
        transcripts=tuple(each.file for each in heard),
        words=sum(len(said.words) for each in heard for said in each.utterances),
        notes=len(job.notes),
    )


def without(job: Job, removal: Removal, transcript: bool) -> Job:
    """The job once a removal is in force.

    Of a transcript the file, the model and the length stay, so that the recording counts as heard;
    of the words, those that carry a value or a stage: they stand in its evidence.
    """
    changes: dict[str, object] = {
        "media": tuple(
            media.model_copy(update={"removed": removal})
            if media.kind is MediaKind.AUDIO and not media.removed
            else media
            for media in job.media
        )
    }
    if transcript:
        emptied = (each.model_copy(update={"utterances": ()}) for each in job.transcripts)
        changes |= {"transcripts": tuple(emptied), "notes": ()}
    return job.model_copy(update=changes)


def remove(folder: JobFolder, removal: Removal, transcript: bool) -> Spoken:
    """Take a person's speech out of a job, or complete a removal that was cut off; what went.

    Raises JobUnfinished, JobChanged when it came to hold other speech meanwhile, BadJobFolder,
    RecordChanged, Busy, OutputUnwritable, and RemovalIncomplete where the record could be written
    and the files not removed.
    """
    with lock.held(folder.path):
        job = _sound(folder)
    if not job.complete:
        raise JobUnfinished(job=job.id)
    going = spoken(job, transcript)
    _ours(folder, job)
    if going:

        def change(known: Job) -> Job:
            if spoken(known, transcript) != going:
                raise JobChanged(path=folder.path)
            return without(known, removal, transcript)

        folder.update(change, extra=(What.REMOVED, _data(going, removal)))
    complete(folder)
    return going


def left_over(folder: JobFolder, job: Job) -> tuple[Path, ...]:
    """Files that a removal should have taken and did not. Raises BadJobFolder."""
    left = (*_recordings_left(folder, job), *_live_left(folder, job))
    return (*left, *_derived_left(folder, job))


def faults(folder: JobFolder, job: Job) -> tuple[str, ...]:
    """One line for each file that a removal should have taken. Raises BadJobFolder."""
    mend = f"say 'seamnote archive redact {job.id} --reason TEXT --yes' again"
    return tuple(f"{path} was removed on request; {mend}" for path in left_over(folder, job))


def _data(going: Spoken, removal: Removal) -> dict[str, JsonValue]:
    told = {"name", "path", "sha256", "size_bytes"}
    return {
        "originals": [each.model_dump(mode="json", include=told) for each in going.recordings],
        "reason": removal.reason,
        "transcripts": list(going.transcripts),
    }


def complete(folder: JobFolder) -> None:
    """Delete what the record says is gone; the recordings last, as they show that it is not.

    Raises BadJobFolder, RecordChanged, RemovalIncomplete, Busy.
    """
    with lock.held(folder.path):
        job = _sound(folder)
        removed = _ours(folder, job)
        if not removed:
            return
        try:
            for path in (*_derived(folder, job), *_live_left(folder, job)):
                path.unlink()
            folder.media.remove(removed)
        except OSError as error:
            raise RemovalIncomplete(job=job.id, detail=cause(error)) from error
        except OutputUnwritable as error:
            raise RemovalIncomplete(job=job.id, detail=error.data["detail"]) from error


def _sound(folder: JobFolder) -> Job:
    """The job, where its events vouch for what its record says was removed."""
    folder.settle()
    return folder.load()


def _ours(folder: JobFolder, job: Job) -> tuple[str, ...]:
    """Paths of what is removed and no other original's. Raises BadJobFolder for one that leads
    out of the folder, before anything is done.
    """
    kept = {media.path for media in job.media if not media.removed}
    removed = tuple(media.path for media in job.media if media.removed)
    for path in (*kept, *removed):
        folder.media.holds(path)
    return tuple(path for path in removed if path not in kept)


def _recordings_left(folder: JobFolder, job: Job) -> list[Path]:
    store = folder.media
    return [folder.path / path for path in _ours(folder, job) if store.holds(path)]


def _live_left(folder: JobFolder, job: Job) -> list[Path]:
    """Sound of a session that is an original by now, and removed."""
    names = {Path(media.name).stem for media in job.media if media.removed}
    live = folder.path / LIVE
    return [path for path in sorted(live.glob("recording_*")) if path.stem in names]


def _derived_left(folder: JobFolder, job: Job) -> list[Path]:
    """What was made before the newest removal, and so may show what it took."""
    newest = max((media.removed.at for media in job.media if media.removed), default=None)
    if newest is None:
        return []
    return [path for path in _derived(folder, job) if path.stat().st_mtime < newest.timestamp()]


def _derived(folder: JobFolder, job: Job) -> list[Path]:
    """All derived files but the pictures that the record names; the draft, above all. Whatever is
    derived can be made again.
    """
    if folder.derived.is_symlink():
        raise BadJobFolder(path=folder.path, detail="'derived' leads out of the folder")
    named = {path for seam in job.measurements for path in (seam.overlay, seam.plot) if path}
    try:
        return [
            path
            for path in sorted(folder.derived.rglob("*"))
            if (path.is_file() or path.is_symlink())
            and path.relative_to(folder.path).as_posix() not in named
        ]
    except OSError as error:
        raise BadJobFolder(path=folder.path, detail=cause(error)) from error
