"""Questions and values of a job card, in the words in which a person reads and types them."""

from __future__ import annotations

from collections.abc import Iterable

from recorder.knowhow.recipes.answer import Deviation
from recorder.knowhow.trends.chart import Drift
from recorder.knowhow.trends.observed import label, stream_label
from recorder.knowhow.trends.rules import text_of as signal_text
from recorder.model import units
from recorder.model.base import Value
from recorder.model.fields import FIELDS
from recorder.model.reading import Reading, show_value
from recorder.model.words import ENGLISH, Words


class Question(Value):
    """why: 'missing', 'doubtful', 'template' or 'deviation'. proposed: what a yes takes, as text
    that a person could have typed; None where there is nothing to say yes to. optional: a card
    without it is whole.
    """

    field: str
    text: str
    why: str
    proposed: str | None = None
    optional: bool = False


def missing(name: str, optional: bool) -> Question:
    row = FIELDS[name]
    text = name
    if row.choices:
        text = f"{name} ({', '.join(row.choices)})"
    elif row.unit:
        text = f"{name} (with its unit)"
    return Question(field=name, text=text, why="missing", optional=optional)


def about(doubt: Reading) -> Question:
    others = " or ".join(show_value(doubt.field, value) for value in doubt.candidates)
    text = f"{doubt.field}: {doubt.shown()}" + (f", or {others}" if others else "") + "?"
    return Question(
        field=doubt.field, text=f"{text} {doubt.why}".rstrip(), why="doubtful",
        proposed=text_of(doubt),
    )  # fmt: skip


def deviating(found: Iterable[Deviation]) -> list[Question]:
    """One for each setting, whoever it differs from."""
    by_field: dict[str, list[str]] = {}
    values: dict[str, float] = {}
    for each in found:
        by_field.setdefault(each.field, []).append(against(each))
        values[each.field] = each.value
    return [
        Question(
            field=field,
            text=f"{field}: is {show_value(field, values[field])} meant? {'; '.join(told)}",
            why="deviation",
            proposed=typed_text(field, values[field]),
        )
        for field, told in by_field.items()
    ]


def whence(origin: str, name: str, words: Words = ENGLISH) -> str:
    """Where a value came from. origin: one of ``drafting.Origin``."""
    match origin:
        case "job":
            return words.say("job {name}", name=name)
        case "recipe":
            return words.say("recipe {name}", name=name)
        case "conveyor":
            return words.say("conveyor list, {name}", name=name)
        case "said":
            return words.say("said in {name}", name=name) if name else words.say("said")
        case _:
            return words.say("typed")


def against(deviation: Deviation, words: Words = ENGLISH) -> str:
    """'recipe Oven 70, version 2: 171 °C to 174 °C'."""
    low, high = (
        None if bound is None else show_value(deviation.field, bound, words)
        for bound in (deviation.low, deviation.high)
    )
    if low is None:
        span = words.say("at most {high}", high=high)
    elif high is None:
        span = words.say("at least {low}", low=low)
    else:
        span = low if low == high else words.say("{low} to {high}", low=low, high=high)
    return f"{deviation.whose}: {span}"


def drifting(drift: Drift, words: Words = ENGLISH) -> str:
    """'Finger gap, press P2: crept up over the last 9 points'."""
    return words.say(
        "{what}, {whose}: {signal}",
        whose=stream_label(drift.stream, drift.name, words),
        what=label(drift.characteristic, words),
        signal=signal_text(drift.signal, words),
    )


def text_of(reading: Reading) -> str:
    """A value as a person types it, in the unit in which it was given: '350 degF', 'v_guided'."""
    if reading.as_said:
        return f"{units.plain(reading.as_said.value)} {reading.as_said.unit}"
    return typed_text(reading.field, reading.value)


def typed_text(field: str, value: bool | float | str) -> str:
    """Likewise of a value in the canonical unit."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        unit = FIELDS[field].unit
        return f"{units.plain(value)} {unit}" if unit else units.plain(value)
    return value
