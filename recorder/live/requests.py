"""What is done when somebody asks for something, by voice or by a button."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from recorder.live import past, questions, timers, undo
from recorder.live.needs import lacking, lacks_photo
from recorder.live.replies import ended, next_question, reply
from recorder.live.saying import sentences
from recorder.live.saying.numbers import integer
from recorder.live.saying.words import capital, sentence
from recorder.live.shelf import Shelf
from recorder.live.talk import Action, Key, Moment, Talk, Turn
from recorder.model.fields import FIELDS, Level
from recorder.model.job import Job, in_force
from recorder.model.reading import Note
from recorder.notes.requests.request import Ask, Request

# What changes much at once is asked about when it was not heard well.
_SURE = {
    Ask.FINISH: "sure_finish",
    Ask.UNDO: "sure_undo",
    Ask.NEXT_SPLICE: "sure_next_splice",
    Ask.KEEP_RECIPE: "sure_keep",
}

Doing = Callable[[Talk, Talk, Job, Request, datetime], Turn]


def done(
    before: Talk, talk: Talk, job: Job, request: Request, now: datetime,
    shelf: Shelf | None = None,
) -> Turn:  # fmt: skip
    """What a request leads to. before: the talk at the beginning of the turn. shelf: see
    ``past.answered``.

    While the session pauses, only going on and the end count.
    """
    if talk.paused and request.ask not in (Ask.RESUME, Ask.FINISH):
        return Turn(talk=talk, say=sentence("kept_paused"))
    talk = talk.model_copy(update={"unsure_of": None})
    if request.ask is Ask.KEEP_RECIPE:
        why = past.not_to_keep(talk, job)
        if why is not None:
            return reply(before, talk, job, now, [why])
        request = request.model_copy(update={"text": capital(request.text)})
    if past.wants_name(request) or (request.ask in _SURE and not request.sure):
        talk = talk.model_copy(update={"unsure_of": request, "unsure_at": now, "question": None})
        return reply(before, talk, job, now, [asked_if_sure(request)])
    if request.ask in past.ASKS:
        return past.answered(before, talk, job, request, now, shelf)
    return _DOING[request.ask](before, talk, job, request, now)


def asked_if_sure(request: Request) -> str:
    """The question whether a request was meant, or under which name."""
    if past.wants_name(request):
        return sentence("keep_name")
    return sentence(_SURE[request.ask], name=request.text)


def _read_back(before: Talk, talk: Talk, job: Job, request: Request, now: datetime) -> Turn:
    known = in_force(job.readings, talk.splice, talk.run)
    if request.field:
        held = known.get(request.field)
        name = capital(sentences.name(request.field))
        said = [sentences.as_it_stands(held) if held else sentence("not_told", name=name)]
    else:
        held_all = [known[name] for name in FIELDS if name in known]
        said = [sentences.as_it_stands(each) for each in held_all] or [sentence("nothing_told")]
    return reply(before, talk, job, now, said)


def _missing(before: Talk, talk: Talk, job: Job, request: Request, now: datetime) -> Turn:
    names = sentences.names_of(key[0] for key in lacking(talk, job, Moment.FINISHING))
    doubtful = sentences.names_of(reading.field for reading in questions.doubts(job))
    if lacks_photo(talk, job):
        names.append(sentence("missing_photo"))
    said = []
    if names:
        said.append(sentence("missing", names=sentences.shortened(names)))
    if doubtful:
        said.append(sentence("finished_unconfirmed", names=sentences.shortened(doubtful)))
    return reply(before, talk, job, now, said or [sentence("nothing_missing")])


def _correct(before: Talk, talk: Talk, job: Job, request: Request, now: datetime) -> Turn:
    if request.field is None:
        return reply(before, talk, job, now, [sentence("which_value")])
    key = _key(request.field, talk)
    held = in_force(job.readings, talk.splice, talk.run).get(request.field)
    question = questions.for_value(key, talk, now, held)
    talk = questions.asked_for(talk, key).model_copy(update={"question": question})
    return reply(before, talk, job, now, [question.text])


def _undo(before: Talk, talk: Talk, job: Job, request: Request, now: datetime) -> Turn:
    talk, readings, said = undo.undone(talk, job, now)
    return reply(before, talk, job, now, said, readings=readings, takes_back=True)


def _note(before: Talk, talk: Talk, job: Job, request: Request, now: datetime) -> Turn:
    text = request.text or request.said
    return reply(before, talk, job, now, [sentence("noted")], notes=(Note(text=text, file=""),))


def _photo(before: Talk, talk: Talk, job: Job, request: Request, now: datetime) -> Turn:
    talk = talk.model_copy(update={"last_at": now, "last_said": sentence("photo_taking")})
    return Turn(talk=talk, say=talk.last_said, actions=(Action.TAKE_PHOTO,))


def _timer_start(before: Talk, talk: Talk, job: Job, request: Request, now: datetime) -> Turn:
    talk, said = timers.started(talk, job, request, now)
    return reply(before, talk, job, now, [said])


def _timer_stop(before: Talk, talk: Talk, job: Job, request: Request, now: datetime) -> Turn:
    talk, said = timers.stopped(talk, request, now)
    return reply(before, talk, job, now, [said])


def _next_splice(before: Talk, talk: Talk, job: Job, request: Request, now: datetime) -> Turn:
    """As the words "next splice" in a narration: where nothing was told of this one, it stays."""
    told = any(
        reading.splice == talk.splice and FIELDS[reading.field].level is not Level.JOB
        for reading in job.readings
    )
    if not told:
        said = sentence("still_splice", splice=integer(talk.splice))
        return reply(before, talk, job, now, [said])
    talk = talk.model_copy(update={"splice": talk.splice + 1, "run": 1, "question": None})
    return reply(before, talk, job, now, [sentence("next_splice", splice=integer(talk.splice))])


def _pause(before: Talk, talk: Talk, job: Job, request: Request, now: datetime) -> Turn:
    said = sentence("paused")
    update = {"paused": True, "last_at": now, "last_said": said, "rest": ()}
    return Turn(talk=talk.model_copy(update=update), say=said)


def _resume(before: Talk, talk: Talk, job: Job, request: Request, now: datetime) -> Turn:
    talk = talk.model_copy(update={"paused": False})
    return reply(before, talk, job, now, [sentence("resumed")])


def _repeat(before: Talk, talk: Talk, job: Job, request: Request, now: datetime) -> Turn:
    said = talk.question.text if talk.question else talk.last_said
    update = {"last_at": now}
    return Turn(talk=talk.model_copy(update=update), say=said or sentence("nothing_said"))


def _later(before: Talk, talk: Talk, job: Job, request: Request, now: datetime) -> Turn:
    if talk.question is None:
        return Turn(talk=talk.model_copy(update={"last_at": now, "rest": ()}), understood=False)
    talk = questions.put_off(talk, talk.question.key)
    return reply(before, talk, job, now, [] if talk.finishing else [sentence("later")])


def _cancel(before: Talk, talk: Talk, job: Job, request: Request, now: datetime) -> Turn:
    """Not what was to be done: also not the end that was asked for."""
    if talk.over:
        return Turn(talk=talk, say=sentence("finished"))
    if before.unsure_of is None and not talk.finishing:
        return _later(before, talk, job, request, now)
    return reply(before, questions.going_on(talk), job, now, [sentence("going_on")])


def _finish(before: Talk, talk: Talk, job: Job, request: Request, now: datetime) -> Turn:
    """What is open is asked first; whoever asks a second time ends the job at once."""
    talk = talk.model_copy(update={"paused": False, "question": None})
    if before.finishing:
        return ended(talk, job, Turn(talk=talk), now)
    talk = talk.model_copy(update={"finishing": True})
    open_one = next_question(talk, job, now)
    return reply(before, talk, job, now, [sentence("before_the_end")] if open_one else [])


def _key(field: str, talk: Talk) -> Key:
    level = FIELDS[field].level
    splice = 1 if level is Level.JOB else talk.splice
    return field, splice, talk.run if level is Level.RUN else 1


_DOING: dict[Ask, Doing] = {
    Ask.READ_BACK: _read_back,
    Ask.MISSING: _missing,
    Ask.CORRECT: _correct,
    Ask.UNDO: _undo,
    Ask.NOTE: _note,
    Ask.PHOTO: _photo,
    Ask.TIMER_START: _timer_start,
    Ask.TIMER_STOP: _timer_stop,
    Ask.NEXT_SPLICE: _next_splice,
    Ask.PAUSE: _pause,
    Ask.RESUME: _resume,
    Ask.REPEAT: _repeat,
    Ask.LATER: _later,
    Ask.FINISH: _finish,
    Ask.CANCEL: _cancel,
}
