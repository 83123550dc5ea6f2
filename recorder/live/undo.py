"""Take back what the last turn gave: the record grows by readings that restore what was before."""

from __future__ import annotations

from datetime import datetime

from recorder.live.questions import key_of
from recorder.live.saying import sentences
from recorder.live.saying.numbers import integer
from recorder.live.saying.values import is_long, value
from recorder.live.saying.words import capital, sentence
from recorder.live.talk import Given, Key, Talk
from recorder.model.fields import FIELDS, Level
from recorder.model.job import Job, in_force, on_job_card
from recorder.model.reading import Reading, Role, Standing, Typed, show_value

MOST_TURNS = 50  # that can be taken back


def remembered(talk: Talk, job: Job, count: int, before: Talk) -> Talk:
    """A turn that adds ``count`` readings to the job, or moved on, can be taken back."""
    if count == 0 and (before.splice, before.run) == (talk.splice, talk.run):
        return talk
    given = Given(
        start=len(job.readings),
        end=len(job.readings) + count,
        splice=before.splice,
        run=before.run,
    )
    return talk.model_copy(update={"last_turns": (*talk.last_turns, given)[-MOST_TURNS:]})


def undone(talk: Talk, job: Job, now: datetime) -> tuple[Talk, tuple[Reading, ...], list[str]]:
    """The talk without its last turn, the readings that take it back, and what is said of it.

    A value that was changed once more since, by other hands, stays as it is.
    """
    if not talk.last_turns:
        return talk, (), [sentence("nothing_to_undo")]
    given = talk.last_turns[-1]
    update = {
        "last_turns": talk.last_turns[:-1],
        "splice": given.splice,
        "run": given.run,
        "question": None,
    }
    moved = (given.splice, given.run) != (talk.splice, talk.run)
    keys = dict.fromkeys(
        key_of(reading)
        for reading in job.readings[given.start : given.end]
        if reading.role is Role.USED
    )
    readings: list[Reading] = []
    said = []
    for key in keys:
        restored = _restored(job, given, key, now)
        if restored:
            readings += restored
            said.append(_said(key, restored))
    if moved:
        said.append(sentence("back_at_splice", splice=integer(given.splice)))
    return talk.model_copy(update=update), tuple(readings), said


def _restored(job: Job, given: Given, key: Key, now: datetime) -> list[Reading]:
    before, after = job.readings[: given.start], job.readings[: given.end]
    if _state(job.readings, key) != _state(after, key):
        return []
    old = _state(before, key)
    newest = next(reading for reading in reversed(after) if key_of(reading) == key)
    back = newest.model_copy(
        update={
            "standing": Standing.WITHDRAWN,
            "evidence": Typed(at=now),
            "why": f"{show_value(newest.field, newest.value)} was taken back",
            "candidates": (),
        }
    )
    return [back, *(_here(reading, key) for reading in old)]


def _state(readings: tuple[Reading, ...], key: Key) -> tuple[Reading, ...]:
    """What holds of one value: the reading in force, and a doubtful newer one that waits."""
    field, splice, run = key
    held = in_force(readings, splice, run).get(field)
    own = (r for r in reversed(readings) if key_of(r) == key and r.role is Role.USED)
    newest = next(own, None)
    waits = newest is not None and newest.standing is Standing.DOUBTFUL and newest != held
    return tuple(reading for reading in (held, newest if waits else None) if reading)


def _here(reading: Reading, key: Key) -> Reading:
    """The same value, told again. What the job card says holds for this splice and run then."""
    if not on_job_card(reading) or FIELDS[reading.field].level is Level.JOB:
        return reading
    _, splice, run = key
    update = {
        "evidence": Typed(at=None),
        "why": "as the job card says",
        "splice": splice,
        "run": run,
    }
    return reading.model_copy(update=update)


def _said(key: Key, restored: list[Reading]) -> str:
    name = capital(sentences.name(key[0]))
    held = restored[1:2]
    if not held or is_long(held[0]):
        return sentence("taken_back", name=name)
    return sentence("back_at", name=name, value=value(held[0]))
