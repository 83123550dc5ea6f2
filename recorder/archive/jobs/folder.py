"""The folder of one job: the truth, readable without the program.

::

    jobs/<id>/
      job.json     everything that was heard, measured and confirmed
      events.jsonl who did what, when: a chain that only grows
      media/       the originals, byte for byte
      live/        the sound of a session that runs; see ``sounds``
      derived/     what the program made of them: overlays, transcript, draft
      reports/     signed reports, each with its record beside it
      merged/      events of other devices that were taken in; only where there are any
      restored.json   only where the job came from elsewhere
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from pydantic import JsonValue

from recorder import __version__
from recorder.archive.disk import atomic, lock
from recorder.archive.disk.atomic import need_regular
from recorder.archive.disk.home import Home, cause
from recorder.archive.jobs import adopting, changes, names, proof, schemas, writing
from recorder.archive.jobs.arriving import appear, arriving, fill
from recorder.archive.jobs.events import Happened
from recorder.archive.jobs.media import MediaFolder, MediaStore
from recorder.archive.jobs.record import dump, parse, stamp_of
from recorder.archive.jobs.sounds import FOLDER as LIVE
from recorder.archive.jobs.writing import State
from recorder.errors import (
    BadJobFolder,
    Busy,
    InputRefused,
    JobChanged,
    OutputUnwritable,
)
from recorder.model.event import FILE_NAME as EVENTS
from recorder.model.event import What
from recorder.model.evidence import EventsDigest, digest
from recorder.model.job import FILE_NAME, Job, MediaKind, PhotoNote
from recorder.model.length import BeltLength
from recorder.model.reading import Reading
from recorder.model.report_record import dump as dump_report

# What was saved last from here, so that who saves again and again need not parse it each time.
_SAVED: dict[Path, tuple[bytes, Job]] = {}


@dataclass(frozen=True)
class JobFolder:
    """path: of the folder; its name is the id of the job."""

    path: Path

    @classmethod
    def create(
        cls,
        home: Home,
        files: Sequence[Path],
        kinds: Sequence[MediaKind],
        now: datetime,
        readings: tuple[Reading, ...] = (),
        photos: tuple[PhotoNote, ...] = (),
        belt_length: BeltLength | None = None,
        live: bool = False,
    ) -> tuple[JobFolder, Job]:
        """A new job with copies of ``files`` (``kinds`` in the same order); nothing understood yet.

        readings, photos, belt_length: what a person typed of it beforehand, and what follows from
        that. live: its session begins now.
        The folder appears whole or not at all. Raises FileMissing, InputRefused, HomeUnusable.
        """
        with arriving(home) as staging:
            media = MediaFolder(staging).keep(files, kinds)
            if live:
                (staging / LIVE).mkdir()
            for job_id in names.ids(now, {file.sha256 for file in media}):
                if (home.jobs / job_id).exists():
                    continue
                new = Job(id=job_id, created_at=now.astimezone(), version=__version__, media=media)
                job = new.model_copy(
                    update={"readings": readings, "photos": photos, "belt_length": belt_length}
                )
                batch = [changes.began(new), *changes.happened(new, job)]
                fill(staging, dump(job), batch, now)
                if target := appear(staging, job_id):
                    return cls(target), job
        raise AssertionError("the names never end")

    @property
    def id(self) -> str:
        return self.path.name

    @property
    def record(self) -> Path:
        return self.path / FILE_NAME

    @property
    def events(self) -> Path:
        return self.path / EVENTS

    @property
    def media(self) -> MediaStore:
        return MediaFolder(self.path)

    @property
    def derived(self) -> Path:
        return self.path / "derived"

    @property
    def reports(self) -> Path:
        return self.path / "reports"

    @property
    def restored_mark(self) -> Path:
        """Where ``recorder.archive.jobs.restored`` says that the job came from elsewhere."""
        return self.path / "restored.json"

    def path_of(self, relative: str) -> Path:
        """Absolute path of a file named in the record. BadJobFolder when it leads out."""
        try:
            path = (self.path / relative).resolve()
        except (OSError, ValueError) as error:
            raise BadJobFolder(path=self.path, detail=f"bad path {relative!r}") from error
        if not path.is_relative_to(self.path.resolve()):
            raise BadJobFolder(path=self.path, detail=f"{relative!r} leads out of the folder")
        return path

    def load(self) -> Job:
        """The job. Raises BadJobFolder (or its child JobTooNew)."""
        return parse(self.read()[0], self.path)

    def read(self) -> tuple[bytes, str]:
        """The bytes of the record and the stamp of the same file. Raises BadJobFolder."""
        with self._translated():
            need_regular(self.record)
            with self.record.open("rb") as file:
                return file.read(), stamp_of(os.fstat(file.fileno()))

    def stamp(self) -> str:
        """Another text after each writing of the record. Raises BadJobFolder."""
        with self._translated():
            return stamp_of(self.record.stat())

    def changed_originals(self, job: Job) -> list[Path]:
        """Originals that are gone or whose bytes are not those that were recorded."""
        changed: list[Path] = []
        for media in job.media:
            if media.removed:
                continue
            path = self.path_of(media.path)
            try:
                if self.media.digest(media.path) != media.sha256:
                    changed.append(path)
            except InputRefused:
                changed.append(path)
        return changed

    def record_faults(self) -> tuple[str, ...]:
        """One line for each way in which record, events and merged chains do not fit each other.

        Raises BadJobFolder when there is no record to be read.
        """
        found = proof.faults(self.path, self.read()[0])
        if found:  # it may have been in the middle of a writing
            with contextlib.suppress(OutputUnwritable, Busy), lock.held(self.path):
                return proof.faults(self.path, self.read()[0])
        return found

    def interrupted(self) -> bool:
        """Whether a saving was cut off before it was acknowledged; the next writing mends that.

        Raises BadJobFolder.
        """
        return proof.interrupted(self.path)

    def save(self, job: Job) -> None:
        """Replace the record. Raises JobChanged, RecordChanged, BadJobFolder, Busy,
        OutputUnwritable.

        A complete job only ever gains readings: a record that lacks some of those on disk comes
        from someone who has not seen them, and is refused.
        """
        with lock.held(self.path):
            self._save(job, *self._opened())

    def update(self, change: Callable[[Job], Job], extra: Happened | None = None) -> Job:
        """Load, change and save while no other process can; the new job. Raises as ``save``.

        extra: an event of the same saving. That of a merge tells of everything that it changed,
        so that no other event does.
        """
        with lock.held(self.path):
            known, state = self._opened()
            job = change(known)
            self._save(job, known, state, extra)
            return job

    def note(self, what: What, data: dict[str, JsonValue]) -> None:
        """Add an event that leaves the record as it is. Raises as ``save``."""
        with lock.held(self.path):
            state = self.settled()
            with writing.announced(self.path, state.chain, [(what, data)], digest(state.content)):
                pass

    def proven(self) -> tuple[bytes, EventsDigest]:
        """The bytes of the record, and what stands for the events that led to it. Raises as
        ``save``.
        """
        with lock.held(self.path):
            state = self.settled()
            chain = state.chain
            return state.content, EventsDigest(count=len(chain.events), head=chain.head)

    def adopt(self, reason: str) -> None:
        """Take the record as it is, whoever changed it, with an event that says so. Raises
        BadJobFolder, Busy, OutputUnwritable.
        """
        with lock.held(self.path):
            content, _ = self.read()
            parse(content, self.path)
            adopting.adopt(self.path, content, reason.encode("utf-8", "replace").decode())

    def settle(self) -> None:
        """Mend what an interrupted writer left. For a caller who holds the lock.

        Raises RecordChanged, BadJobFolder, OutputUnwritable.
        """
        writing.settle(self.path, self.read()[0])

    def settled(self) -> State:
        """As ``settle``; record and events for a writer. A job without events gets its first."""
        return adopting.begun(self.path, writing.settle(self.path, self.read()[0]))

    def _opened(self) -> tuple[Job, State]:
        """For a writer who holds the lock."""
        content, _ = self.read()
        saved = _SAVED.get(self.path)  # an hour of speech takes a quarter of a second to parse
        # A damaged record is not called a changed one.
        known = saved[1] if saved and saved[0] == content else parse(content, self.path)
        state = self.settled()
        return known if state.content == content else parse(state.content, self.path), state

    @contextlib.contextmanager
    def _translated(self) -> Iterator[None]:
        try:
            yield
        except FileNotFoundError as error:
            raise BadJobFolder(path=self.path, detail="job.json is missing") from error
        except OSError as error:
            raise BadJobFolder(path=self.path, detail=cause(error)) from error

    def _save(self, job: Job, known: Job, state: State, extra: Happened | None = None) -> None:
        """known, state: what is replaced."""
        if job.id != self.id:
            raise ValueError(f"job {job.id} does not belong into {self.path}")
        gone = {media.path for media in known.media if media.removed}
        if gone - {media.path for media in job.media if media.removed}:
            raise JobChanged(path=self.path)
        if known.complete and changes.added(known.readings, job.readings) is None:
            raise JobChanged(path=self.path)
        content = dump(job)
        if content == state.content and not extra:
            return
        old = () if self.restored_mark.exists() else schemas.reports_in(state.content)
        for record in old:
            beside = self.path_of(record.path).with_suffix(".json")
            if not beside.exists():
                atomic.make_folder(beside.parent)
                atomic.write(beside, dump_report(record))
        batch = [extra] if extra else []
        if not extra or extra[0] is not What.MERGED:
            batch += changes.happened(known, job)
        writing.save(self.path, state, content, batch or [(What.CHANGED, {"parts": {}})])
        _SAVED.clear()
        _SAVED[self.path] = content, job
