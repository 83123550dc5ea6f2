"""A value told once more for another field: "the same for the bottom"."""

from __future__ import annotations

from dataclasses import replace

from recorder.model.fields import FIELDS
from recorder.notes.fields.links import Link
from recorder.notes.fields.mentions import Mention
from recorder.notes.fields.slot import Slot
from recorder.notes.fields.values import TWINS, plausible
from recorder.notes.words.lexer import Tokens
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import Phrases, words

_BEFORE, _AFTER = 4, 6  # tokens from the word to the field that takes the value
_BACK = 8  # slots

_Same = tuple[tuple[str, str], ...]


@kept
def _cues() -> Phrases[str]:
    return Phrases((phrase, phrase) for phrase in words("speech", "same"))


def same_for(
    tokens: Tokens,
    mentions: list[Mention],
    links: dict[int, Link],
    slots: list[Slot],
    last: list[Slot],
    waiting: _Same,
) -> tuple[list[Slot], _Same]:
    """Slots that repeat a value, and fields that wait for the value that they are to repeat.

    As in "the same for the bottom", "bottom likewise": the last value of that dimension; and as
    in "bottom same as top" (a pause) "top is 175": the next one of the other platen.
    """
    made = [
        _copy(slot, field, slot.places)
        for field, other in waiting[:_BACK]
        for slot in slots
        if slot.field == other and not any(s.field == field for s in slots)
    ]
    linked = {link.mention.start for link in links.values()}
    idle = {m.start: m for m in mentions if m.start not in linked}
    open_: list[tuple[str, str]] = []
    end = 0
    for hit in _cues().all(tokens):
        near = [idle[i] for i in range(hit.start - _BEFORE, hit.end + _AFTER) if i in idle]
        near = [mention for mention in near if mention.start >= end]
        if not near:
            continue
        mention = near[0]
        end = max(hit.end, mention.end)
        places = (*range(mention.start, mention.end), *range(hit.start, hit.end))
        for slot in reversed(([*slots, *made] or last)[-_BACK:]):
            fields = _of_its_kind(mention, slot)
            if fields and slot.field not in fields:
                made += [_copy(slot, name, places) for name in fields]
                break
        else:
            field = mention.options[0][0]
            if len(mention.options[0]) == 1 and field in TWINS and not slots:
                open_.append((field, TWINS[field]))
    return made, tuple(open_)


def _of_its_kind(mention: Mention, slot: Slot) -> tuple[str, ...] | None:
    """The fields that can have the slot's value: "same pressure, top and bottom 182" has none."""
    unit = FIELDS[slot.field].unit
    if slot.amount is None or type(slot.value) is not float:
        return None
    alike = (fields for fields in mention.options if FIELDS[fields[0]].unit == unit)
    return next((fields for fields in alike if plausible(fields[0], slot.value)), None)


def _copy(slot: Slot, field: str, places: tuple[int, ...]) -> Slot:
    """The slot's value for another field, with the words that repeat it as its evidence."""
    start, end = min(places), max(places) + 1
    amount = slot.amount
    if amount is not None:
        number = replace(amount.number, start=start, end=end)
        amount = replace(amount, start=start, end=end, number=number)
    return replace(
        slot, field=field, places=places, start=start, end=end, amount=amount, corrects=False
    )
