"""A draft as the job card that the program reads: job.toml."""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import datetime

from recorder.flows import card_length
from recorder.flows.knowhow.card_words import against, text_of, typed_text
from recorder.flows.knowhow.drafting import Draft, Filled


def text(draft: Draft, now: datetime) -> str:
    """TOML, with where each value came from behind it. now: with zone."""
    lines = [f"# Job card, made {now:%Y-%m-%d %H:%M}.", *_values(draft.used)]
    if draft.asked:
        lines += ["", "[asked]", *_values(draft.asked)]
    meant = {each.field: each for each in draft.known.deviations if each.field in draft.meant}
    if meant:
        lines += ["", "[meant]"]
        lines += [
            f"{name} = {_quoted(typed_text(name, each.value))}  # not {_plain(against(each))}"
            for name, each in meant.items()
        ]
    held = draft.known.held
    if held:
        settings = ((name, typed_text(name, value)) for name, value in held.settings.items())
        lines += ["", f"[recipe]  # {_plain(held.whence)}"]
        lines += [f"{name} = {_quoted(value)}" for name, value in settings]
    if draft.length:
        lines += ["", f"[{card_length.TABLE}]"]
        table = card_length.written(draft.length)
        lines += [f"{name} = {_quoted(value)}" for name, value in table.items()]
    return "\n".join(lines) + "\n"


def _values(filled: Iterable[Filled]) -> list[str]:
    return [
        f"{each.reading.field} = {_quoted(text_of(each.reading))}  # {_plain(each.whence)}"
        for each in filled
    ]


def _quoted(value: str) -> str:
    """A basic string of TOML, whose escapes are those of JSON."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def _plain(comment: str) -> str:
    return " ".join("".join(c if c.isprintable() else " " for c in comment).split())
