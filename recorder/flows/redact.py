"""A request, or a time that is over, to jobs without a person's voice.

::

    jobs that are named, or due ─► what would go ─► (a person says yes) ─► removed ─► index

A session that was cut off is ended first, so that its record tells what there was.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.archive.index.index import Index
from recorder.archive.index.keys import in_utc
from recorder.archive.jobs import acting, sounds
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.folders import job_folders
from recorder.archive.jobs.media import PREFIX_DIGITS
from recorder.archive.sharing import redaction
from recorder.errors import BadJobFolder, BadValue, JobUnfinished, SeamnoteError, WrongUse
from recorder.flows.live.finishing import end_unheard
from recorder.flows.progress import Progress
from recorder.model.base import Value
from recorder.model.job import Job, MediaFile, MediaKind, Removal
from recorder.settings import Settings

LONGEST_REASON = 500  # characters


class Planned(Value):
    """What a removal takes out of one job.

    job, title, created_at: of it. folder: where. going: what goes. left_over: files that an earlier
    removal should have taken. reports: signed ones, which stay as they are.
    """

    job: str
    title: str
    created_at: datetime
    folder: Path
    going: redaction.Spoken
    left_over: tuple[Path, ...] = ()
    reports: int = 0

    @property
    def nothing(self) -> bool:
        return not self.going and not self.left_over


class Removed(Value):
    """What went out of one job. failed: why nothing more went, in one line; empty when all did."""

    job: str
    title: str
    going: redaction.Spoken = redaction.Spoken()
    failed: str = ""


def plan(folder: JobFolder, transcript: bool) -> Planned:
    """What a removal would take out of a job. Raises JobUnfinished, BadJobFolder."""
    job = folder.load()
    if not (job.complete or sounds.is_live(folder.path)):
        raise JobUnfinished(job=job.id)
    return _planned(folder, job, transcript)


def due(
    home: Home, settings: Settings, transcript: bool, now: datetime, progress: Progress
) -> tuple[tuple[Planned, ...], tuple[str, ...]]:
    """Of the finished jobs and cut-off sessions whose recordings are over their time, those that
    still hold any; and one line for each job that cannot be judged, as it cannot be read.

    Raises WrongUse where the settings name no time, HomeUnusable.
    """
    keep_days = settings.archive.keep_recordings_days
    if keep_days is None:
        detail = f"no recording is ever due: {home.settings} sets no keep_recordings_days"
        raise WrongUse(detail=f"{detail} in [archive]", command="archive redact")
    progress.stage(f"looking for recordings older than {keep_days} days")
    before = now - timedelta(days=keep_days)
    found, damaged = [], []
    folders = job_folders(home)
    for number, folder in enumerate(folders, 1):
        try:
            job = folder.load()
            ended = job.complete or sounds.is_live(folder.path)
            if ended and in_utc(job.created_at) < before:
                found.append(_planned(folder, job, transcript))
        except BadJobFolder as error:
            damaged.append(str(error))
        progress.share(number / len(folders))
    return tuple(each for each in found if not each.nothing), tuple(damaged)


def copies(home: Home, planned: Sequence[Planned]) -> tuple[str, ...]:
    """Ids of other jobs that hold one of the recordings too, by the digest in their names."""
    ours = {each.job for each in planned}
    marks = {media.sha256[:PREFIX_DIGITS] for each in planned for media in each.going.recordings}
    marks.discard("")  # of a session that has no originals yet
    return tuple(
        folder.id
        for folder in (job_folders(home) if marks else ())
        if folder.id not in ours
        and any(Path(path).name[:PREFIX_DIGITS] in marks for path in folder.media.paths())
    )


def due_reason(settings: Settings) -> str:
    """The reason that stands in a record whose recordings were over their time."""
    return f"recordings are kept for {settings.archive.keep_recordings_days} days"


def fit_reason(reason: str, of: str = "removal") -> str:
    """A reason on one line, for what stands in the record or in the history. Raises BadValue."""
    line = " ".join(reason.split())
    if not line or len(line) > LONGEST_REASON or not line.isprintable():
        hint = f"say in up to {LONGEST_REASON} characters who asked for it, or which rule"
        raise BadValue(value=reason[:40], field=f"the reason of the {of}", hint=hint)
    return line


def remove(
    home: Home, planned: Sequence[Planned], reason: str, transcript: bool, progress: Progress
) -> Iterator[Removed]:
    """Remove what was planned, job after job; one that cannot be done does not stop the rest.

    Then the index is told; words that went leave its free pages too, also those of an earlier
    removal that was cut off before. Raises what the index raises.
    """
    progress.stage("removing recordings")
    for number, each in enumerate(planned, 1):
        if not each.nothing:
            yield _removed(home, each, reason, transcript)
        progress.share(number / len(planned))
    progress.stage("telling the index")
    with Index.open(home, scanned=False) as index:
        for each in planned:
            index.bring(each.job)
        if transcript:
            index.scrub()


def _removed(home: Home, planned: Planned, reason: str, transcript: bool) -> Removed:
    removal = Removal(at=_now(), by=acting.actor().person, reason=reason)
    folder = JobFolder(planned.folder)
    try:
        if sounds.is_live(folder.path) and not folder.load().complete:
            end_unheard(home, folder)
        going = redaction.remove(folder, removal, transcript)
    except SeamnoteError as error:
        return Removed(job=planned.job, title=planned.title, failed=str(error))
    return Removed(job=planned.job, title=planned.title, going=going)


def _planned(folder: JobFolder, job: Job, transcript: bool) -> Planned:
    going = redaction.spoken(job, transcript)
    if not job.complete:
        going = going.model_copy(update={"recordings": (*going.recordings, *_live(folder))})
    return Planned(
        job=job.id,
        title=job.title(),
        created_at=job.created_at,
        folder=folder.path,
        going=going,
        left_over=redaction.left_over(folder, job),
        reports=len(list(folder.reports.glob("*.pdf"))),
    )


def _live(folder: JobFolder) -> tuple[MediaFile, ...]:
    """The sound of a session as the originals that it will be; their digests are not known yet."""
    return tuple(
        MediaFile(
            name=f"{path.stem}.flac",
            path=path.relative_to(folder.path).as_posix(),
            kind=MediaKind.AUDIO,
            sha256="",
            size_bytes=path.stat().st_size,
        )
        for path in sorted((folder.path / sounds.FOLDER).glob("recording_*.pcm"))
        if path.stat().st_size
    )


def _now() -> datetime:
    return datetime.now().astimezone().replace(microsecond=0)
