"""The folder ``live`` of a job whose session runs: the sound that is no original yet.

::

    jobs/<id>/live/recording_1.pcm, .jsonl   a stretch each: see ``sound``
    jobs/<id>/live/…                         what the session remembers (recorder/flows/live/)

It is gone when the job is complete: the stretches have become originals by then.
"""

from __future__ import annotations

import re
import shutil
import threading
from pathlib import Path

from recorder.archive.disk import atomic
from recorder.archive.disk.home import cause
from recorder.archive.jobs import sound
from recorder.archive.jobs.sound import Head, Sound
from recorder.errors import BadJobFolder, OutputUnwritable, SoundRefused
from recorder.model.recording import Recording

FOLDER = "live"
# A page begins one after each gap; a job of a day has some dozens.
MOST_STRETCHES = 999
_OURS = re.compile(r"recording_([1-9][0-9]{0,2})\.jsonl")


class Sounds:
    """All stretches of one session. Thread-safe."""

    def __init__(self, job_folder: Path) -> None:
        """Opens what is there; cut to what may have been acknowledged.

        Raises BadJobFolder, OutputUnwritable.
        """
        self.folder = job_folder / FOLDER
        atomic.make_folder(self.folder)
        self._lock = threading.Lock()
        self._stretches = [Sound.open(path) for path in _paths(self.folder)]

    def all(self) -> tuple[Sound, ...]:
        """In the order in which they were opened."""
        return tuple(self._stretches)

    def named(self, name: str) -> Sound:
        """Raises SoundRefused."""
        found = self._find(name)
        if found is None:
            raise SoundRefused(detail="the page sends a stretch that it has not opened")
        return found

    def begin(self, head: Head) -> Sound:
        """The stretch of that name, made if there is none. OutputUnwritable, SoundRefused."""
        with self._lock:
            known = self._find(head.name)
            if known:
                return known
            number = max((_number(each.path) for each in self._stretches), default=0) + 1
            if number > MOST_STRETCHES:
                raise SoundRefused(detail=f"a job has at most {MOST_STRETCHES} stretches of sound")
            made = Sound.create(self.folder / f"recording_{number}{sound.SOUND}", head)
            self._stretches = [*self._stretches, made]
            return made

    def recordings(self) -> tuple[Recording, ...]:
        return tuple(each.recording for each in self._stretches)

    @property
    def seconds(self) -> float:
        return sum(each.seconds for each in self._stretches)

    def _find(self, name: str) -> Sound | None:
        return next((each for each in self._stretches if each.head.name == name), None)


def is_sound(name: str) -> bool:
    """Whether a name in a job folder is that of a stretch's samples or log."""
    folder, _, file = name.partition("/")
    return folder == FOLDER and bool(_OURS.fullmatch(file.replace(sound.SOUND, sound.LOG)))


def is_live(job_folder: Path) -> bool:
    """Whether a session of this job runs, or was cut off before its end."""
    return (job_folder / FOLDER).is_dir()


def sound_of(job_folder: Path, file: str, start_s: float, end_s: float) -> tuple[bytes, int]:
    """A part of a stretch that is no original yet: samples, int16 little-endian, and their rate.

    file: as in Recording. Empty where there is no such stretch, or no sound at that time. Raises
    BadJobFolder.
    """
    folder = job_folder / FOLDER
    path = next((each for each in _paths(folder) if f"{each.stem}.flac" == file), None)
    if path is None:
        return b"", 0
    found = Sound.look(path)
    rate_hz = found.head.rate_hz
    first = max(0, int(start_s * rate_hz))
    return found.read(first, int(end_s * rate_hz) - first), rate_hz


def faults(job_folder: Path) -> tuple[str, ...]:
    """One line for each part of the sound that is not as it was recorded."""
    folder = job_folder / FOLDER
    try:
        return tuple(fault for path in _paths(folder) for fault in sound.faults(path))
    except BadJobFolder as error:
        return (f"{error.data['path']}: {error.data['detail']}",)


def discard(job_folder: Path) -> None:
    """Remove the folder for good. Raises OutputUnwritable."""
    folder = job_folder / FOLDER
    if not folder.is_dir():
        return
    try:
        shutil.rmtree(folder)
        atomic.sync_folder(job_folder)
    except OSError as error:
        raise OutputUnwritable(path=folder, detail=cause(error)) from error


def _paths(folder: Path) -> list[Path]:
    """Of the samples of all stretches, in order. Raises BadJobFolder."""
    try:
        names = [path.name for path in folder.iterdir()] if folder.is_dir() else []
    except OSError as error:
        raise BadJobFolder(path=folder, detail=cause(error)) from error
    ours = sorted((int(m[1]), m[0]) for m in map(_OURS.fullmatch, names) if m)
    return [folder / name.replace(sound.LOG, sound.SOUND) for _, name in ours]


def _number(path: Path) -> int:
    return int(path.stem.partition("_")[2])
