"""A job card filled in: by what a person types or answers, and by what other records say."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from recorder.errors import WrongUse
from recorder.flows.jobcard import FILE_NAME
from recorder.flows.knowhow.drafting import ON_CARD, Draft, Filled, Origin
from recorder.model.belt import folded
from recorder.model.fields import FIELDS, Field, Level
from recorder.model.past import SETTINGS
from recorder.model.reading import Reading, Role, Standing, Typed, show_value
from recorder.notes.typed import known_field, typed_reading

YES = ("y", "yes", "j", "ja")


def with_answer(draft: Draft, field: str, text: str) -> Draft:
    """The answer to a question: a value as it is typed, 'yes' to what was proposed, or nothing,
    which leaves it open.

    What past jobs say to it is looked up anew by ``preparing.looked_up``. Raises UnknownField,
    BadValue, UnknownUnit, and WrongUse for what is no matter of a card.
    """
    text = text.strip()
    question = next((each for each in draft.questions if each.field == field), None)
    yes = text.casefold() in YES
    if not text:
        doubts = tuple(doubt for doubt in draft.doubts if doubt.field != field)
        return draft.model_copy(update={"doubts": doubts, "open": (*draft.open, field)})
    if yes and question and question.why == "deviation":
        return draft.model_copy(update={"meant": (*draft.meant, field)})
    if yes and question and question.proposed is not None:
        text = question.proposed
    return typed(draft, {field: text})


def typed(draft: Draft, values: Mapping[str, str]) -> Draft:
    """The draft with values that a person typed, which count before all others. Raises as
    ``with_answer``, and then nothing is taken.
    """
    for name, text in values.items():
        row = card_field(name)
        reading = typed_reading(row.name, text, Typed(file=FILE_NAME), role_of(row.name))
        filled = Filled(reading=reading, origin=Origin.TYPED)
        draft = _put(draft, filled)
    return draft


def fill(draft: Draft, found: Iterable[Filled]) -> Draft:
    """The draft with values for what it lacks; a value that differs from its own is told."""
    for filled in found:
        field = filled.reading.field
        held = draft.filled(field)
        if held is None:
            draft = _put(draft, filled)
        elif not _same(held.reading, filled.reading):
            draft = remark(draft, (
                f"{field}: {held.reading.shown()} ({held.whence}); {filled.whence} says "
                f"{filled.reading.shown()}"
            ))  # fmt: skip
    return draft


def remark(draft: Draft, text: str) -> Draft:
    return draft.model_copy(update={"remarks": (*draft.remarks, text)})


def card_field(name: str) -> Field:
    """A field that a card can hold. Raises UnknownField, WrongUse."""
    row = known_field(name)
    if row.name not in ON_CARD and row.name not in SETTINGS:
        raise WrongUse(
            detail=f"{row.name} is found during the job, and on no card before it",
            command="prepare",
        )
    return row


def role_of(field: str) -> Role:
    """Settings are asked for; all else holds from the beginning."""
    return Role.ASKED if FIELDS[field].level is Level.RUN else Role.USED


def taken(reading: Reading, origin: Origin, name: str) -> Filled:
    """A value of another record as one of the card."""
    kept = reading.model_copy(
        update={
            "standing": Standing.CONFIRMED,
            "role": role_of(reading.field),
            "evidence": Typed(file=FILE_NAME),
            "why": "",
            "candidates": (),
            "splice": 1,
            "run": 1,
        }
    )
    return Filled(reading=kept, origin=origin, name=name)


def _put(draft: Draft, filled: Filled) -> Draft:
    """In the order of the card; what is answered is open and doubtful no more, and what was told
    of the value before it holds no more.
    """
    field = filled.reading.field
    part, order = ("asked", SETTINGS) if field in SETTINGS else ("used", ON_CARD)
    others = [each for each in getattr(draft, part) if each.reading.field != field]
    placed = sorted((*others, filled), key=lambda each: order.index(each.reading.field))
    return draft.model_copy(
        update={
            part: tuple(placed),
            "doubts": tuple(doubt for doubt in draft.doubts if doubt.field != field),
            "open": tuple(name for name in draft.open if name != field),
            "meant": tuple(name for name in draft.meant if name != field),
            "remarks": tuple(each for each in draft.remarks if not each.startswith(f"{field}: ")),
        }
    )


def _same(one: Reading, other: Reading) -> bool:
    if isinstance(one.value, str) and isinstance(other.value, str):
        return folded(one.value) == folded(other.value)
    return show_value(one.field, one.value) == show_value(other.field, other.value)
