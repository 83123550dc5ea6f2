"""The end of a session: its sound becomes originals, the job complete, the report signed.

::

    stretches ─► FLAC, decoded again and compared ─► originals ─► complete ─► index ─► draft
        ─► signed report, where there is a key ─► ``live`` goes

Each step looks whether it was done, so that after a kill anywhere the same call goes on from there.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from recorder.archive.disk import lock
from recorder.archive.disk.home import Home
from recorder.archive.index.index import bring_up_to_date
from recorder.archive.jobs import sounds
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.sound import Sound
from recorder.archive.jobs.sounds import Sounds
from recorder.errors import OutputUnwritable, SeamnoteError
from recorder.flows import draft, report
from recorder.flows.live.turns import Turns
from recorder.flows.live.unforeseen import note
from recorder.flows.progress import Progress
from recorder.model.job import Job, MediaKind
from recorder.report.identity.identity import Identity
from recorder.settings import Settings
from recorder.voice import flac

LOCKED = "live-"  # before the id of a job, in the name of what is locked while its session is open
Saving = Callable[[Callable[[Job], Job]], object]


def finish(
    home: Home, folder: JobFolder, there: Sounds, turns: Turns, settings: Settings,
    key: Identity | None, progress: Progress,
) -> str:  # fmt: skip
    """Bring a job whose sound was heard to its end; why there is no draft or no report, else ''.

    Raises what keeping and saving raise; then it can be called again.
    """
    progress.stage("keeping the recordings")
    complete(folder, there, turns.change)
    progress.stage("entering the job into the index")
    bring_up_to_date(home, folder.id)
    missed = _papers(home, folder, turns.job, settings, key, progress)
    sounds.discard(folder.path)
    return missed


def end_unheard(home: Home, folder: JobFolder) -> None:
    """Bring a session that was cut off to its end as far as it was heard, without any pages.

    Raises Busy while it runs, and what keeping and saving raise.
    """
    with lock.held(home.jobs / f"{LOCKED}{folder.id}", wait_s=0):
        complete(folder, Sounds(folder.path), folder.update)
        sounds.discard(folder.path)


def complete(folder: JobFolder, there: Sounds, change: Saving) -> None:
    """Make the stretches originals and the job complete."""
    for sound in there.all():
        if sound.samples:
            _keep(folder, sound, change)
    change(lambda job: _completed(job, there))


def _keep(folder: JobFolder, sound: Sound, save: Saving) -> None:
    """Make a stretch an original of the job. What is compared is what is kept."""
    name = _wanted(folder, sound)
    if name is None:
        return
    packed = sound.path.with_name(name)
    flac.write(sound.path, sound.head.rate_hz, packed)
    if not flac.same(sound.path, packed):
        detail = "it does not give back the sound that was recorded"
        raise OutputUnwritable(path=packed, detail=detail)

    def change(job: Job) -> Job:
        if any(media.name == name for media in job.media):
            return job
        media = folder.media.keep([packed], [MediaKind.AUDIO])
        return job.model_copy(update={"media": (*job.media, *media)})

    save(change)
    packed.unlink(missing_ok=True)


def _wanted(folder: JobFolder, sound: Sound) -> str | None:
    """The name under which a stretch is to be kept; None when it is, or was taken out on request.

    Another device may have brought another recording of its name, where both went on with the job.
    """
    originals = {media.name: media for media in folder.load().media}
    plain = sound.recording.file
    for name in (plain, f"{Path(plain).stem}_{sound.head.name[:8]}.flac"):
        media = originals.get(name)
        if media is None:
            return name
        here = not media.removed and folder.media.holds(media.path)
        if media.removed or (here and flac.same(sound.path, folder.path_of(media.path))):
            return None
    raise OutputUnwritable(path=sound.path, detail="two other recordings have its name")


def _completed(job: Job, there: Sounds) -> Job:
    ours = tuple(each for each in there.recordings() if each.samples)
    if job.complete:
        known = {each.file for each in job.recordings}
        more = tuple(each for each in ours if each.file not in known)
        return job.model_copy(update={"recordings": (*job.recordings, *more)})
    lengths_s = {each.file: round(each.duration_s, 2) for each in ours}
    transcripts = tuple(
        each.model_copy(update={"duration_s": lengths_s.get(each.file, each.duration_s)})
        for each in job.transcripts
    )
    return job.model_copy(update={"complete": True, "recordings": ours, "transcripts": transcripts})


def _papers(
    home: Home, folder: JobFolder, job: Job, settings: Settings, key: Identity | None,
    progress: Progress,
) -> str:  # fmt: skip
    """The job is kept, whatever is wrong with its pages."""
    try:
        progress.stage("writing the draft report")
        draft.write(home, job, folder, settings)
        if key and not any(folder.reports.glob("*.pdf")):
            report.write(home, folder, settings, key, progress)
    except SeamnoteError as error:
        return str(error)
    except Exception as error:
        return note("the report could not be written", error)
    return ""
