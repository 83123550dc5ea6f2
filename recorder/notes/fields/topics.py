"""What a number without a trade word of its own is about: what was spoken of just before it."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass

from recorder.model.units import UNITS
from recorder.notes.fields.mentions import Mention, fits
from recorder.notes.fields.neighbours import ONLY_FIELD, counts
from recorder.notes.fields.saying import Saying
from recorder.notes.fields.scope import Scope, fillers
from recorder.notes.fields.slot import Slot
from recorder.notes.fields.values import plausible
from recorder.notes.numbers.amounts import Amount
from recorder.notes.words.lexer import Sort, Tokens
from recorder.notes.words.vocabulary import speech

_BACK = 3  # trade words or numbers that are looked at, from the number back
_MOST_CHANGED = 3.0  # times; further than that no setting is changed in one go
_ITEM = 9  # tokens
_AGE = 1  # utterances after which nobody says "it" of a setting any more
# A bare number from here on is no count, and in a record of a press it is a temperature.
_LARGE = 100.0


@dataclass(frozen=True)
class Topic:
    """fields: what the number is for. mention: by which word. like: an amount whose unit it takes
    when it has none. sure: the words around leave no other meaning. replaces: an earlier value of
    the same fields was told.
    """

    fields: tuple[str, ...]
    mention: Mention | None
    like: Amount | None
    sure: bool
    replaces: bool


def topic_of(
    saying: Saying, amount: Amount, last: list[Slot], since: int, corrects: bool
) -> Topic | None:
    """What the number is about; None when nothing tells.

    As in "target top 178, actual 174", "we asked for two bar, used 1.8", "top was 175 but now
    178", "bottom plate is lagging, 183". A word of use ("actual", "used", "now") makes it sure.
    last: the slots of the last number. since: utterances that went by after them. corrects: a word
    of correction leads to the number.
    """
    tokens, scope, mentions = saying.tokens, saying.scope, saying.mentions
    cue, touches = _cue(tokens, amount, scope)
    if corrects:
        cue, touches = "uses", True
    sentence = scope.sentence_of(amount.start)
    mention = _mention_before(saying, amount)
    rivals = [a for a in _before(amount, saying.amounts) if scope.sentence_of(a.start) == sentence]
    if mention is not None:
        fields = mention.fields_for(amount) or ()
        fitting = [a for a in rivals if fits(fields[0], a)]
        earlier = [a for a in fitting if a.start >= mention.end]
        earlier = earlier or [a for a in fitting if a.end <= mention.start and _is_near(a, mention)]
        return _by_mention(saying, amount, mention, fields, earlier[-1:], cue)
    for rival in reversed(rivals):
        field = ONLY_FIELD.get(UNITS[rival.unit].dimension) if rival.unit in UNITS else None
        if field and rival.start in saying.closed and fits(field, amount) and (cue or amount.unit):
            return Topic((field,), None, rival, True, True)
    place = bisect_left(mentions, amount.end, key=lambda mention: mention.start)
    later = [m for m in mentions[place : place + 1] if scope.sentence_of(m.start) == sentence]
    if any(mention.fields_for(amount) for mention in later):
        return None
    told = saying.told
    if touches and cue == "uses" and told.subject is not None and not mentions:
        subject = told.subject.fields_for(amount)
        likely = amount.unit is not None or told.like is not None
        if subject and likely:
            return Topic(subject, None, told.like, True, False)
    if touches and since <= _AGE and last and all(fits(slot.field, amount) for slot in last):
        if amount.unit is None and not _goes_on_from(tokens, amount, last[0].amount):
            return None
        # A display passes all temperatures while the press cools.
        if cue == "reads" and last[0].field == "cool_down_temperature":
            return None
        return Topic(tuple(s.field for s in last), None, last[0].amount, cue == "uses", True)
    return None


def _goes_on_from(tokens: Tokens, amount: Amount, last: Amount | None) -> bool:
    """Whether a bare number can be the last one changed: it ends its clause and is of its size."""
    after = tokens[amount.end] if amount.end < len(tokens) else None
    ends = after is None or after.sort is Sort.SIGN
    ends = ends or any(speech(key).at(tokens, amount.end) for key in ("uses", "clause_words"))
    if last is None or not ends or last.value == 0:
        return False
    return 1 / _MOST_CHANGED <= abs(amount.value / last.value) <= _MOST_CHANGED


def _by_mention(
    saying: Saying,
    amount: Amount,
    mention: Mention,
    fields: tuple[str, ...],
    earlier: list[Amount],
    cue: str,
) -> Topic | None:
    tokens, scope = saying.tokens, saying.scope
    rival = earlier[0] if earlier else None
    if amount.unit is None and not amount.clock and counts(tokens, amount):
        return None
    if rival is not None:
        barred = rival.start in saying.closed
        if not cue and not (barred and (amount.unit or _looks_like(fields[0], amount))):
            return None
        return Topic(fields, mention, rival, cue == "uses" or barred, True)
    if scope.clause_of[mention.start] in scope.barred and cue != "uses":
        return None
    if amount.unit is None and not cue and not _looks_like(fields[0], amount):
        return None
    listed = amount.unit is not None and _is_alone(tokens, amount, scope)
    sure = bool(cue) or listed or (amount.unit is None and amount.value >= _LARGE)
    return Topic(fields, mention, None, sure, False)


def _is_alone(tokens: Tokens, amount: Amount, scope: Scope) -> bool:
    """Whether the amount is all that its clause tells."""
    clause = scope.clauses[scope.clause_of[amount.start]]
    rest = [*tokens[clause.start : amount.start][-_ITEM:], *tokens[amount.end : clause.end][:_ITEM]]
    return all(t.text in fillers() or not t.text.isalnum() for t in rest)


def _looks_like(field: str, amount: Amount) -> bool:
    return plausible(field, amount.value) and (amount.value >= _LARGE or amount.value % 1 != 0)


def _cue(tokens: Tokens, amount: Amount, scope: Scope) -> tuple[str, bool]:
    """The list in which a word of use stands, in the number's clause, and whether only small
    words are between them; an empty name when none does.
    """
    clause = scope.clauses[scope.clause_of[amount.start]]
    # "Now" opens a clause, and may yet be the last word of this one.
    after = range(amount.end, min(max(clause.end, amount.end + 1), amount.end + 4, len(tokens)))
    near = [*range(max(clause.start, amount.start - 9), amount.start), *after]
    for key in ("uses", "reads"):
        hits = [hit for i in near if (hit := speech(key).at(tokens, i))]
        if hits:
            touches = any(
                hit.start >= amount.end or _all_small(tokens, hit.end, amount.start) for hit in hits
            )
            return key, touches
    return "", False


def _all_small(tokens: Tokens, start: int, end: int) -> bool:
    return all(token.text in fillers() for token in tokens[start:end])


def _before(amount: Amount, amounts: list[Amount]) -> list[Amount]:
    place = bisect_left(amounts, amount.start, key=lambda a: a.start)
    return amounts[max(0, place - _BACK) : place]


def _is_near(amount: Amount, mention: Mention) -> bool:
    return mention.start - amount.end <= 1


def _mention_before(saying: Saying, amount: Amount) -> Mention | None:
    """The last trade word before the number, in its sentence, that can name it.

    A word that names only a number before it ("thick") counts when it had one that was no value.
    """
    mentions, scope = saying.mentions, saying.scope
    place = bisect_left(mentions, amount.start, key=lambda mention: mention.start)
    for mention in reversed(mentions[max(0, place - _BACK) : place]):
        if scope.sentence_of(mention.start) != scope.sentence_of(amount.start):
            break
        had = [a for a in _before(amount, saying.amounts) if a.end == mention.start]
        behind = mention.only_after and not any(a.start in saying.closed for a in had)
        if mention.fields_for(amount) and not mention.repaired and not behind:
            return mention
    return None
