"""The doubtful readings of a job to confirmed ones, one answer at a time.

Each answer is saved before the next question is asked.
"""

from __future__ import annotations

from datetime import datetime

from recorder.archive.disk.home import Home
from recorder.archive.index.index import bring_up_to_date
from recorder.archive.jobs.folder import JobFolder
from recorder.live import by_hand
from recorder.model.fields import FIELDS, Level
from recorder.model.job import Job
from recorder.model.reading import Reading, show_value


def question(doubt: Reading) -> str:
    """The question in one line: what was heard, the other candidates, and why it is asked."""
    heard = f" (heard: “{doubt.evidence.said}”)" if doubt.evidence.source == "spoken" else ""
    others = " or ".join(show_value(doubt.field, value) for value in doubt.candidates)
    place = f" of splice {doubt.splice}" if FIELDS[doubt.field].level is not Level.JOB else ""
    place += f", run {doubt.run}" if doubt.run > 1 else ""
    text = f"{doubt.field}{place}: {doubt.shown()}{heard}"
    text += f", or {others}" if others else ""
    return f"{text}? {doubt.why}".rstrip()


def accept(heard: Reading) -> Reading:
    """The person says yes: the same value with the same evidence, confirmed."""
    return by_hand.accepted(heard, _now())


def replace(doubt: Reading, text: str) -> Reading:
    """The person gives another value: '2.2 bar', '172', or 'no, one seventy two'. Raises BadValue
    or UnknownUnit.
    """
    return by_hand.given_instead(doubt, text, _now())


def enter(field: str, text: str, splice: int, run: int) -> Reading:
    """A value that a person types without having been asked."""
    return by_hand.entered(field, text, splice, run, _now())


def keep(home: Home, folder: JobFolder, reading: Reading) -> Job:
    """Add one reading to the job on disk and to the index; returns the job as it is now."""
    job = folder.update(
        lambda known: known.model_copy(update={"readings": (*known.readings, reading)})
    )
    bring_up_to_date(home, job.id)
    return job


def _now() -> datetime:
    return datetime.now().astimezone().replace(microsecond=0)
