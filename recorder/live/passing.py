"""What the recorder says by itself while time passes, in a lull: timers that are due, the rest of
a long list, a question that nobody answered, what the clock saw, what past jobs say, what is
missing.

Times are common practice, no source: long enough not to press anybody, short enough to be of use.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from recorder.errors import SeamnoteError
from recorder.live import clock, deviating, questions, remarks, timers
from recorder.live.needs import lacks_photo, moment_of
from recorder.live.replies import asking, ended, next_proposal, next_question
from recorder.live.saying import sentences
from recorder.live.saying.values import duration, value
from recorder.live.saying.words import capital, sentence
from recorder.live.shelf import Shelf
from recorder.live.talk import Moment, Question, Talk, Turn
from recorder.model.job import Job
from recorder.model.splices import numbers, runs

LULL_S = 6.0  # of quiet, before anything is asked that could wait
REPEAT_S = 20.0  # without an answer
QUIET_S = 15.0  # after a stage of the press began
SILENT_S = 120.0  # nobody answered: perhaps nobody is there
_MOST_SILENT = 2  # times that a question is asked of nobody
_UNREADABLE = "archive"


def passed(
    talk: Talk, job: Job, now: datetime, asks: bool = True, shelf: Shelf | None = None
) -> Turn | None:
    """What is said now, None for nothing. asks: False where nobody could answer; then only timers
    that are due are told. shelf: None where there is no archive.
    """
    if talk.over:
        return None
    if asks and talk.last_at is None:
        return _says(talk, job, now, sentence("greeting"))
    talk_due, due = timers.announced(talk, now)
    if due:
        return _says(talk_due, job, now, due)
    if talk.paused or not asks:
        return None
    if talk.rest:
        return _says(talk.model_copy(update={"rest": talk.rest[1:]}), job, now, talk.rest[0])
    if talk.question is not None:
        return _unanswered(talk, talk.question, job, now)
    if talk.unsure_of is not None:
        return _unsure(talk, job, now)
    if not _quiet_for(talk, now, LULL_S):
        return None
    if talk.finishing:
        question = next_question(talk, job, now)
        return (
            _asks(talk, job, now, question) if question else ended(talk, job, Turn(talk=talk), now)
        )
    return _in_a_lull(talk, job, now, shelf)


def _in_a_lull(talk: Talk, job: Job, now: datetime, shelf: Shelf | None) -> Turn | None:
    doubt = questions.next_doubt(talk, job)
    if doubt is not None:
        return _asks(talk, job, now, questions.about(doubt, talk, now, named=True))
    began = clock.last_mark(job, talk.splice, talk.run)
    if began is not None and (now - began).total_seconds() < QUIET_S:
        return None
    if talk.silent_until is not None and now < talk.silent_until:
        return None
    differing = _difference(talk, job)
    if differing is not None:
        key, said = differing
        return _says(_reminded(talk, key), job, now, said)
    proposal = next_proposal(talk, job, now)
    if proposal is not None:
        proposed = questions.about(proposal, talk, now, named=True, proposed=True)
        return _asks(talk, job, now, proposed)
    moment = moment_of(talk, job)
    missing = questions.next_missing(talk, job, moment)
    safe = missing is None or missing[0] != "isolation_confirmed"
    if safe and shelf is not None and _UNREADABLE not in talk.reminded:
        turn = _from_past(talk, job, now, shelf)
        if turn is not None:
            return turn
    if missing is not None:
        return _asks(talk, job, now, questions.for_value(missing, talk, now))
    photo = f"photo:{talk.splice}"
    if moment is Moment.AFTER and lacks_photo(talk, job) and photo not in talk.reminded:
        return _says(_reminded(talk, photo), job, now, sentence("photo_missing"))
    return None


def _from_past(talk: Talk, job: Job, now: datetime, shelf: Shelf) -> Turn | None:
    """What the firm's own jobs and lists say to this one. An archive that cannot be read is told
    once, and left alone from then on.
    """
    try:
        question = deviating.next_question(talk, job, now, shelf)
        if question is not None:
            return _asks(talk, job, now, question)
        remark = remarks.before(talk, job, shelf) or remarks.after(talk, job, shelf)
    except SeamnoteError:
        remark = _UNREADABLE, sentence("archive_unreadable")
    if remark is None:
        return None
    name, said = remark
    return _says(_reminded(talk, name), job, now, said)


def _unanswered(talk: Talk, question: Question, job: Job, now: datetime) -> Turn | None:
    """Asked once more, and then put off; a session in which nobody answers is left in peace."""
    if not _quiet_for(talk, now, REPEAT_S):
        return None
    if question.times < _MOST_SILENT:
        talk = talk.model_copy(update={"question": questions.again(question, now)})
        return _says(talk, job, now, question.text)
    talk = questions.put_off(talk, question.key)
    update = {"silent_until": now + timedelta(seconds=SILENT_S)}
    return Turn(talk=talk.model_copy(update=update))


def _unsure(talk: Talk, job: Job, now: datetime) -> Turn | None:
    """A request that was hardly heard and to which nobody says yes is none."""
    if not _quiet_for(talk, now, REPEAT_S):
        return None
    return Turn(talk=talk.model_copy(update={"unsure_of": None}))


def _difference(talk: Talk, job: Job) -> tuple[str, str] | None:
    for splice in numbers(job):
        for run in runs(job, splice):
            for found in clock.differences(job, splice, run):
                key = f"clock:{found.told.field}:{splice}:{run}"
                if key not in talk.reminded:
                    said = sentence(
                        "clock_differs",
                        name=capital(sentences.name(found.told.field)),
                        told=value(found.told),
                        clock=duration(found.clock_s),
                    )
                    return key, said
    return None


def _reminded(talk: Talk, key: str) -> Talk:
    return talk.model_copy(update={"reminded": (*talk.reminded, key)})


def _quiet_for(talk: Talk, now: datetime, seconds: float) -> bool:
    asked = talk.question.asked_at if talk.question else None
    last = max(each for each in (talk.last_at, asked, now - timedelta(days=1)) if each)
    return (now - last).total_seconds() >= seconds


def _asks(talk: Talk, job: Job, now: datetime, question: Question) -> Turn:
    return _says(asking(talk, question), job, now, question.text)


def _says(talk: Talk, job: Job, now: datetime, said: str) -> Turn:
    update = {"last_at": now, "last_said": said, "moment": moment_of(talk, job)}
    return Turn(talk=talk.model_copy(update=update), say=said)
