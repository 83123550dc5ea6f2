"""The answer to the open question: what it settles, and what is asked because of it."""

from __future__ import annotations

from datetime import datetime

from recorder.live import questions
from recorder.live.replies import asking, read_back, reply
from recorder.live.saying import sentences
from recorder.live.saying.words import capital, sentence
from recorder.live.talk import Question, Style, Talk, Turn
from recorder.model.job import Job
from recorder.model.reading import Reading, Spoken, Standing, Typed
from recorder.notes.conversation import Answer
from recorder.notes.short_answers import AnswerKind


def taken(
    before: Talk, talk: Talk, job: Job, question: Question, answer: Answer, now: datetime
) -> Turn:
    """What an answer by voice leads to. before: the talk at the beginning of the turn."""
    found = answer.extraction
    match answer.kind:
        case AnswerKind.YES if question.proposed and question.reading is not None:
            readings = (_by_clock(question.reading, found.readings), *_others(question, answer))
            return settled(before, talk, job, question, readings, now, answer)
        case AnswerKind.YES | AnswerKind.VALUE:
            return settled(before, talk, job, question, found.readings, now, answer)
        case AnswerKind.NO:
            return _no(before, talk, job, question, answer, now)
        case AnswerKind.NO_VALUE:
            talk = questions.declined(talk, question.key)
            said = [sentence("declined", name=capital(sentences.name(question.field)))]
            return reply(before, talk, job, now, said, notes=found.notes)
        case _:
            talk = questions.put_off(talk, question.key)
            said = [] if talk.finishing else [sentence("later")]
            return reply(before, talk, job, now, said, notes=found.notes)


def settled(
    before: Talk,
    talk: Talk,
    job: Job,
    question: Question,
    readings: tuple[Reading, ...],
    now: datetime,
    answer: Answer | None = None,
) -> Turn:
    """The answer gave readings: they are read back. A value that is doubtful again is asked about
    again, though not for ever.
    """
    talk = questions.told_anew(questions.closed(talk), readings)
    again = next((r for r in reversed(readings) if questions.key_of(r) == question.key), None)
    if again is not None and again.standing is Standing.DOUBTFUL:
        if question.times >= questions.MOST_TIMES:
            talk = questions.put_off(talk, question.key)
        else:
            more = questions.about(again, talk, now, named=True, times=question.times + 1)
            talk = asking(talk, more)
    said = _confirmed(readings, job, talk, question)
    if talk.question is not None:
        said = [*said, talk.question.text]
    notes = answer.extraction.notes if answer else ()
    stages = answer.extraction.stages if answer else ()
    return reply(before, talk, job, now, said, readings=readings, notes=notes, stages=stages)


def denied(before: Talk, talk: Talk, job: Job, question: Question, now: datetime) -> Turn:
    """A no: neither the value nor, of two, any. The value itself is asked for."""
    return _open(before, questions.closed(talk), job, question, now, ())


def asked_again(
    before: Talk, talk: Talk, job: Job, question: Question, now: datetime, plainly: bool
) -> Turn:
    """A yes or no that answers nothing: to a question that wants a value, or said when something
    else had been said since the question. plainly: whether the question needs no word before it.
    """
    if question.times >= questions.MOST_TIMES:
        talk = questions.put_off(talk, question.key)
        return reply(before, talk, job, now, [] if talk.finishing else [sentence("later")])
    talk = talk.model_copy(update={"question": questions.again(question, now)})
    how = "yes_or_no" if question.style is Style.RIGHT else "which_one"
    text = question.text if plainly else sentence(how, question=question.text)
    return reply(before, talk, job, now, [text])


def _no(
    before: Talk, talk: Talk, job: Job, question: Question, answer: Answer, now: datetime
) -> Turn:
    readings = answer.extraction.readings
    if any(questions.key_of(reading) == question.key for reading in readings):
        return settled(before, talk, job, question, readings, now, answer)
    return _open(before, questions.closed(talk), job, question, now, readings, answer)


def _open(
    before: Talk, talk: Talk, job: Job, question: Question, now: datetime,
    readings: tuple[Reading, ...], answer: Answer | None = None,
) -> Turn:  # fmt: skip
    said = read_back(readings, job, talk)
    talk = questions.told_anew(talk, readings)
    if question.style is Style.OPEN or question.times >= questions.MOST_TIMES:
        talk = questions.put_off(talk, question.key)
        said += [] if talk.finishing else [sentence("later")]
    else:
        reading = None if question.proposed else question.reading
        more = questions.for_value(question.key, talk, now, reading, question.times + 1)
        talk = talk.model_copy(update={"question": more})
        said.append(more.text)
    notes = answer.extraction.notes if answer else ()
    stages = answer.extraction.stages if answer else ()
    return reply(before, talk, job, now, said, readings=readings, notes=notes, stages=stages)


def _confirmed(
    readings: tuple[Reading, ...], job: Job, talk: Talk, question: Question
) -> list[str]:
    """A yes to one value that was just spoken needs no more than a word."""
    own = [reading for reading in readings if questions.key_of(reading) == question.key]
    same = question.reading is not None and all(
        reading.value == question.reading.value and reading.standing is Standing.CONFIRMED
        for reading in own
    )
    if not own or not same or question.style is not Style.RIGHT:
        return read_back(readings, job, talk)
    rest = tuple(reading for reading in readings if reading not in own)
    return [sentence("okay"), *read_back(rest, job, talk)]


def _by_clock(proposed: Reading, told: tuple[Reading, ...]) -> Reading:
    """What the clock proposed and a person confirmed: the words of its marks stay its evidence."""
    yes = next((r.evidence for r in told if isinstance(r.evidence, Spoken)), None)
    update: dict[str, object] = {"standing": Standing.CONFIRMED, "candidates": ()}
    if yes is not None:
        update["why"] = f"{proposed.why}; confirmed: “{yes.said}”"
        if isinstance(proposed.evidence, Typed):
            update["evidence"] = yes
    return proposed.model_copy(update=update)


def _others(question: Question, answer: Answer) -> tuple[Reading, ...]:
    return tuple(r for r in answer.extraction.readings if r.field != question.field)
