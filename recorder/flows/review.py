"""One answer of a person to a job that was recorded: yes, another value, or a value by hand.

What the person saw is held against the job as it is when the answer is kept, so that an answer to
a question that others settled meanwhile takes nothing back.
"""

from __future__ import annotations

from collections.abc import Callable

from recorder.archive.disk.home import Home
from recorder.archive.index.index import bring_up_to_date
from recorder.archive.jobs.folder import JobFolder
from recorder.errors import BadValue, JobChanged
from recorder.flows import confirm
from recorder.model.fields import FIELDS, Level
from recorder.model.job import Job
from recorder.model.reading import Reading, Role, Standing, show_value
from recorder.model.splices import numbers, runs
from recorder.notes.typed import known_field

Key = tuple[str, int, int, Role]


def key_of(reading: Reading) -> Key:
    """What a newer reading must share with it to take its place."""
    return reading.field, reading.splice, reading.run, reading.role


def newest(job: Job) -> dict[Key, int]:
    """The place of the newest reading of each value, by what it is of."""
    return {key_of(reading): place for place, reading in enumerate(job.readings)}


def say_yes(home: Home, folder: JobFolder, place: int) -> Job:
    """The value at this place of the readings is right. Raises as ``_keep``."""
    return _keep(home, folder, place, confirm.accept)


def choose(home: Home, folder: JobFolder, place: int, candidate: int) -> Job:
    """It is the candidate of this number, from 0. Raises BadValue, and as ``_keep``."""

    def chosen(doubt: Reading) -> Reading:
        if not 0 <= candidate < len(doubt.candidates):
            hint = "choose one of those that are offered"
            raise BadValue(value=candidate, field=doubt.field, hint=hint)
        return confirm.replace(doubt, _written(doubt.field, doubt.candidates[candidate]))

    return _keep(home, folder, place, chosen)


def replace(home: Home, folder: JobFolder, place: int, text: str) -> Job:
    """It is what the person types. Raises BadValue, UnknownUnit, and as ``_keep``."""
    return _keep(home, folder, place, lambda before: confirm.replace(before, text))


def enter(home: Home, folder: JobFolder, field: str, text: str, splice: int, run: int) -> Job:
    """A value that nobody gave. Raises UnknownField, UnknownUnit, BadValue, JobChanged where there
    is one meanwhile, and as ``JobFolder.update``.
    """

    def entered(job: Job) -> Job:
        level = known_field(field).level
        if splice not in numbers(job) or (level is Level.RUN and run not in runs(job, splice)):
            hint = "enter it for a splice and a press run that the job has"
            raise BadValue(value=text, field=field, hint=hint)
        reading = confirm.enter(field, text, splice, run)
        place = newest(job).get(key_of(reading))
        if place is not None and job.readings[place].standing is not Standing.WITHDRAWN:
            raise JobChanged(path=f"job {job.id}")
        return job.model_copy(update={"readings": (*job.readings, reading)})

    return _saved(home, folder, entered)


def _keep(home: Home, folder: JobFolder, place: int, make: Callable[[Reading], Reading]) -> Job:
    """Raises JobChanged where a newer reading has taken that place, and as ``JobFolder.update``."""

    def answered(job: Job) -> Job:
        if not 0 <= place < len(job.readings):
            raise JobChanged(path=f"job {job.id}")
        before = job.readings[place]
        settled = before.standing is Standing.WITHDRAWN
        if settled or newest(job)[key_of(before)] != place:
            raise JobChanged(path=f"job {job.id}")
        return job.model_copy(update={"readings": (*job.readings, make(before))})

    return _saved(home, folder, answered)


def _saved(home: Home, folder: JobFolder, change: Callable[[Job], Job]) -> Job:
    job = folder.update(change)
    bring_up_to_date(home, job.id)
    return job


def _written(field: str, value: bool | float | str) -> str:
    """A value as a person would type it, so that it can be read without loss."""
    unit = FIELDS[field].unit
    if isinstance(value, float) and unit:
        return f"{value:.12g} {unit}"
    return value if isinstance(value, str) else show_value(field, value)
