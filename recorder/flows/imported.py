"""What became of a job that came from elsewhere."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from recorder.archive.jobs.restored import elsewhere
from recorder.archive.sharing.merge import Merged
from recorder.archive.sharing.taking import Taken
from recorder.model.base import Value
from recorder.model.job import Job

Outcome = Literal["restored", "merged", "report added", "already here", "refused"]


class Imported(Value):
    """What became of one job.

    file: what was given. job, title: of the job as it is here; of a refused one its id there.
    folder: where it is now. outcome: 'restored' whole, 'merged' into the one that was here, 'report
    added' to it, 'already here', or 'refused'. refused: why, in one line; else empty. also: its
    id there, where that is another.

    readings: how many came in. questions: how many values wait for a person that did not before,
    of a job that was here. parts: how many entries of what else came in. measured_otherwise: photos
    that were measured there with another result, which the events keep. removed: originals that
    were removed there on request, and so count as removed here. words_removed: recordings whose
    words were removed there and are still here. reports: how many came along.

    signer: common name on the technician's key, of a report. known: this home knows who signed.
    brought: originals that were taken in. elsewhere: originals that still are not here. left:
    files that are damaged there and were not taken.
    """

    file: str
    job: str
    title: str = ""
    folder: Path | None = None
    outcome: Outcome
    refused: str = ""
    also: str = ""
    readings: int = 0
    questions: int = 0
    parts: dict[str, int] = {}
    measured_otherwise: tuple[str, ...] = ()
    removed: tuple[str, ...] = ()
    words_removed: tuple[str, ...] = ()
    reports: int = 0
    signer: str = ""
    known: bool = True
    brought: tuple[str, ...] = ()
    elsewhere: tuple[str, ...] = ()
    left: tuple[str, ...] = ()

    @property
    def needs_person(self) -> bool:
        waits = self.measured_otherwise or self.removed or self.words_removed or self.left
        return bool(self.questions or waits or not self.known)


def imported(file: Path, there: Job, taken: Taken, **more: object) -> Imported:
    """What there is to say of a job that was taken in. more: of a report. Raises BadJobFolder."""
    job = taken.folder.load()
    values: dict[str, object] = {
        "file": str(file),
        "job": job.id,
        "title": job.title(),
        "folder": taken.folder.path,
        "outcome": _outcome(taken),
        "also": there.id if there.id != job.id else "",
        "reports": taken.reports,
        "brought": taken.brought,
        "elsewhere": tuple(media.name for media in elsewhere(taken.folder, job)),
        "left": taken.left,
        **(_of_merge(taken.merged) if taken.merged else {}),
        **more,
    }
    return Imported.model_validate(values)


def _outcome(taken: Taken) -> Outcome:
    if taken.merged is None:
        return "restored"
    if taken.noted:
        return "merged"
    return "report added" if taken.reports else "already here"


def _of_merge(merged: Merged) -> dict[str, object]:
    return {
        "readings": len(merged.readings),
        "questions": len(merged.waiting),
        "parts": merged.parts,
        "measured_otherwise": tuple(seam.file for seam in merged.apart),
        "removed": tuple(media.name for media in merged.removed),
        "words_removed": merged.words_removed,
    }
