"""Settings that differ from what the firm keeps or a belt maker gives: asked about once each, and
never forbidden.

Only until the dwell begins, in a lull. A yes keeps the setting and leaves a note in the record; a
no asks for the value; who does not answer is left in peace, and the job goes on.
"""

from __future__ import annotations

from datetime import datetime

from recorder.knowhow.recipes.answer import Deviation
from recorder.knowhow.recipes.deviating import confirmed
from recorder.live import questions
from recorder.live.needs import moment_of
from recorder.live.past import belt_here, known_here, named_here, reminded
from recorder.live.replies import reply
from recorder.live.saying import past as saying
from recorder.live.saying.values import value_of
from recorder.live.saying.words import sentence
from recorder.live.shelf import Shelf
from recorder.live.talk import Moment, Question, Style, Talk, Turn
from recorder.model.fields import FIELDS
from recorder.model.job import Job, in_force
from recorder.model.reading import Note, Reading, Role, Standing, show_value
from recorder.model.stages import Stage

# While the press heats there is time to set it otherwise.
_EARLY = {Stage.PREHEAT, Stage.HEATING}


def before_pressing(talk: Talk, job: Job) -> bool:
    """Whether the settings of this run can still be others."""
    here = (talk.splice, talk.run)
    stages = {mark.stage for mark in job.stages if (mark.splice, mark.run) == here}
    return moment_of(talk, job) in (Moment.BEFORE, Moment.PRESSING) and stages <= _EARLY


def next_question(talk: Talk, job: Job, now: datetime, shelf: Shelf) -> Question | None:
    """About the next setting that differs and was neither confirmed on the job card nor asked
    about. Raises SeamnoteError.
    """
    if not before_pressing(talk, job) or belt_here(talk, job).belt_material is None:
        return None
    meant = in_force(job.readings, talk.splice, talk.run, Role.MEANT)
    differing = shelf.deviations(job, talk.splice, talk.run)
    found = [each for each in differing if not confirmed(each, meant)]
    # What the belt maker gives weighs more than what was done so far.
    for each in sorted(found, key=lambda each: each.against != "window"):
        if questions.deviation_name(each) not in talk.reminded:
            return _about(each, talk, job, now, shelf)
    return None


def _about(found: Deviation, talk: Talk, job: Job, now: datetime, shelf: Shelf) -> Question:
    told = known_here(talk, job).get(found.field)
    if told is not None and told.standing is Standing.DOUBTFUL:
        told = None  # what the job card asks for is meant
    answer = shelf.recipes(job, talk.splice)
    press = named_here(talk, job, "press")
    what = saying.differs(found, answer, press, asked=told is None)
    meant = sentence("meant_question", value=value_of(found.field, found.value))
    return Question(
        field=found.field,
        reading=told,
        text=f"{what} {meant}",
        first_at=now,
        asked_at=now,
        style=Style.RIGHT,
        splice=talk.splice,
        run=talk.run,
        deviation=found,
    )


def meant(before: Talk, talk: Talk, job: Job, question: Question, now: datetime) -> Turn:
    """A person says that the setting is meant so; the record says that it was asked about."""
    note = _note(question)
    talk = questions.closed(questions.deviation_settled(talk))
    notes = (note,) if note else ()
    return reply(before, talk, job, now, [sentence("okay")], notes=notes)


def told_again(turn: Turn, question: Question) -> Turn:
    """The turn of an answer; where that gave the same value once more, it was meant."""
    found = question.deviation
    given = [r for r in turn.readings if questions.key_of(r) == question.key]
    if found is None or not given:
        return turn
    note = _note(question) if _same(given[-1], found) else None
    return turn.model_copy(
        update={
            "talk": reminded(turn.talk, [questions.deviation_name(found)]),
            "notes": (*turn.notes, note) if note else turn.notes,
        }
    )


def _same(reading: Reading, found: Deviation) -> bool:
    shown = show_value(found.field, found.value)
    return show_value(reading.field, reading.value) == shown


def _note(question: Question) -> Note | None:
    found = question.deviation
    if found is None:
        return None
    label, value = FIELDS[found.field].label, show_value(found.field, found.value)
    bounds = [show_value(found.field, each) for each in (found.low, found.high) if each is not None]
    kept = " to ".join(dict.fromkeys(bounds))
    return Note(text=f"{label} {value} is meant; {found.whose}: {kept}", file="")
