"""The recorder's questions: which is next, in what words, and what becomes of one without an
answer.

There is never more than one. What is doubtful is asked at once; what was put off, and what is
still missing, once more at the end. Nobody is asked a third time without having answered.
"""

from __future__ import annotations

from datetime import datetime

from recorder.knowhow.recipes.answer import Deviation
from recorder.live.needs import lacking, lacking_anywhere
from recorder.live.saying import sentences
from recorder.live.talk import Key, Moment, Question, Style, Talk
from recorder.model.fields import FIELDS, Kind
from recorder.model.job import Job, in_force, to_confirm
from recorder.model.reading import Reading, Role, show_value

MOST_TIMES = 3  # a value is asked for, with whatever answers there are, before it is put off
_FEW = 4  # words of a choice that a touch can give


def key_of(reading: Reading) -> Key:
    return reading.field, reading.splice, reading.run


def doubts(job: Job) -> list[Reading]:
    """The doubtful readings of what was done and found, in the order in which they came."""
    return [reading for reading in to_confirm(job) if reading.role is Role.USED]


def still_holds(reading: Reading, job: Job) -> bool:
    """Whether a reading is in force, or waits to be asked about."""
    held = in_force(job.readings, reading.splice, reading.run, reading.role)
    return held.get(reading.field) == reading or reading in to_confirm(job)


def next_doubt(talk: Talk, job: Job, fresh: tuple[Reading, ...] = ()) -> Reading | None:
    """The doubtful reading that is asked about next, if any: what was told last goes first."""
    passed = talk.asked_last if talk.finishing else (*talk.postponed, *talk.declined)
    waiting = [each for each in doubts(job) if key_of(each) not in passed]
    just_told = [each for each in waiting if each in fresh]
    return next(iter([*just_told, *waiting]), None)


def next_missing(talk: Talk, job: Job, until: Moment) -> Key | None:
    """The value that is asked for next because the record lacks it, if any."""
    if talk.finishing:
        rest = [key for key in lacking_anywhere(talk, job) if key not in talk.asked_last]
    else:
        rest = [key for key in lacking(talk, job, until) if key not in talk.postponed]
    return next(iter(rest), None)


def about(
    reading: Reading, talk: Talk, now: datetime, named: bool, proposed: bool = False, times: int = 1
) -> Question:
    """The question about a doubtful reading: the two values that it may be, or the one. named:
    whether the name of the field is said before two values. Of what was taken back the value is
    asked for.
    """
    if sentences.was_taken_back(reading):
        return for_value(key_of(reading), talk, now, reading, times)
    # Of two that sound alike the same two would be misheard again: then the one, yes or no.
    both = sentences.which(reading, named) if times == 1 else None
    where = sentences.place(reading.splice, reading.run, (talk.splice, talk.run), reading.field)
    text = both or sentences.right(reading)
    return Question(
        field=reading.field,
        reading=reading,
        text=f"{where} {text}".strip(),
        first_at=now,
        asked_at=now,
        times=times,
        proposed=proposed,
        style=Style.WHICH if both else Style.RIGHT,
        choices=_choices(reading) if both else (),
        splice=reading.splice,
        run=reading.run,
    )


def for_value(
    key: Key, talk: Talk, now: datetime, reading: Reading | None = None, times: int = 1
) -> Question:
    """The question for a value that nobody gave, or that is to be given anew."""
    field, splice, run = key
    where = sentences.place(splice, run, (talk.splice, talk.run), field)
    row = FIELDS[field]
    shown = tuple(show_value(field, choice) for choice in row.choices)
    if row.kind is Kind.FLAG:
        shown = (show_value(field, True), show_value(field, False))
    return Question(
        field=field,
        reading=reading,
        text=f"{where} {sentences.open_question(field)}".strip(),
        first_at=now,
        asked_at=now,
        times=times,
        style=Style.OPEN,
        choices=shown,
        splice=splice,
        run=run,
    )


def again(question: Question, now: datetime) -> Question:
    """The same question once more."""
    return question.model_copy(update={"asked_at": now, "times": question.times + 1})


def closed(talk: Talk) -> Talk:
    """The open question has its answer."""
    return talk.model_copy(update={"question": None})


def going_on(talk: Talk) -> Talk:
    """The job is not to end yet: what was asked at its end is asked again then."""
    return talk.model_copy(update={"finishing": False, "question": None, "asked_last": ()})


def put_off(talk: Talk, key: Key) -> Talk:
    """Asked once more at the end, and then no more. Whether a setting is meant is asked once."""
    if talk.question is not None and talk.question.deviation is not None:
        return closed(deviation_settled(talk))
    update: dict[str, object] = {"question": None}
    if talk.finishing:
        update["asked_last"] = _with(talk.asked_last, key)
    else:
        update["postponed"] = _with(talk.postponed, key)
    return talk.model_copy(update=update)


def deviation_name(found: Deviation) -> str:
    """By which ``Talk.reminded`` knows that a setting was asked about, whoever it differs from."""
    return f"deviation:{found.field}:{found.value:g}"


def deviation_settled(talk: Talk) -> Talk:
    """The setting that the open question is about is not asked about again."""
    found = talk.question.deviation if talk.question is not None else None
    if talk.question is None or found is None or deviation_name(found) in talk.reminded:
        return talk
    talk = asked_for(talk, talk.question.key)
    return talk.model_copy(update={"reminded": (*talk.reminded, deviation_name(found))})


def declined(talk: Talk, key: Key) -> Talk:
    """A person said that there is no value."""
    update = {
        "question": None,
        "declined": _with(talk.declined, key),
        "asked_last": _with(talk.asked_last, key),
    }
    return talk.model_copy(update=update)


def told_anew(talk: Talk, readings: tuple[Reading, ...]) -> Talk:
    """What was put off or declined and is told now is asked about again, where it is doubtful."""
    return asked_for(talk, *(key_of(reading) for reading in readings))


def asked_for(talk: Talk, *keys: Key) -> Talk:
    """What was put off or declined is of use now."""
    return talk.model_copy(
        update={
            name: tuple(key for key in getattr(talk, name) if key not in keys)
            for name in ("postponed", "declined", "asked_last")
        }
    )


def _with(keys: tuple[Key, ...], key: Key) -> tuple[Key, ...]:
    return keys if key in keys else (*keys, key)


def chosen(question: Question, text: str) -> bool | float | str | None:
    """The value of a choice that a touch gave back as it was shown; None for another text."""
    reading = question.reading
    values = (reading.value, *reading.candidates) if reading else ()
    shown = (value for value in values if show_value(question.field, value) == text)
    return next(shown, None) if text in question.choices else None


def _choices(reading: Reading) -> tuple[str, ...]:
    """The value and the first candidate that differs, as a page shows them."""
    shown = [show_value(reading.field, value) for value in (reading.value, *reading.candidates)]
    return tuple(dict.fromkeys(shown))[:2]
