"""What follows when something was taken: it is read back, and the next question is asked."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from recorder.live import clock, questions
from recorder.live.needs import lacking_anywhere, lacks_photo, moment_of
from recorder.live.saying import sentences
from recorder.live.saying.words import sentence
from recorder.live.talk import Action, Moment, Question, Talk, Turn
from recorder.live.undo import remembered
from recorder.model.fields import FIELDS
from recorder.model.job import Job, in_force
from recorder.model.reading import Note, Reading, Standing
from recorder.model.splices import numbers, runs
from recorder.model.stages import StageMark


def added(job: Job, turn: Turn) -> Job:
    """The job with what a turn brings."""
    return job.model_copy(
        update={
            "readings": (*job.readings, *turn.readings),
            "notes": (*job.notes, *turn.notes),
            "stages": (*job.stages, *turn.stages),
        }
    )


def reply(
    before: Talk,
    talk: Talk,
    job: Job,
    now: datetime,
    said: Sequence[str] = (),
    readings: tuple[Reading, ...] = (),
    notes: tuple[Note, ...] = (),
    stages: tuple[StageMark, ...] = (),
    actions: tuple[Action, ...] = (),
    takes_back: bool = False,
) -> Turn:
    """The turn that brings this, with what is said of it and the question that follows.

    before: the talk at the beginning of the turn. job: without what the turn brings. said: what is
    to be said besides the question. takes_back: the turn itself is not to be taken back.
    """
    if not takes_back:
        talk = remembered(talk, job, len(readings), before)
    turn = Turn(talk=talk, readings=readings, notes=notes, stages=stages, actions=actions)
    after = added(job, turn)
    parts = sentences.in_parts([each for each in said if each])
    talk, rest = talk.model_copy(update={"last_at": now}), parts[1:]
    ends = Action.FINISH in actions
    asked = ""
    # A question stands at the end of what is said, so it waits for the rest of a long list.
    waits = talk.question is not None or talk.unsure_of is not None
    if not (rest or ends or waits or talk.over):
        talk, asked = _asking(talk, after, now, readings)
        if talk.finishing and not asked:
            return ended(talk, after, turn, now, parts)
    say = " ".join(filter(None, (*parts[:1], asked)))
    return _spoken(turn, talk, after, say, rest)


def _spoken(turn: Turn, talk: Talk, after: Job, say: str, rest: tuple[str, ...]) -> Turn:
    update: dict[str, object] = {"rest": rest, "moment": moment_of(talk, after)}
    if say:
        update["last_said"] = say
    return turn.model_copy(update={"talk": talk.model_copy(update=update), "say": say})


def _asking(talk: Talk, job: Job, now: datetime, fresh: tuple[Reading, ...]) -> tuple[Talk, str]:
    """The next question of those that are asked at once; at the end, of all."""
    question = next_question(talk, job, now, fresh)
    if question is None:
        return talk, ""
    return asking(talk, question), question.text


def asking(talk: Talk, question: Question) -> Talk:
    """The question is open from here on. What the clock proposes is proposed once."""
    update: dict[str, object] = {"question": question}
    if question.proposed:
        update["reminded"] = (*talk.reminded, proposed_name(question.key))
    return talk.model_copy(update=update)


def next_question(
    talk: Talk, job: Job, now: datetime, fresh: tuple[Reading, ...] = ()
) -> Question | None:
    """What is doubtful; when the job is to end, also what the clock proposes and what is missing.

    fresh: the readings of this turn. Of a single one two values are asked without its name.
    """
    doubt = questions.next_doubt(talk, job, fresh)
    if doubt is not None:
        alone = len(fresh) == 1 and doubt in fresh
        return questions.about(doubt, talk, now, named=not alone)
    if not talk.finishing:
        return None
    proposal = next_proposal(talk, job, now)
    if proposal is not None:
        return questions.about(proposal, talk, now, named=True, proposed=True)
    key = questions.next_missing(talk, job, Moment.FINISHING)
    return questions.for_value(key, talk, now) if key else None


def next_proposal(talk: Talk, job: Job, now: datetime) -> Reading | None:
    """A time by the clock that was not yet proposed: of the runs that are over, and at the end of
    the whole visit.
    """
    found = [
        reading
        for splice in numbers(job)
        for run in runs(job, splice)
        for reading in clock.proposals(job, splice, run)
    ]
    visit = clock.on_site(job, now) if talk.finishing else None
    if visit is not None:
        found.append(visit)
    passed = {*talk.declined, *talk.postponed, *talk.asked_last}
    for reading in found:
        key = questions.key_of(reading)
        if key not in passed and proposed_name(key) not in talk.reminded:
            return reading
    return None


def proposed_name(key: tuple[str, int, int]) -> str:
    """By which ``Talk.reminded`` knows that the clock's value was proposed."""
    return "proposed:" + ":".join(map(str, key))


def read_back(readings: Sequence[Reading], known: Job, talk: Talk) -> list[str]:
    """One sentence for each reading that is clear and new, the last one of each value."""
    newest = {questions.key_of(reading): reading for reading in readings}
    found = []
    for reading in newest.values():
        before = in_force(known.readings, reading.splice, reading.run).get(reading.field)
        again = before is not None and (before.value, before.standing) == (
            reading.value,
            reading.standing,
        )
        if again or reading.standing in (Standing.DOUBTFUL, Standing.WITHDRAWN):
            continue
        where = sentences.place(reading.splice, reading.run, (talk.splice, talk.run), reading.field)
        found.append(f"{where} {sentences.told(reading)}".strip())
    return found


def ended(talk: Talk, job: Job, turn: Turn, now: datetime, said: Sequence[str] = ()) -> Turn:
    """The end of the job: what stays unconfirmed or untold in one sentence each, and it ends."""
    talk = talk.model_copy(
        update={
            "question": None,
            "unsure_of": None,
            "finishing": True,
            "over": True,
            "last_at": now,
        }
    )
    doubtful = sentences.names_of(reading.field for reading in questions.doubts(job))
    untold = [key[0] for key in lacking_anywhere(talk.model_copy(update={"declined": ()}), job)]
    names = sentences.names_of(field for field in untold if FIELDS[field].asked)
    if lacks_photo(talk, job):
        names.append(sentence("missing_photo"))
    closing = [*said, sentence("finished")]
    if doubtful:
        closing.append(sentence("finished_unconfirmed", names=sentences.shortened(doubtful)))
    if names:
        closing.append(sentence("finished_not_told", names=sentences.shortened(names)))
    turn = turn.model_copy(update={"actions": (*turn.actions, Action.FINISH)})
    return _spoken(turn, talk, job, " ".join(filter(None, closing)), ())
