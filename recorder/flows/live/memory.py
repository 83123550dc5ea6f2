"""What a session remembers beside its job, across restarts: ``live/talk.json``.

The job and this file are two files, and a kill may come between their writings. So the file holds
two points, the one before the last turn and the one after it, with the size that the job has when
the turn is in it: whichever fits the job is in force. No utterance is lost so, or taken twice.
"""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable
from pathlib import Path

from pydantic import AwareDatetime, Field, ValidationError

from recorder.archive.disk import atomic
from recorder.archive.disk.home import cause
from recorder.errors import BadJobFolder, OutputUnwritable
from recorder.live.talk import Talk
from recorder.model.base import Value
from recorder.model.job import Job

FILE_NAME = "talk.json"
MOST_TOLD = 300  # sentences of the recorder that a page may still show
MOST_MUTED = 2000


class Point(Value):
    """talk: see there. heard: up to which sample each recording was heard, by its name. finishing:
    the job is to be finished as soon as all was heard.
    """

    talk: Talk = Talk()
    heard: dict[str, int] = {}
    finishing: bool = False


class Muted(Value):
    """The loudspeaker spoke between these samples of a stretch. name: of the stretch."""

    name: str
    start: int = Field(ge=0)
    end: int = Field(ge=0)


class Told(Value):
    """A sentence of the recorder."""

    text: str
    at: AwareDatetime


class Memory(Value):
    """size: of the job with the last turn in it; see ``size_of``."""

    before: Point = Point()
    after: Point = Point()
    size: int = 0
    muted: tuple[Muted, ...] = ()
    told: tuple[Told, ...] = ()


def size_of(job: Job) -> int:
    """Of the parts that turns add to; it only grows."""
    heard = sum(len(each.utterances) for each in job.transcripts)
    parts = (job.readings, job.notes, job.stages, job.measurements, job.media)
    return heard + sum(map(len, parts))


class Keeper:
    """The memory on the disk. Thread-safe."""

    def __init__(self, folder: Path, job: Job) -> None:
        """folder: ``live`` of the job. Raises BadJobFolder, OutputUnwritable."""
        self._path = folder / FILE_NAME
        self._lock = threading.Lock()
        found = _read(self._path)
        point = _in_force(found, job)
        self._memory = found
        self.change(lambda known: known.model_copy(update={"before": point, "after": point}))

    @property
    def now(self) -> Memory:
        return self._memory

    @property
    def point(self) -> Point:
        """The newest point; the one before it while a turn is being saved."""
        return self._memory.after

    def change(self, change: Callable[[Memory], Memory]) -> None:
        """Raises OutputUnwritable, and then nothing is changed."""
        with self._lock:
            changed = change(self._memory)
            if changed != self._memory:
                atomic.write(self._path, _dump(changed))
                self._memory = changed

    def turn(self, point: Point, size: int) -> None:
        """Note a turn before the job is saved with it. Raises OutputUnwritable."""
        self.change(lambda known: known.model_copy(
            update={"before": known.after, "after": point, "size": size}
        ))  # fmt: skip

    def heard(self, file: str, sample: int) -> None:
        """A recording was heard up to there, and it led to nothing. Raises OutputUnwritable."""

        def further(point: Point) -> Point:
            return point.model_copy(update={"heard": {**point.heard, file: sample}})

        self.change(lambda known: known.model_copy(
            update={"before": further(known.before), "after": further(known.after)}
        ))  # fmt: skip

    def take_back(self) -> None:
        """The job could not be saved with the last turn."""
        with self._lock:
            known = self._memory
            self._memory = known.model_copy(update={"after": known.before})
            with contextlib.suppress(OutputUnwritable):  # then the file says so by its size
                atomic.write(self._path, _dump(self._memory))

    def tell(self, text: str, at: AwareDatetime) -> None:
        """The recorder says something. Raises OutputUnwritable."""
        told = Told(text=text, at=at)
        self.change(lambda known: known.model_copy(
            update={"told": (*known.told, told)[-MOST_TOLD:]}
        ))  # fmt: skip

    def mute(self, name: str, start: int, end: int) -> None:
        """The loudspeaker spoke there; of one that began at ``start``, only the end is new."""
        new = Muted(name=name, start=start, end=max(start, end))

        def change(known: Memory) -> Memory:
            others = [m for m in known.muted if (m.name, m.start) != (name, start)]
            return known.model_copy(update={"muted": (*others, new)[-MOST_MUTED:]})

        self.change(change)


def point_of(folder: Path, job: Job) -> Point:
    """The point in force of a session that is not open. Raises BadJobFolder."""
    return _in_force(_read(folder / FILE_NAME), job)


def _in_force(memory: Memory, job: Job) -> Point:
    return memory.after if size_of(job) >= memory.size else memory.before


def _dump(memory: Memory) -> bytes:
    return memory.model_dump_json().encode() + b"\n"


def _read(path: Path) -> Memory:
    """A damaged memory is none: the job knows what was heard, and recording must go on."""
    try:
        return Memory.model_validate_json(path.read_bytes())
    except (FileNotFoundError, ValidationError):
        return Memory()
    except OSError as error:
        raise BadJobFolder(path=path, detail=cause(error)) from error
