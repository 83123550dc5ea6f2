"""Which number belongs to which trade word."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass

from recorder.model.fields import FIELDS
from recorder.model.units import UNITS, convert
from recorder.notes.fields.mentions import Mention, fits
from recorder.notes.fields.mishearing import misheard_unit
from recorder.notes.fields.neighbours import counts
from recorder.notes.fields.scope import Scope, fillers
from recorder.notes.fields.values import plausible
from recorder.notes.numbers.amounts import Amount
from recorder.notes.numbers.unit_words import is_unit_word
from recorder.notes.words.lexer import Sort, Tokens
from recorder.notes.words.vocabulary import words

_TOUCHING = 10.0
# "Top 172 bottom 168": at equal distance the word before the number wins.
_WORD_FIRST = 0.5
_WORST = 4.0
_FILLER, _AND, _COMMA, _OTHER = 0.1, 0.6, 1.0, 2.0
_BARE = 2.0  # a number with a unit comes before one without
_CLOSE = 6.0  # no link further than this pushes another one aside
_LONGEST_CHAIN = 6
_REACH = 12  # tokens
_NEAR = 3
_SMALL = 0.35  # the cost of that many small words
_SKIP = 3  # mentions or amounts that a link may pass over

_Name = tuple[int, tuple[str, ...]]


@dataclass(frozen=True)
class Link:
    """An amount with the mention that names it. fields: chosen by the amount's dimension.
    passed: another number stands between them.
    """

    mention: Mention
    amount: Amount
    fields: tuple[str, ...]
    score: float
    passed: bool = False

    @property
    def name(self) -> _Name:
        """The mention in the one of its senses that this link uses."""
        return self.mention.start, self.fields


def links_of(
    tokens: Tokens, mentions: list[Mention], amounts: list[Amount], scope: Scope
) -> dict[int, Link]:
    """The best links by the amount's place: each mention and amount is in at most one of them."""
    options = {
        amount.start: _candidates(tokens, mentions, amounts, n, scope)
        for n, amount in enumerate(amounts)
    }
    ranked = sorted(
        (link for links in options.values() for link in links),
        key=lambda link: (-link.score, link.amount.start),
    )
    chosen: dict[int, Link] = {}
    owners: dict[_Name, int] = {}
    for link in ranked:
        if link.amount.start not in chosen and link.name not in owners:
            chosen[link.amount.start] = link
            owners[link.name] = link.amount.start
    for start, links in options.items():
        if start not in chosen:
            _make_room(start, links, options, chosen, owners, _LONGEST_CHAIN)
    return chosen


def _make_room(
    start: int,
    links: list[Link],
    options: dict[int, list[Link]],
    chosen: dict[int, Link],
    owners: dict[_Name, int],
    depth: int,
) -> bool:
    """As in "172 top 168 bottom": an amount moves on to its other word so that each has one."""
    for link in links:
        if link.score < _CLOSE:
            continue
        owner = owners.get(link.name)
        if owner is not None:
            others = [other for other in options[owner] if other.name != link.name]
            if depth == 0 or not _make_room(owner, others, options, chosen, owners, depth - 1):
                continue
        chosen[start] = link
        owners[link.name] = start
        return True
    return False


def _candidates(
    tokens: Tokens, mentions: list[Mention], amounts: list[Amount], n: int, scope: Scope
) -> list[Link]:
    amount = amounts[n]
    found: list[Link] = []
    place = bisect_left(mentions, amount.start, key=lambda mention: mention.start)
    before = [m for m in reversed(mentions[max(0, place - _SKIP) : place]) if not m.only_after]
    for mention in before:
        link = _link(tokens, mention, amount, amounts, n, scope, _TOUCHING + _WORD_FIRST)
        if link:
            found.append(link)
            break
    for mention in mentions[place : place + _SKIP]:
        link = _link(tokens, mention, amount, amounts, n, scope, _TOUCHING)
        if link:
            found.append(link)
            break
    return found


