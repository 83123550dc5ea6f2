"""New readings held against what is known: the job card, and what was told before."""

from __future__ import annotations

from recorder.model.fields import FIELDS, Level
from recorder.model.reading import Reading, Role, Spoken, Standing, Typed, show_value
from recorder.notes.trust import same

# How the ``why`` of a reading begins that knowingly replaces another one.
CORRECTS, CHANGES = "corrects", "changes"


def reconcile(known: tuple[Reading, ...], new: tuple[Reading, ...]) -> tuple[Reading, ...]:
    """``new`` with the standing that it has beside ``known``; the order and the values stay.

    The same as a person typed: clear. Another value than the one in force, without a word of
    correction or change: doubtful, with the earlier value as candidate. Heard, and not what the
    job card asks for: doubtful.
    """
    force: dict[tuple[str, int, int], Reading] = {}
    asked: dict[str, Reading] = {}
    for reading in known:
        _enter(force, asked, reading)
    judged: list[Reading] = []
    for reading in new:
        result = reading
        if reading.standing is not Standing.CONFIRMED and reading.role is Role.USED:
            result = _judge(reading, force.get(_key(reading)), asked.get(reading.field))
        judged.append(result)
        _enter(force, asked, result)
    return tuple(judged)


def _key(reading: Reading) -> tuple[str, int, int]:
    level = FIELDS[reading.field].level
    splice = 1 if level is Level.JOB else reading.splice
    return reading.field, splice, reading.run if level is Level.RUN else 1


def _enter(
    force: dict[tuple[str, int, int], Reading], asked: dict[str, Reading], reading: Reading
) -> None:
    if reading.role is Role.ASKED:
        asked[reading.field] = reading
    else:
        force[_key(reading)] = reading


def _judge(reading: Reading, earlier: Reading | None, asked: Reading | None) -> Reading:
    knowingly = reading.why.startswith((CORRECTS, CHANGES))
    if earlier is not None and same(earlier.value, reading.value):
        return _cleared(reading) if isinstance(earlier.evidence, Typed) else reading
    if asked is not None and same(asked.value, reading.value) and earlier is None:
        return reading
    if earlier is not None and not knowingly:
        typed = isinstance(earlier.evidence, Typed)
        told = "the job card says" if typed else "earlier it was"
        return _doubted(reading, f"{told} {earlier.shown()}", earlier)
    heard = isinstance(reading.evidence, Spoken) and reading.evidence.start_s is not None
    if asked is not None and heard and not same(asked.value, reading.value):
        return _doubted(reading, f"the job card asks for {asked.shown()}", asked)
    return reading


def _cleared(reading: Reading) -> Reading:
    if reading.standing is Standing.CLEAR:
        return reading
    return reading.model_copy(update={"standing": Standing.CLEAR, "why": "", "candidates": ()})


def _doubted(reading: Reading, why: str, other: Reading) -> Reading:
    rest = [value for value in reading.candidates if not same(value, other.value)]
    return reading.model_copy(
        update={
            "standing": Standing.DOUBTFUL,
            "why": f"{reading.why}; {why}" if reading.why else why,
            "candidates": (other.value, *rest),
        }
    )


def replaces(word: str, value: bool | float | str, field: str) -> str:
    """The ``why`` of a reading that knowingly replaces a value: 'corrects 175 °C'."""
    return f"{word} {show_value(field, value)}"
