"""One happening of a session to what it leads to: the narrated path of this room.

::

    words ─► paused? ─► a yes that is waited for? ─► requests ─► an answer? ─► a narration ─► Turn
    touch ─► the same answer or request, without the doubt of hearing
    photo, clock ─► what is to be said of it

Pure: the state goes in and comes out, and ``now`` is given. The caller adds what a turn brings to
the job (``added``), keeps its talk and speaks its words. All words are those of the vocabulary in
force (``notes.words.speaking``).
"""

from __future__ import annotations

from dataclasses import replace as replaced
from datetime import datetime

from recorder.live import answers, deviating, passing, photos, questions, requests, timers
from recorder.live.past import wants_name
from recorder.live.replies import added, read_back, reply
from recorder.live.said import Words, is_news, moment, placed, said_since, where
from recorder.live.saying.numbers import integer
from recorder.live.saying.words import of, sentence
from recorder.live.shelf import Shelf
from recorder.live.talk import Question, Style, Talk, Turn
from recorder.live.touch import confirm, deny, enter, later, replace
from recorder.model.job import Job, in_force
from recorder.model.measurement import SeamMeasurement
from recorder.model.reading import Reading, Standing
from recorder.model.stages import Stage
from recorder.model.transcript import Utterance
from recorder.notes.conversation import Answer, Conversation
from recorder.notes.extract import Extraction
from recorder.notes.requests.request import Ask, Request
from recorder.notes.requests.requests import asked
from recorder.notes.short_answers import AnswerKind, is_soft, perhaps_short, yes_or_no

__all__ = ["added", "ask", "confirm", "deny", "enter", "hear", "later", "replace", "seen", "tick"]


_LONGEST_NAME = 6  # words of the name of a recipe


def hear(
    talk: Talk, job: Job, conversation: Conversation, file: str, utterance: Utterance,
    model: str | None, now: datetime, shelf: Shelf | None = None,
) -> Turn:  # fmt: skip
    """Somebody spoke. What the words ask of the recorder is done; the rest of them is the answer
    to the open question, or narration. shelf: the firm's own past jobs, None where there are none.
    """
    if (conversation.splice, conversation.run) != (talk.splice, talk.run):
        conversation.move_to(talk.splice, talk.run)  # a restart, a request or an undo
    heard = asked(utterance)
    if talk.paused:
        return _while_paused(talk, job, heard.requests, now)
    here = talk.model_copy(update={"last_at": now, "rest": (), "silent_until": None})
    words = Words(conversation, file, utterance, model)
    if here.unsure_of is not None and said_since(job, words, here.unsure_at or now):
        waiting, yes = here.unsure_of, yes_or_no((utterance,))
        here = here.model_copy(update={"unsure_of": None})
        if yes is not None:
            return _sure_or_not(talk, here, job, waiting, yes, now, shelf)
        if wants_name(waiting) and not heard.requests:
            return _named(talk, here, job, waiting, words, now, shelf)
    if heard.rest is None and heard.requests:
        turn = _requested(talk, here, job, heard.requests[0], words, now, shelf)
        rest = heard.requests[1:]
    elif heard.rest is not None:
        left = replaced(words, utterance=heard.rest)
        turn, rest = _told(talk, here, job, left, now), heard.requests
    else:
        return Turn(talk=here, understood=False)
    for request in rest:
        after = added(job, turn)
        more = _requested(turn.talk, turn.talk, after, request, words, now, shelf)
        turn = _joined(turn, more)
    return turn


def ask(talk: Talk, job: Job, request: Request, now: datetime, shelf: Shelf | None = None) -> Turn:
    """A button asks what the voice could ask."""
    here = talk.model_copy(update={"rest": (), "silent_until": None})
    return requests.done(talk, here, job, request, now, shelf)


def seen(talk: Talk, job: Job, measurement: SeamMeasurement, now: datetime) -> Turn:
    """A photo was measured, or refused. ``job`` holds it already."""
    here = talk.model_copy(update={"rest": ()})
    said = photos.said_of(measurement, job, talk.splice)
    return reply(talk, here, job, now, said)


def tick(
    talk: Talk, job: Job, now: datetime, asks: bool = True, shelf: Shelf | None = None
) -> Turn | None:
    """Time passes and nobody speaks: what the recorder says by itself, None for nothing.

    asks: False where nobody could answer; then only timers that are due are told.
    """
    return passing.passed(talk, job, now, asks, shelf)


def _while_paused(talk: Talk, job: Job, said: tuple[Request, ...], now: datetime) -> Turn:
    """Words are recorded and not taken; only going on and the end count."""
    for request in said:
        if request.ask in (Ask.RESUME, Ask.FINISH):
            return requests.done(talk, talk, job, request, now)
    return Turn(talk=talk, understood=False)


def _sure_or_not(
    talk: Talk, here: Talk, job: Job, waiting: Request, yes: bool, now: datetime,
    shelf: Shelf | None,
) -> Turn:  # fmt: skip
    if not yes:
        return reply(talk, here, job, now, [sentence("going_on")])
    sure = waiting.model_copy(update={"sure": True})
    return requests.done(talk, here, job, sure, now, shelf)


def _named(
    talk: Talk, here: Talk, job: Job, waiting: Request, words: Words, now: datetime,
    shelf: Shelf | None,
) -> Turn:  # fmt: skip
    """The words are the name that was asked for, unless they tell something of the job."""
    told = _narration(job, words)
    name = words.utterance.text.strip(" .,!?;")
    if told.readings or told.stages or not name or len(name.split()) > _LONGEST_NAME:
        return _narrated(talk, here, job, told, words, now)
    named = waiting.model_copy(update={"text": name, "sure": False})
    return requests.done(talk, here, job, named, now, shelf)


