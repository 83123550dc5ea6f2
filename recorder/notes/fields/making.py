"""A number and the field it is for, made into a slot: its unit, its doubts, its places."""

from __future__ import annotations

from dataclasses import replace

from recorder.model.fields import FIELDS
from recorder.model.units import UNITS
from recorder.notes.fields.mentions import Mention, unit_as_said
from recorder.notes.fields.mishearing import misheard_digits, misheard_unit
from recorder.notes.fields.saying import Saying
from recorder.notes.fields.scope import Scope, fillers
from recorder.notes.fields.slot import Slot
from recorder.notes.fields.values import TWINS, Habit, resolve, spoken_unit
from recorder.notes.numbers.amounts import Amount
from recorder.notes.numbers.unit_words import is_unit_word, unit_at
from recorder.notes.words.lexer import Tokens
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import words

# Said alone, these tell in which unit the numbers beside them are meant.
_TRAILING = {"degC", "degF", "bar", "mbar", "psi", "kPa", "MPa", "mm", "cm", "inch"}
_MOST_BESIDE = 1  # words of meaning in a clause that tells no more than a unit


class Maker:
    """Makes the slots of one utterance. habit: grows with each unit that is said."""

    def __init__(self, saying: Saying, habit: Habit) -> None:
        tokens, scope = saying.tokens, saying.scope
        self._tokens, self._scope = tokens, scope
        told = _units_alone(tokens, saying.amounts, scope)
        self.habit = replace(habit, units={**habit.units, **told}) if told else habit
        self._both_of_one = _both_of_one(tokens, saying.mentions, scope)

    def make(
        self,
        name: str,
        amount: Amount,
        mention: Mention | None = None,
        corrects: bool = False,
        changes: bool = False,
        doubts: tuple[str, ...] = (),
    ) -> Slot | None:
        """The slot of one field; None when the amount cannot be a value of it."""
        heard: tuple[str, ...] = ()
        if amount.unit is None and mention is not None and amount.end < len(self._tokens):
            after = self._tokens[amount.end]
            unit = misheard_unit(after, UNITS[FIELDS[name].unit or ""].dimension)
            if unit:
                amount = replace(amount, unit=unit, end=amount.end + 1)
                heard = (f"heard as {after.raw!r}, taken as {UNITS[unit].symbol}",)
        meant = replace(amount, unit=unit_as_said(self._tokens, amount))
        resolved = resolve(name, meant, self.habit)
        if resolved is None:
            return None
        spans = [range(amount.start, amount.end)]
        if mention is not None and mention.start >= 0:
            spans.append(range(mention.start, mention.end))
        places = tuple(sorted({i for span in spans for i in span}))
        changed = changes or self._scope.sentence_of(amount.start) in self._scope.changes
        if not resolved.doubts and meant.unit != "mil":
            units = spoken_unit(self.habit.units, name, amount)
            if units != self.habit.units:
                self.habit = replace(self.habit, units=units)
        unsure = (*doubts, *heard, *self._misheard(mention))
        return Slot(
            name,
            resolved.value,
            places[0],
            places[-1] + 1,
            places,
            resolved.as_said,
            meant,
            (*unsure, *resolved.doubts),
            self._unsettled(amount, mention, changed),
            resolved.candidates,
            corrects,
            changed,
            resolved.unit_open and not unsure,
        )

    def _misheard(self, mention: Mention | None) -> tuple[str, ...]:
        if mention is None or not mention.repaired:
            return ()
        heard = " ".join(t.raw for t in self._tokens[mention.start : mention.end] if t.raw != ",")
        return (f"heard as {heard!r}" if heard else "heard as another word",)

    def _unsettled(self, amount: Amount, mention: Mention | None, changes: bool) -> tuple[str, ...]:
        doubts = []
        sentence = self._scope.sentence_of(amount.start)
        if amount.ranged and not changes:
            doubts.append("a range was told, not one value")
        if self._scope.clause_of[amount.start] in self._scope.unsure:
            doubts.append("told as a guess or a question")
        if sentence in self._both_of_one:
            doubts.append("it is not sure what 'both' is")
        said_of = [amount.start, *([mention.start] if mention and mention.start >= 0 else [])]
        for place in said_of:
            doubts += self._scope.remarks.get(self._scope.clause_of[place], ())
        doubts += misheard_digits(self._tokens, amount)
        return tuple(doubts)


def _both_of_one(tokens: Tokens, mentions: list[Mention], scope: Scope) -> set[int]:
    """Sentences that name one platen alone, for both of something: "top 175 for both"."""
    alone: dict[int, set[str]] = {}
    for mention in mentions:
        names = {f[0] for f in mention.options if len(f) == 1 and f[0] in TWINS}
        alone.setdefault(scope.sentence_of(mention.start), set()).update(names)
    both = _both()
    boths = {
        scope.sentence_of(i)
        for i in range(1, len(tokens))
        if tokens[i].text in both and tokens[i - 1].text in words("speech", "before_both")
    }
    return {n for n in boths if len(alone.get(n, ())) == 1}


@kept
def _both() -> frozenset[str]:
    return frozenset(words("speech", "both"))


def _units_alone(tokens: Tokens, amounts: list[Amount], scope: Scope) -> dict[str, str]:
    """Units told without a number, by dimension: "top 340, bottom 342, Fahrenheit"."""
    inside = {i for amount in amounts for i in range(amount.start, amount.end)}
    found: dict[str, str] = {}
    for clause in scope.clauses:
        i = clause.start
        while i < clause.end:
            alone = i not in inside and is_unit_word(tokens[i])
            unit = unit_at(tokens, i) if alone else None
            if unit and unit[0] in _TRAILING:
                places = set(range(i, unit[1]))
                rest = [j for j in range(clause.start, clause.end) if j not in places | inside]
                beside = sum(
                    tokens[j].text not in fillers() for j in rest if tokens[j].text.isalnum()
                )
                if beside <= _MOST_BESIDE:
                    found[UNITS[unit[0]].dimension] = unit[0]
            i = unit[1] if unit else i + 1
    return found
