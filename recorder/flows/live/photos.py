"""A photo of a session: kept, measured aside, and spoken of.

::

    upload ─► looked at from outside ─► live/photo_1.jpg ─► original ─► measured ─► Turns.seen

Between the upload and the original it lies in ``live`` under its own name, so that a kill on the
way costs nothing: the next start takes it from there.
"""

from __future__ import annotations

import contextlib
import queue
import re
import threading
from collections.abc import Callable
from pathlib import Path

from recorder.archive.disk import atomic
from recorder.archive.disk.home import Home, cause
from recorder.archive.jobs import originals
from recorder.archive.jobs.folder import JobFolder
from recorder.errors import OutputUnwritable, SeamnoteError
from recorder.flows import cameras
from recorder.flows import photos as kept_photos
from recorder.flows.live.turns import Turns
from recorder.flows.live.unforeseen import note
from recorder.model.job import Job, MediaFile, MediaKind, PhotoNote
from recorder.model.measurement import SeamMeasurement
from recorder.photo.image.picture import PICTURE_SUFFIXES
from recorder.settings import PhotoSettings

_OURS = re.compile(r"photo_([0-9]+)\.[a-z]+")
_AGAIN_S = 5.0
_TRIES = 3  # at a photo, where it is not the photo that fails


class Photos:
    """Those of one session, measured one after another on a thread of its own."""

    def __init__(
        self,
        home: Home,
        folder: JobFolder,
        live: Path,
        settings: PhotoSettings,
        turns: Turns,
        measure: kept_photos.Measure,
        changed: Callable[[], None],
    ) -> None:
        self._home, self._folder, self._live, self._settings = home, folder, live, settings
        self._turns, self._measure, self._changed = turns, measure, changed
        self._keeping, self._counting = threading.Lock(), threading.Lock()
        self._tries: dict[str, int] = {}
        self._queue: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        self._stopped = threading.Event()
        self.measuring: tuple[str, ...] = ()  # names, in order
        self.trouble = ""
        self._thread = threading.Thread(target=self._run, name="photos", daemon=True)

    def start(self) -> None:
        """Take up what another process left; what cannot be kept now waits for the next start."""
        try:
            for path in sorted(self._live.glob("photo_*")):
                self._keep(path)
        except SeamnoteError as error:
            self.trouble = str(error)
        for media in _unmeasured(self._turns.job):
            self._want(media.name)
        self._thread.start()

    def stop(self) -> None:
        self._stopped.set()
        self._queue.put(None)
        if self._thread.is_alive():
            self._thread.join()

    def add(self, path: Path, name: str) -> None:
        """Keep a photo, which was looked at, and have it measured; on return it is an original of
        the job.

        name: as the page calls it, of which only the kind counts. Raises what saving raises.
        """
        suffix = Path(name).suffix.lower()
        with self._keeping:
            number = 1 + max(_numbers(self._turns.job, self._live), default=0)
            place = self._live / f"photo_{number}{suffix if suffix in PICTURE_SUFFIXES else '.jpg'}"
            arriving = place.with_name(f".{place.name}.arriving")
            try:
                originals.copy(path, arriving)
                arriving.replace(place)
                atomic.sync_folder(self._live)
            except OSError as error:
                arriving.unlink(missing_ok=True)
                raise OutputUnwritable(path=place, detail=cause(error)) from error
            try:
                self._keep(place)
            except SeamnoteError:  # the page has it still, and sends it again
                place.unlink(missing_ok=True)
                raise
        self._want(place.name)
        self._changed()

    def _keep(self, place: Path) -> None:
        talk = self._turns.talk
        shown = PhotoNote(file=place.name, splice=talk.splice, run=talk.run)

        def change(job: Job) -> Job:
            if any(media.name == place.name for media in job.media):
                return job
            media = self._folder.media.keep([place], [MediaKind.PHOTO])
            return job.model_copy(
                update={"media": (*job.media, *media), "photos": (*job.photos, shown)}
            )

        self._turns.change(change)
        place.unlink(missing_ok=True)

    def _want(self, name: str) -> None:
        with self._counting:
            self.measuring = (*self.measuring, name)
        self._queue.put(name)

    def _done(self, name: str) -> None:
        with self._counting:
            self.measuring = tuple(each for each in self.measuring if each != name)

    def _run(self) -> None:
        while (name := self._queue.get()) is not None and not self._stopped.is_set():
            try:
                self._look(name)
                self.trouble = ""
            except SeamnoteError as error:
                self.trouble = str(error)
                if self._again(name):
                    self._stopped.wait(_AGAIN_S)
                    self._queue.put(name)
                    continue
                self._leave(name, str(error))
            except Exception as error:  # the photo is kept; the person reads what became of it
                self.trouble = f"{note(f'{name} could not be measured', error)}; take another"
            self._done(name)
            self._changed()

    def _again(self, name: str) -> bool:
        """Whether it is to be tried once more."""
        self._tries[name] = self._tries.get(name, 0) + 1
        self._changed()
        return self._tries[name] < _TRIES

    def _leave(self, name: str, why: str) -> None:
        """A photo that cannot be measured here keeps no job from its end."""

        def change(job: Job) -> Job:
            media = (
                each.model_copy(update={"refused": why}) if each.name == name else each
                for each in job.media
            )
            return job.model_copy(update={"media": tuple(media)})

        with contextlib.suppress(SeamnoteError):
            self._turns.change(change)

    def _look(self, name: str) -> None:
        job = self._turns.job
        media = next((each for each in _unmeasured(job) if each.name == name), None)
        if media is None:
            return
        looked = kept_photos.look(
            job, self._folder, media, self._settings, cameras.all_kept(self._home), self._measure,
            kept_photos.card_of(job, self._folder),
        )  # fmt: skip
        # Of a file that is no picture the job holds the reason alone; it is spoken of as well.
        seam = looked.seam or SeamMeasurement(
            file=name, status="refused", reason=looked.media.refused
        )
        self._turns.seen(seam, lambda known: kept_photos.keep(known, looked))


def _unmeasured(job: Job) -> list[MediaFile]:
    done = {seam.file for seam in job.measurements}
    photos = [media for media in job.media if media.kind is MediaKind.PHOTO and not media.removed]
    return [media for media in photos if media.name not in done and not media.refused]


def _numbers(job: Job, live: Path) -> list[int]:
    """Of the photos that there are."""
    names = [*(media.name for media in job.media), *(path.name for path in live.iterdir())]
    return [int(found[1]) for name in names if (found := _OURS.fullmatch(name))]
