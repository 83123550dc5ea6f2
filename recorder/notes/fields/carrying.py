"""What a sentence leaves open for the next one."""

from __future__ import annotations

from recorder.notes.fields.links import Link
from recorder.notes.fields.mentions import Mention
from recorder.notes.fields.scope import Scope, fillers
from recorder.notes.numbers.amounts import Amount
from recorder.notes.words.lexer import Tokens


def ends_correcting(tokens: Tokens, scope: Scope, amounts: list[Amount]) -> bool:
    """Whether a correction phrase comes last: "Sorry." (a pause) "One seventy two"."""
    if not scope.corrections or (amounts and amounts[-1].start > scope.corrections[-1].start):
        return False
    rest = tokens[scope.corrections[-1].end :]
    return all(t.text in fillers() or not t.text.isalnum() for t in rest)


def pending_of(
    tokens: Tokens,
    mentions: list[Mention],
    links: dict[int, Link],
    amounts: list[Amount],
    scope: Scope,
) -> Mention | None:
    """The last trade word, when nothing but small words follows it."""
    if not mentions or (amounts and amounts[-1].start > mentions[-1].start):
        return None
    last = mentions[-1]
    if last.only_after or last.needs_unit:
        return None
    if any(link.mention == last for link in links.values()):
        return None
    rest = tokens[last.end :]
    if any(t.text not in fillers() and t.text.isalnum() for t in rest):
        return None
    if scope.clause_of[last.start] in scope.barred:
        return None
    return last