def _link(
    tokens: Tokens,
    mention: Mention,
    amount: Amount,
    amounts: list[Amount],
    n: int,
    scope: Scope,
    best: float,
) -> Link | None:
    fields = mention.fields_for(amount)
    before = mention.end <= amount.start
    low, high = (mention.end, amount.start) if before else (amount.end, mention.start)
    reach = _reach(mention)
    if fields is None or not 0 <= high - low <= reach:
        return None
    if scope.sentence_of(mention.start) != scope.sentence_of(amount.start):
        return None
    others = amounts[max(0, n - _SKIP) : n] if before else amounts[n + 1 : n + 1 + _SKIP]
    between = [a for a in others if low <= a.start < high]
    # "Preheat eighty five for two minutes": each is for a sense of its own.
    between = [a for a in between if a.unit or mention.fields_for(a) in (None, fields)]
    passed = any(_may_be_passed(tokens, a, amount) for a in between)
    rivals = [a for a in between if _same_kind(a, amount) and fits(fields[0], a)]
    if any(not _may_be_passed(tokens, a, amount) for a in rivals):
        return None
    cost = _cost(tokens, low, high, between)
    if mention.needs_unit and cost > _SMALL:
        return None
    score = best - cost
    bare = amount.unit is None and not amount.clock
    if bare and not _may_be_bare(tokens, mention, amount, fields, before, score):
        return None
    if bare:
        score -= _BARE
    return Link(mention, amount, fields, score, passed) if score >= _WORST else None


def _reach(mention: Mention) -> int:
    """How far the number may be, in tokens; an everyday word has but small ones before it."""
    if mention.only_after:
        return 0
    if mention.needs_unit:
        return 0 if mention.only_after else _NEAR
    return _REACH


def _may_be_passed(tokens: Tokens, bare: Amount, amount: Amount) -> bool:
    """As in "cycle one took 11 minutes": the number with a unit is the value."""
    if bare.unit is not None or amount.unit is None or bare.end >= amount.start or bare.clock:
        return False
    between = tokens[bare.end : amount.start]
    return len(between) > 0 and all(t.text in fillers() and t.text != "and" for t in between)


def _same_kind(a: Amount, b: Amount) -> bool:
    return a.unit is None or b.unit is None or a.unit == b.unit


def _cost(tokens: Tokens, low: int, high: int, between: list[Amount]) -> float:
    cost = 0.0
    inside = {i for a in between for i in range(a.start, a.end)}
    for i in range(low, high):
        token = tokens[i]
        if i in inside:
            cost += _FILLER
        elif token.text == ",":
            cost += _COMMA
        elif token.text == "and":
            cost += _AND
        elif token.text in fillers() or token.sort is Sort.SIGN:
            cost += _FILLER
        else:
            cost += _OTHER
    return cost


def _may_be_bare(
    tokens: Tokens,
    mention: Mention,
    amount: Amount,
    fields: tuple[str, ...],
    before: bool,
    score: float,
) -> bool:
    """A number without a unit: nothing is counted by it, and it stands close to the trade word."""
    after = tokens[amount.end] if amount.end < len(tokens) else None
    touches_mention = not before and mention.start == amount.end
    if counts(tokens, amount) and after is not None and not touches_mention:
        misheard = misheard_unit(after, UNITS[FIELDS[fields[0]].unit or ""].dimension)
        if misheard is None and not _goes_on(tokens, amount.end):
            return False
    if score < _TOUCHING - 2 * _COMMA:
        return False
    if mention.weak or not before:
        return any(plausible(fields[0], value) for value in _as_if(fields[0], amount))
    return True


def _goes_on(tokens: Tokens, i: int) -> bool:
    """The next word begins something new: a trade word, a correction, a clause."""
    return tokens[i].text in words("speech", "new_starts") or is_unit_word(tokens[i])


def _as_if(field: str, amount: Amount) -> list[float]:
    unit = FIELDS[field].unit or ""
    values = [amount.value, *([amount.value * 100] if amount.value % 1 else [])]
    likely = words("unsaid_units", UNITS[unit].dimension)
    return [convert(value, u, unit) for value in values for u in likely]
