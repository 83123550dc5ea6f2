"""Numbers put into the fields that the words around them name."""

from __future__ import annotations

from dataclasses import dataclass

from recorder.notes.fields.assigning import Assignment
from recorder.notes.fields.carrying import ends_correcting, pending_of
from recorder.notes.fields.links import links_of
from recorder.notes.fields.marks import marks_of
from recorder.notes.fields.mentions import Mention, mentions_of
from recorder.notes.fields.repeating import same_for
from recorder.notes.fields.saying import Saying
from recorder.notes.fields.scope import Scope, is_no_value, is_time_of_day, scope_of
from recorder.notes.fields.sizes import sizes_of
from recorder.notes.fields.slot import Slot, Told
from recorder.notes.fields.values import Habit, plausible
from recorder.notes.numbers.amounts import Amount, amounts_of
from recorder.notes.words.lexer import Sort, Tokens
from recorder.notes.words.vocabulary import words


@dataclass(frozen=True)
class Filled:
    """slots in the order told; told: for the next sentence; used: places that were understood.
    habit: with the units that were said.
    """

    slots: tuple[Slot, ...]
    told: Told
    used: frozenset[int]
    scope: Scope
    amounts: tuple[Amount, ...]
    habit: Habit


def fill(tokens: Tokens, told: Told, habit: Habit) -> Filled:
    """All numeric slots of one utterance."""
    mentions = mentions_of(tokens)
    covered = {i for m in mentions for i in range(m.start, m.end)}
    named = {m.end for m in mentions if not m.only_after and _counts_from_one(m)}
    amounts = [
        amount
        for amount in amounts_of(tokens, heard=True)
        if not covered.issuperset(range(amount.start, amount.end))
        and not _is_pronoun(tokens, amount, named)
    ]
    scope = scope_of(tokens, mentions)
    mentions = _without_groups(mentions, scope)
    marks, pair = marks_of(tokens, amounts, scope, told)
    fixed = {**sizes_of(tokens, amounts, scope), **marks}
    open_ = [a for a in amounts if a.start not in fixed and _is_value(tokens, scope, a, covered)]
    links = links_of(tokens, mentions, open_, scope)
    closed = frozenset({a.start for a in amounts} - {a.start for a in open_} - set(fixed))
    saying = Saying(tokens, mentions, amounts, closed, scope, told)
    work = Assignment(saying, habit)
    for amount in sorted([*open_, *(a for _, a in fixed.values())], key=lambda a: a.start):
        if amount.start in fixed:
            work.put_fixed(fixed[amount.start][0], amount)
        else:
            work.take(amount, links.get(amount.start))
    again, same = same_for(tokens, mentions, links, work.slots, work.last, told.same)
    work.slots += again
    work.used |= {i for slot in again for i in slot.places}
    used = set(work.used) | {i for hit in scope.corrections for i in range(hit.start, hit.end)}
    filled = {slot.field for slot in work.slots} | {field for field, _ in same}
    for mention in mentions:
        if any(f in filled for fields in mention.options for f in fields):
            used |= set(range(mention.start, mention.end))
    subject, like = _subject(mentions, amounts, closed) if not work.slots else (None, None)
    told = Told(
        subject=subject,
        like=like,
        last=tuple(work.last),
        pending=pending_of(tokens, mentions, links, amounts, scope),
        correcting=ends_correcting(tokens, scope, amounts),
        pair=pair,
        since=0 if work.slots else told.since + 1,
        same=same,
    )
    slots = tuple(work.slots)
    return Filled(slots, told, frozenset(used), scope, tuple(amounts), work.habit)


def _without_groups(mentions: list[Mention], scope: Scope) -> list[Mention]:
    """As in "the plates at 186 top, 184 bottom": where each is named, both together are not."""
    single: dict[int, set[str]] = {}
    for mention in mentions:
        names = {fields[0] for fields in mention.options if len(fields) == 1}
        single.setdefault(scope.sentence_of(mention.start), set()).update(names)
    return [
        mention
        for mention in mentions
        if not set(mention.options[0]) <= single[scope.sentence_of(mention.start)]
        or len(mention.options[0]) == 1
    ]


def _subject(
    mentions: list[Mention], amounts: list[Amount], closed: frozenset[int]
) -> tuple[Mention | None, Amount | None]:
    """What was spoken of without a value: "pressure was supposed to be two bar"."""
    mention = mentions[-1] if mentions and not mentions[-1].only_after else None
    if mention is None:
        return None, None
    fitting = [a for a in amounts[-2:] if a.start in closed and mention.fields_for(a)]
    return mention, fitting[-1] if fitting else None


def _counts_from_one(mention: Mention) -> bool:
    """Not as in "the bottom one", which is no degree Celsius."""
    return not mention.weak or plausible(mention.options[0][0], 1.0)


def _is_pronoun(tokens: Tokens, amount: Amount, named: set[int]) -> bool:
    """As in "this one", "a heavy one"; not "gap one", "it is one".

    named: the places right behind trade words of which a one can be the value.
    """
    if amount.unit is not None or amount.end - amount.start != 1 or amount.start in named:
        return False
    before = tokens[amount.start - 1] if amount.start else None
    if tokens[amount.start].text not in words("speech", "pronouns") or before is None:
        return False
    return before.sort is Sort.WORD and before.text not in words("speech", "before_numbers")


def _is_value(tokens: Tokens, scope: Scope, amount: Amount, covered: set[int]) -> bool:
    if scope.clause_of[amount.start] in scope.barred or is_time_of_day(tokens, scope, amount):
        return False
    return not is_no_value(tokens, amount, amount.start - 1 in covered)
