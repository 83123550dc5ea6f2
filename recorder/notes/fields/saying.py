"""One utterance with all that stands in it, as the rules over its numbers need it."""

from __future__ import annotations

from dataclasses import dataclass

from recorder.notes.fields.mentions import Mention
from recorder.notes.fields.scope import Scope
from recorder.notes.fields.slot import Told
from recorder.notes.numbers.amounts import Amount
from recorder.notes.words.lexer import Tokens


@dataclass(frozen=True)
class Saying:
    """mentions, amounts: from left to right. closed: places of the numbers that are no values.
    told: what came before.
    """

    tokens: Tokens
    mentions: list[Mention]
    amounts: list[Amount]
    closed: frozenset[int]
    scope: Scope
    told: Told
