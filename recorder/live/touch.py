"""A touch or the keyboard: the answers and values of the voice, without the doubt of hearing."""

from __future__ import annotations

from datetime import datetime

from recorder.live import answers, deviating, questions, requests
from recorder.live.by_hand import accepted, chosen, entered, given_instead
from recorder.live.replies import read_back, reply
from recorder.live.saying.words import sentence
from recorder.live.shelf import Shelf
from recorder.live.talk import Style, Talk, Turn
from recorder.model.fields import FIELDS, Kind
from recorder.model.job import Job
from recorder.model.reading import Reading
from recorder.notes.requests.request import Ask, Request


def confirm(
    talk: Talk, job: Job, place: int | None, now: datetime, shelf: Shelf | None = None
) -> Turn:
    """A touch says yes to the reading at this place in those of the job; None: to what the
    recorder asks. shelf: see ``past.answered``. IndexError for a place that does not exist.
    """
    here = _here(talk)
    if place is None:
        return _yes(talk, here, job, now, shelf)
    reading = job.readings[place]
    if not questions.still_holds(reading, job):
        return Turn(talk=here, understood=False)  # the page had not yet shown what replaced it
    return _typed(talk, here, job, (accepted(reading, now),), now)


def deny(talk: Talk, job: Job, now: datetime) -> Turn:
    """A touch says no to what the recorder asks."""
    here = _here(talk).model_copy(update={"unsure_of": None})
    if talk.unsure_of is not None:
        return reply(talk, here, job, now, [sentence("going_on")])
    if talk.question is None:
        return Turn(talk=here, understood=False)
    here = questions.deviation_settled(here)
    if FIELDS[talk.question.field].kind is Kind.FLAG and talk.question.reading is None:
        reading = entered(talk.question.field, "no", *talk.question.key[1:], now)
        return _typed(talk, here, job, (reading,), now)
    return answers.denied(talk, here, job, talk.question, now)


def replace(talk: Talk, job: Job, place: int, text: str, now: datetime) -> Turn:
    """A person types another value for the reading at this place, or touches one of the choices of
    the question about it. Raises BadValue or UnknownUnit; IndexError for a place that does not
    exist.
    """
    here = _here(talk)
    question, doubt = talk.question, job.readings[place]
    if question is not None and question.reading == doubt:
        value = questions.chosen(question, text)
        if value is not None:
            return _typed(talk, here, job, (chosen(doubt, value, now),), now)
    return _typed(talk, here, job, (given_instead(doubt, text, now),), now)


def enter(talk: Talk, job: Job, field: str, text: str, now: datetime) -> Turn:
    """A person types a value of this splice and run, or of the one that is asked for. Raises
    UnknownField, UnknownUnit or BadValue.
    """
    here = _here(talk)
    open_one = talk.question
    place = (talk.splice, talk.run)
    if open_one is not None and open_one.field == field:
        place = (open_one.splice, open_one.run)
    return _typed(talk, here, job, (entered(field, text, *place, now),), now)


def later(talk: Talk, job: Job, now: datetime) -> Turn:
    """A touch puts the open question off."""
    return requests.done(talk, _here(talk), job, Request(ask=Ask.LATER, said=""), now)


def _here(talk: Talk) -> Talk:
    """Somebody is there: what was still to be said is of no use any more."""
    return talk.model_copy(update={"rest": (), "silent_until": None})


def _yes(talk: Talk, here: Talk, job: Job, now: datetime, shelf: Shelf | None) -> Turn:
    if here.unsure_of is not None:
        waiting = here.unsure_of.model_copy(update={"sure": True})
        return requests.done(talk, here, job, waiting, now, shelf)
    question = here.question
    if question is None:
        return Turn(talk=here, understood=False)
    if question.deviation is not None:
        return deviating.meant(talk, here, job, question, now)
    if question.reading is not None and question.style is Style.RIGHT:
        return _typed(talk, here, job, (accepted(question.reading, now),), now)
    if question.reading is None and FIELDS[question.field].kind is Kind.FLAG:
        reading = entered(question.field, "yes", question.splice, question.run, now)
        return _typed(talk, here, job, (reading,), now)
    return answers.asked_again(talk, here, job, question, now, plainly=False)


def _typed(talk: Talk, here: Talk, job: Job, readings: tuple[Reading, ...], now: datetime) -> Turn:
    question = here.question
    if question is not None and any(questions.key_of(r) == question.key for r in readings):
        turn = answers.settled(talk, here, job, question, readings, now)
        return deviating.told_again(turn, question)
    here = questions.told_anew(here, readings)
    return reply(talk, here, job, now, read_back(readings, job, here), readings=readings)
