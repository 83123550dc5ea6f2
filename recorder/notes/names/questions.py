"""What somebody asks himself before he tells it: "How thick?" "One point two."."""

from __future__ import annotations

from dataclasses import replace

from recorder.model.fields import FIELDS, Kind
from recorder.notes.fields.mentions import Mention
from recorder.notes.fields.slot import Told
from recorder.notes.words.lexer import Tokens
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import Phrases, vocabulary


@kept
def _questions() -> Phrases[str]:
    table: dict[str, list[str]] = vocabulary().get("questions", {})
    return Phrases((phrase, field) for field, phrases in table.items() for phrase in phrases)


def wondering(tokens: Tokens, told: Told) -> Told:
    """``told`` with the field that a question at the end of the words is about."""
    if not tokens or tokens[-1].text != "?":
        return told
    hits = [hit for hit in _questions().all(tokens) if hit.end == len(tokens) - 1]
    if not hits:
        return told
    field = hits[-1].meanings[0]
    if FIELDS[field].kind is Kind.QUANTITY:
        return replace(told, pending=Mention(((field,),), -1, -1))
    return replace(told, asked=field, wondered=True)