def _requested(
    talk: Talk, here: Talk, job: Job, request: Request, words: Words, now: datetime,
    shelf: Shelf | None,
) -> Turn:  # fmt: skip
    """A timer runs from when it was asked for, however late that was understood."""
    timed = request.ask in (Ask.TIMER_START, Ask.TIMER_STOP)
    at = moment(job, words, words.utterance.end_s) if timed else None
    turn = requests.done(talk, here, job, request, min(at or now, now), shelf)
    return placed(turn, words)


def _told(talk: Talk, here: Talk, job: Job, words: Words, now: datetime) -> Turn:
    """An answer, where a question is open and the words are one; else narration.

    When something else was said since the question, the words are narration first: "no, make that
    one seventy-two" means whatever was read back last.
    """
    question = here.question
    if question is None or not said_since(job, words, question.first_at):
        return _narrated(talk, here, job, _narration(job, words), words, now)
    if _just_asked(talk, question):
        yes = yes_or_no((words.utterance,))
        if question.deviation is not None and yes is not None and not is_soft(words.utterance):
            if yes:
                return placed(deviating.meant(talk, here, job, question, now), words)
            here = questions.deviation_settled(here)
            return answers.denied(talk, here, job, question, now)
        found = _answer(job, question, words)
        if found.kind is not AnswerKind.NOT_AN_ANSWER:
            turn = answers.taken(talk, where(here, words), job, question, found, now)
            return deviating.told_again(turn, question)
        if yes:
            return answers.asked_again(talk, here, job, question, now, plainly=False)
        told = _narration(job, words)
        if not (told.readings or told.stages) and perhaps_short(words.utterance):
            return answers.asked_again(talk, here, job, question, now, plainly=True)
        return _narrated(talk, here, job, told, words, now)
    if yes_or_no((words.utterance,)) is not None:
        return answers.asked_again(talk, here, job, question, now, plainly=True)
    told = _narration(job, words)
    if not (told.readings or told.stages):
        found = _answer(job, question, words)
        if found.kind not in (AnswerKind.NOT_AN_ANSWER, AnswerKind.YES, AnswerKind.NO):
            turn = answers.taken(talk, where(here, words), job, question, found, now)
            return deviating.told_again(turn, question)
    return _narrated(talk, here, job, told, words, now)


def _narration(job: Job, words: Words) -> Extraction:
    return words.conversation.hear(words.file, words.utterance, words.model, job.readings)


def _answer(job: Job, question: Question, words: Words) -> Answer:
    return words.conversation.answer(
        words.file,
        words.utterance,
        words.model,
        question.reading or question.field,
        job.readings,
        choosing=question.style is not Style.RIGHT and question.reading is not None,
        at=(question.splice, question.run),
    )


def _just_asked(talk: Talk, question: Question) -> bool:
    """Whether the question is what was said last: a yes may mean whatever that was."""
    return talk.last_said.endswith(question.text)


def _narrated(
    talk: Talk, here: Talk, job: Job, found: Extraction, words: Words, now: datetime
) -> Turn:
    """What was told goes to the record; what is clear of it is read back."""
    here = where(timers.ended_by(here, found.stages), words)
    here = questions.told_anew(here, found.readings)
    if here.question is not None and _gives_way(here.question, found.readings):
        here = questions.closed(here)
    if here.finishing and found.stages:  # the press is at work, so that this is not the end
        here = questions.going_on(here)
    news = [reading for reading in found.readings if is_news(reading, words)]
    said = [*_moved(talk, here), *(of("stages", mark.stage.value) for mark in found.stages)]
    said += read_back(news, job, here)
    if any(mark.stage is Stage.HEATING for mark in found.stages) and not _isolated(job, found):
        said.insert(0, sentence("isolation"))
    told = {reading.field for reading in news}
    after = job.model_copy(update={"readings": (*job.readings, *found.readings)})
    said += photos.disagreements(after, here.splice, told)
    turn = reply(
        talk, here, job, now, said,
        readings=found.readings, notes=found.notes, stages=found.stages,
    )  # fmt: skip
    if not (found.readings or found.stages or here.splice != talk.splice):
        return turn.model_copy(update={"understood": False})
    return turn


def _moved(before: Talk, here: Talk) -> list[str]:
    """Where the words moved the session to: what is told from here on belongs there."""
    if here.splice != before.splice:
        return [sentence("next_splice", splice=integer(here.splice))]
    if here.run != before.run:
        return [sentence("next_run", run=integer(here.run))]
    return []


def _gives_way(question: Question, readings: tuple[Reading, ...]) -> bool:
    """Whether the value that is asked for was told, or what was told is doubtful: that is asked
    about while it is fresh, and the older question later again.
    """
    told = any(questions.key_of(reading) == question.key for reading in readings)
    return told or any(reading.standing is Standing.DOUBTFUL for reading in readings)


def _isolated(job: Job, found: Extraction) -> bool:
    held = in_force((*job.readings, *found.readings)).get("isolation_confirmed")
    return held is not None and held.value is True and held.standing is not Standing.DOUBTFUL


def _joined(first: Turn, second: Turn) -> Turn:
    """Two turns of one utterance."""
    return second.model_copy(
        update={
            "readings": (*first.readings, *second.readings),
            "notes": (*first.notes, *second.notes),
            "stages": (*first.stages, *second.stages),
            "say": f"{first.say} {second.say}".strip(),
            "understood": first.understood or second.understood,
            "actions": (*first.actions, *second.actions),
        }
    )
