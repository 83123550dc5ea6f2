"""The live sessions of a home: begun, taken up after a restart, closed."""

from __future__ import annotations

import contextlib
import re
import tempfile
import threading
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path

from recorder.archive.disk import lock
from recorder.archive.disk.home import Home, cause
from recorder.archive.firm import prepared
from recorder.archive.index.index import bring_up_to_date
from recorder.archive.jobs import sounds
from recorder.archive.jobs.acting import acting
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.folders import job_folders
from recorder.errors import BadJobCard, BadJobFolder, SeamnoteError, SessionOver, UnknownJob
from recorder.flows.jobcard import FILE_NAME, JobCard, read
from recorder.flows.live.ears import Ears, Hears
from recorder.flows.live.finishing import LOCKED
from recorder.flows.live.memory import point_of
from recorder.flows.live.session import Engines, LiveSession
from recorder.flows.looking import looking
from recorder.flows.photos import Measure
from recorder.model.job import MediaKind
from recorder.notes.conversation import Conversation
from recorder.notes.languages import vocabulary_of
from recorder.notes.requests.requests import asked
from recorder.notes.words.speaking import Vocabulary, speaking
from recorder.notes.written import from_text
from recorder.report.identity.identity import Identity
from recorder.settings import Settings

_ID = re.compile(r"[0-9a-z-]{1,80}")
_MOST_FINISHED = 8  # sessions that are over and still answer


class Sessions:
    """Thread-safe."""

    def __init__(
        self,
        home: Home,
        settings: Settings,
        key: Identity | None,
        hears: Hears | None = None,
        admit: Callable[[Path, str], object] = looking.admit,
        measure: Measure = looking.measure_aside,
    ) -> None:
        """key: unlocked, None where reports stay drafts. The rest: other engines, for tests.

        What a killed server was finishing is finished. Raises HomeUnusable, BadVocabulary.
        """
        self._home = home
        self._settings = settings
        vocabulary = vocabulary_of(settings.speech.language, home.vocabulary)
        self._engines = Engines(hears or Ears(settings.speech), admit, measure, vocabulary, key)
        aside = measure is looking.measure_aside
        threading.Thread(target=_warm, args=(vocabulary, aside), daemon=True).start()
        self._lock = threading.RLock()
        self._open: dict[str, LiveSession] = {}
        self._held: dict[str, contextlib.ExitStack] = {}
        self._live = [each.id for each in job_folders(home) if sounds.is_live(each.path)]
        for job_id in tuple(self._live):
            with contextlib.suppress(SeamnoteError):  # who opens it is told
                self._take_up_end(JobFolder(home.jobs / job_id))

    def begin(self, card: Path | bytes | None = None) -> LiveSession:
        """A new job, kept at once.

        card: a job card, or its file, under any name; it becomes an original, and what it says is
        in force. Raises HomeUnusable, BadJobCard, and then there is no job.
        """
        with self._lock:
            now = datetime.now().astimezone().replace(microsecond=0)
            with (
                acting(self._settings.report.technician),
                speaking(self._engines.vocabulary),
                _written_down(card) as (files, said),
            ):
                folder, _ = JobFolder.create(
                    self._home, files, [MediaKind.CARD] * len(files), now, said.readings,
                    belt_length=said.belt_length, live=True,
                )  # fmt: skip
            self._live.append(folder.id)
            session = self._taken_up(folder)
        with contextlib.suppress(SeamnoteError):  # an index that lacks it is mended by any search
            bring_up_to_date(self._home, folder.id)
        return session

    def begin_prepared(self, name: str) -> LiveSession:
        """A new job from a card that waits in the home, and waits no more. Raises UnknownCard,
        and as ``begin``.
        """
        session = self.begin(prepared.path_of(self._home, name))
        prepared.remove(self._home, name)  # the job has it now, byte for byte
        return session

    def open(self, job_id: str) -> LiveSession:
        """A live job that is not finished, or was finished since this began. Raises UnknownJob,
        SessionOver for one that was finished before, Busy while another process records it, and
        BadJobFolder, RecordChanged, OutputUnwritable.
        """
        with self._lock:
            session = self._open.get(job_id)
            if session:
                return session
            if job_id not in self._live:
                self._refuse(job_id)
            return self._taken_up(JobFolder(self._home.jobs / job_id))

    def unfinished(self) -> tuple[str, ...]:
        """Ids of the live jobs that are not complete, oldest first."""
        with self._lock:
            over = {job_id for job_id, session in self._open.items() if session.finished}
            return tuple(job_id for job_id in self._live if job_id not in over)

    def close(self) -> None:
        """Stop all threads; what came is on the disk already."""
        with self._lock:
            for session in self._open.values():
                session.close()
            for held in self._held.values():
                held.close()
            self._engines.hears.close()
            self._open, self._held = {}, {}

    def _taken_up(self, folder: JobFolder) -> LiveSession:
        self._let_go()
        with contextlib.ExitStack() as stack:
            stack.enter_context(lock.held(self._home.jobs / f"{LOCKED}{folder.id}", wait_s=0))
            session = LiveSession(self._home, folder, self._settings, self._engines)
            self._open[folder.id] = session
            self._held[folder.id] = stack.pop_all()
        return session

    def _let_go(self) -> None:
        """Forget sessions that were over long ago."""
        over = [job_id for job_id, session in self._open.items() if session.finished]
        for job_id in over[:-_MOST_FINISHED]:
            self._open.pop(job_id).close()
            self._held.pop(job_id).close()
            self._live.remove(job_id)

    def _take_up_end(self, folder: JobFolder) -> None:
        """Go on with a finish that was cut off."""
        with lock.held(folder.path):
            folder.settle()
        job = folder.load()
        if job.complete or point_of(folder.path / sounds.FOLDER, job).finishing:
            self._taken_up(folder)

    def _refuse(self, job_id: str) -> None:
        if not _ID.fullmatch(job_id):
            raise UnknownJob(wanted=job_id[:80])
        try:
            job = JobFolder(self._home.jobs / job_id).load()
        except BadJobFolder as error:
            raise UnknownJob(wanted=job_id) from error
        if job.recordings:
            raise SessionOver(job=job_id)
        raise UnknownJob(wanted=job_id)


@contextlib.contextmanager
def _written_down(card: Path | bytes | None) -> Iterator[tuple[list[Path], JobCard]]:
    """The file of a job card under the name by which its readings know it, and what it says."""
    if card is None:
        yield [], JobCard()
        return
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / FILE_NAME
        try:
            file.write_bytes(card if isinstance(card, bytes) else card.read_bytes())
        except OSError as error:
            raise BadJobCard(path=card, detail=cause(error)) from error
        yield [file], read(file)


def _warm(vocabulary: Vocabulary, aside: bool) -> None:
    """What is made of the words once takes half a second, which the first answer should not. aside:
    whether photos are looked at by processes of their own, which take as long to begin.
    """
    with speaking(vocabulary):
        utterance = from_text("Pressure two bar.", "").utterances[0]
        asked(utterance)
        Conversation().hear("", utterance, None, ())
    if aside:
        looking.warm()
