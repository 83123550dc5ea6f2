"""What a page shows of the talk: the values in force as cards, the open question, what is missing,
timers. The parts of a ``View`` that follow from job and talk alone.
"""

from __future__ import annotations

from datetime import timedelta

from recorder.live import questions
from recorder.live.needs import lacking, lacks_photo, moment_of
from recorder.live.past import wants_name
from recorder.live.requests import asked_if_sure
from recorder.live.saying.words import capital, of, sentence
from recorder.live.talk import Key, Moment, Question, Style, Talk
from recorder.live.view import Asked, Card, Clock
from recorder.model.fields import FIELDS, Level
from recorder.model.job import Job, in_force
from recorder.model.reading import Reading, Spoken
from recorder.model.splices import numbers, runs


def cards(talk: Talk, job: Job) -> tuple[Card, ...]:
    """The values in force of the whole job, in the order of the catalogue, the job's own first;
    a doubtful one that waits beside a confirmed one has its own card.
    """
    places = _places(talk, job)
    held: dict[Key, Reading] = {}
    for splice, run in places:
        for reading in in_force(job.readings, splice, run).values():
            held.setdefault(_key_there(reading, splice, run), reading)
    waiting = [r for r in questions.doubts(job) if r not in held.values()]
    found = [*held.items(), *((questions.key_of(reading), reading) for reading in waiting)]
    order = {name: number for number, name in enumerate(FIELDS)}
    found.sort(
        key=lambda one: (FIELDS[one[0][0]].level is not Level.JOB, one[0][1:], order[one[0][0]])
    )
    newest = talk.last_turns[-1] if talk.last_turns else None
    # Of equal readings the newest counts: an undo tells an older one again.
    place_of = {id(reading): place for place, reading in enumerate(job.readings)}
    return tuple(
        _card(key, reading, place_of[id(reading)], places, newest is not None
              and newest.start <= place_of[id(reading)] < newest.end)
        for key, reading in found
    )  # fmt: skip


def asked(talk: Talk, job: Job) -> Asked | None:
    """The open question, or whether a request was meant."""
    if talk.unsure_of is not None:
        return Asked(
            field="", label="", text=asked_if_sure(talk.unsure_of),
            by_yes=not wants_name(talk.unsure_of),
        )  # fmt: skip
    question = talk.question
    if question is None:
        return None
    return Asked(
        field=question.field,
        label=FIELDS[question.field].label,
        text=question.text,
        choices=question.choices,
        place=_place(question, job),
        by_yes=question.style is Style.RIGHT,
    )


def missing(talk: Talk, job: Job) -> tuple[str, ...]:
    """Labels of what this splice and run still lack, the next one first."""
    now = lacking(talk, job, moment_of(talk, job))
    later = [key for key in lacking(talk, job, Moment.FINISHING) if key not in now]
    labels = [FIELDS[field].label for field, _, _ in (*now, *later)]
    return (*labels, *([capital(sentence("missing_photo"))] if lacks_photo(talk, job) else []))


def timers(talk: Talk) -> tuple[Clock, ...]:
    """The timers that run, the oldest first."""
    return tuple(
        Clock(
            name=each.timer.value,
            label=capital(of("timers", each.timer.value)),
            started_at=each.started_at,
            due_at=None
            if each.seconds is None
            else each.started_at + timedelta(seconds=each.seconds),
        )
        for each in sorted(talk.timers, key=lambda each: each.started_at)
    )


def can_undo(talk: Talk) -> bool:
    return bool(talk.last_turns)


def _places(talk: Talk, job: Job) -> list[tuple[int, int]]:
    """All splices and runs of the job, and where the session is."""
    places = {(splice, run) for splice in numbers(job) for run in runs(job, splice)}
    return sorted(places | {(talk.splice, talk.run)})


def _key_there(reading: Reading, splice: int, run: int) -> Key:
    """Of a value that holds for several places, as from the job card, one for each."""
    level = FIELDS[reading.field].level
    return (
        reading.field,
        1 if level is Level.JOB else splice,
        run if level is Level.RUN else 1,
    )


def _card(
    key: Key, reading: Reading, place: int, places: list[tuple[int, int]], fresh: bool
) -> Card:
    field, splice, run = key
    level = FIELDS[field].level
    several = len({each for each, _ in places}) > 1
    pressed_again = max(each for _, each in places) > 1
    where = [f"splice {splice}"] if level is not Level.JOB and several else []
    where += [f"run {run}"] if level is Level.RUN and pressed_again else []
    evidence = reading.evidence
    return Card(
        field=field,
        label=FIELDS[field].label,
        value=reading.shown(),
        standing=reading.standing.value,
        place=place,
        said=evidence.said if isinstance(evidence, Spoken) else "",
        why=reading.why,
        place_of=", ".join(where),
        fresh=fresh,
    )


def _place(question: Question, job: Job) -> int | None:
    """Where the doubtful reading stands in the job; None for what is only proposed, and where a
    yes means that a setting is meant.
    """
    reading = question.reading
    if reading is None or question.proposed or question.deviation is not None:
        return None
    found = [place for place, each in enumerate(job.readings) if each == reading]
    return found[-1] if found else None
