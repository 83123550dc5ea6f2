"""A value told once more for another field: "the same for the bottom"."""

from __future__ import annotations

from dataclasses import replace

from recorder.notes.lexer import Tokens
from recorder.notes.links import Link
from recorder.notes.mentions import Mention
from recorder.notes.slot import Slot


def same_for(
    tokens: Tokens,
    mentions: list[Mention],
    links: dict[int, Link],
    slots: list[Slot],
    last: list[Slot],
) -> list[Slot]:
    """As in "the same for the bottom": the last value of that dimension again."""
    made: list[Slot] = []
    linked = {link.mention.start for link in links.values()}
    idle = {m.start: m for m in mentions if m.start not in linked}
    for i, token in enumerate(tokens):
        if token.text != "same":
            continue
        near = [idle[place] for place in range(i - 4, i + 6) if place in idle]
        for mention in near[:1]:
            for slot in reversed(([*slots, *made] or last)[-8:]):
                fields = mention.fields_for(slot.amount) if slot.amount else None
                if fields and slot.field not in fields:
                    places = (*range(mention.start, mention.end), i)
                    copies = [
                        replace(
                            slot,
                            field=name,
                            places=places,
                            start=min(places),
                            end=max(places) + 1,
                            corrects=False,
                        )
                        for name in fields
                    ]
                    made += copies
                    break
    return made
