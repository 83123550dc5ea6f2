"""Numbers put into the fields that the words around them name."""

from __future__ import annotations

from dataclasses import dataclass, replace

from recorder.model.fields import FIELDS
from recorder.model.units import UNITS
from recorder.notes.amounts import Amount, amounts_of
from recorder.notes.carrying import ends_correcting, pending_of
from recorder.notes.lexer import Tokens
from recorder.notes.links import Link, links_of
from recorder.notes.mentions import Mention, fits, mentions_of
from recorder.notes.mishearing import misheard_digits, misheard_unit
from recorder.notes.neighbours import (
    ONLY_FIELD,
    belt_sizes,
    casts_doubt,
    may_be_twins,
    rest_of,
    stands_alone,
)
from recorder.notes.repeating import same_for
from recorder.notes.scope import (
    Scope,
    correction_before,
    fillers,
    is_no_value,
    is_time_of_day,
    scope_of,
)
from recorder.notes.slot import Slot, Told
from recorder.notes.values import TWINS, Habit, Resolved, resolve


@dataclass(frozen=True)
class Filled:
    """slots in the order told; told: for the next sentence; used: places that were understood."""

    slots: tuple[Slot, ...]
    told: Told
    used: frozenset[int]
    scope: Scope
    amounts: tuple[Amount, ...]


def fill(tokens: Tokens, told: Told, habit: Habit) -> Filled:
    """All numeric slots of one utterance."""
    mentions = mentions_of(tokens)
    covered = {i for m in mentions for i in range(m.start, m.end)}
    amounts = [
        a for a in amounts_of(tokens, heard=True) if not covered.issuperset(range(a.start, a.end))
    ]
    scope = scope_of(tokens, mentions)
    open_ = [a for a in amounts if _is_value(tokens, scope, a)]
    links = links_of(tokens, mentions, open_, scope)
    work = _Work(tokens, mentions, scope, habit, told)
    sizes = belt_sizes(tokens, open_)
    for amount in open_:
        if amount.start in sizes:
            work.put_size(sizes[amount.start], amount)
        else:
            work.take(amount, links.get(amount.start))
    again = same_for(tokens, mentions, links, work.slots, work.last)
    work.slots += again
    work.used |= {i for slot in again for i in slot.places}
    used = set(work.used) | _cue_places(scope)
    filled = {slot.field for slot in work.slots}
    for mention in mentions:
        if any(f in filled for fields in mention.options for f in fields):
            used |= set(range(mention.start, mention.end))
    pending = pending_of(tokens, mentions, links, amounts, scope)
    last = tuple(work.last)
    told = Told(last, pending, ends_correcting(tokens, scope, amounts))
    return Filled(tuple(work.slots), told, frozenset(used), scope, tuple(amounts))


def _is_value(tokens: Tokens, scope: Scope, amount: Amount) -> bool:
    if scope.clause_of[amount.start] in scope.barred or is_time_of_day(tokens, scope, amount):
        return False
    return not is_no_value(tokens, amount)


def _cue_places(scope: Scope) -> set[int]:
    return {i for hit in scope.corrections for i in range(hit.start, hit.end)}


class _Work:
    """The slots of one utterance while they are found, from left to right."""

    def __init__(
        self,
        tokens: Tokens,
        mentions: list[Mention],
        scope: Scope,
        habit: Habit,
        told: Told,
    ) -> None:
        self.tokens, self.scope, self.habit, self.told = tokens, scope, habit, told
        self.slots: list[Slot] = []
        self.last: list[Slot] = list(told.last)
        self.used: set[int] = set()
        self._group: Link | None = None
        self._group_end = -1
        # Sentences that name one platen alone, for both of something: "top 175 for both".
        alone: dict[int, set[str]] = {}
        for mention in mentions:
            names = {f[0] for f in mention.options if len(f) == 1 and f[0] in TWINS}
            alone.setdefault(scope.sentence_of(mention.start), set()).update(names)
        boths = {
            scope.sentence_of(i)
            for i in range(1, len(tokens))
            if tokens[i].text == "both" and tokens[i - 1].text in {"for", "on", "in", "with"}
        }
        self.both_of_one = {n for n in boths if len(alone.get(n, ())) == 1}
        # Sentences that name one platen by itself.
        self.single = {
            scope.sentence_of(mention.start)
            for mention in mentions
            if any(len(f) == 1 and f[0] in TWINS for f in mention.options)
        }

    def take(self, amount: Amount, link: Link | None) -> None:
        corrects = correction_before(self.tokens, self.scope, amount) or self._carried_on(amount)
        if link is not None:
            led = corrects or self._correction_leads(link)
            self._put(link.fields, amount, link.mention, led, ())
            if link.passed or self._both_of_else(link):
                self._doubt_last(amount)
            self._group = link if len(link.fields) > 1 else None
            self._group_end = amount.end
            return
        if self._continues_group(amount):
            return
        if corrects and self._correct(amount):
            return
        if self._answers_pending(amount):
            return
        if not self._strays(amount) and not self._follows(amount):
            self._by_unit_alone(amount)

    def put_size(self, field: str, amount: Amount) -> None:
        """One side of "belt 70 x 2 mm"."""
        self._put((field,), amount, None, correction_before(self.tokens, self.scope, amount), ())

    def _both_of_else(self, link: Link) -> bool:
        """As in "two splices, both at 172 on top": then it is not both platens."""
        fields, sentence = link.fields, self.scope.sentence_of(link.amount.start)
        return len(fields) > 1 and link.mention.weak and sentence in self.single

    def _strays(self, amount: Amount) -> bool:
        """A number that belongs to nothing makes the one beside it doubtful: "107, 8 degrees"."""
        latest = self.slots[-1] if self.slots else None
        if latest is None or latest.amount is None or not fits(latest.field, amount):
            return False
        if not casts_doubt(self.tokens, self.scope, latest, latest.amount, amount):
            return False
        self._doubt_last(latest.amount)
        return True

    def _follows(self, amount: Amount) -> bool:
        """As in "Top platen 100." (a pause) "And 87 degrees": perhaps the rest of the last one."""
        last = self.last[-1] if self.last and not self.slots else None
        if last is None or not self._opens(amount) or not fits(last.field, amount):
            return False
        rest = rest_of(self.tokens, last, amount)
        if rest is None and amount.unit is None and not stands_alone(self.tokens, last, amount):
            return False
        doubts = (f"it is not sure that this is the {FIELDS[last.field].label.lower()}",)
        return self._put((last.field,), rest or amount, None, False, doubts)

    def _doubt_last(self, amount: Amount) -> None:
        doubt = "another number stands beside it"
        for i in range(-min(len(self.last), len(self.slots)), 0):
            slot = self.slots[i]
            if slot.amount == amount:
                self.slots[i] = replace(slot, unsettled=(*slot.unsettled, doubt))

    def _carried_on(self, amount: Amount) -> bool:
        """A correction phrase ended the last utterance: "Sorry." (a pause) "One seventy two"."""
        return self.told.correcting and not self.slots and self._opens(amount)

    def _opens(self, amount: Amount) -> bool:
        """Whether only small words stand before the amount."""
        if amount.start > 8:
            return False
        cues = _cue_places(self.scope)
        before = enumerate(self.tokens[: amount.start])
        return all(t.text in fillers() or not t.text.isalnum() or i in cues for i, t in before)

    def _correction_leads(self, link: Link) -> bool:
        first = min(link.mention.start, link.amount.start)
        return any(hit.end <= first and first - hit.end <= 3 for hit in self.scope.corrections[-8:])

    def _put(
        self,
        fields: tuple[str, ...],
        amount: Amount,
        mention: Mention | None,
        corrects: bool,
        doubts: tuple[str, ...],
    ) -> bool:
        made = [
            slot
            for name in fields
            if (slot := self._slot(name, amount, mention, corrects, doubts)) is not None
        ]
        self.slots += made
        if made:
            self.last = made
            self.used |= {i for slot in made for i in slot.places}
        return bool(made)

    def _slot(
        self,
        name: str,
        amount: Amount,
        mention: Mention | None,
        corrects: bool,
        doubts: tuple[str, ...],
    ) -> Slot | None:
        if amount.unit is None and mention is not None and amount.end < len(self.tokens):
            after = self.tokens[amount.end]
            unit = misheard_unit(after, UNITS[FIELDS[name].unit or ""].dimension)
            if unit:
                amount = replace(amount, unit=unit, end=amount.end + 1)
                doubts = (*doubts, f"heard as {after.raw!r}, taken as {UNITS[unit].symbol}")
        resolved = resolve(name, amount, self.habit)
        if resolved is None:
            return None
        spans = [range(amount.start, amount.end)]
        if mention is not None and mention.start >= 0:
            spans.append(range(mention.start, mention.end))
        places = tuple(sorted(i for span in spans for i in span))
        changes = self.scope.sentence_of(amount.start) in self.scope.changes
        return Slot(
            name,
            resolved.value,
            places[0],
            places[-1] + 1,
            places,
            resolved.as_said,
            amount,
            doubts + self._doubts(mention, resolved),
            self._unsettled(amount, changes),
            resolved.candidates,
            corrects,
            changes,
        )

    def _doubts(self, mention: Mention | None, resolved: Resolved) -> tuple[str, ...]:
        if mention is None or not mention.repaired:
            return resolved.doubts
        heard = " ".join(t.raw for t in self.tokens[mention.start : mention.end] if t.raw != ",")
        return (*resolved.doubts, f"heard as {heard!r}" if heard else "heard as another word")

    def _unsettled(self, amount: Amount, changes: bool) -> tuple[str, ...]:
        doubts = []
        if amount.ranged and not changes:
            doubts.append("a range was told, not one value")
        if self.scope.clause_of[amount.start] in self.scope.unsure:
            doubts.append("told as a guess or a question")
        if self.scope.sentence_of(amount.start) in self.both_of_one:
            doubts.append("it is not sure what 'both' is")
        doubts += self.scope.remarks.get(self.scope.sentence_of(amount.start), ())
        doubts += misheard_digits(self.tokens, amount)
        return tuple(doubts)

    def _continues_group(self, amount: Amount) -> bool:
        """As in "top and bottom 172 and 168": the second number is for the second field."""
        link = self._group
        if link is None or len(self.last) < 2 or self.last[0] not in self.slots:
            return False
        between = {t.text for t in self.tokens[self._group_end : amount.start]}
        joined = between <= {"and", ",", "/"} and bool(between & {"and", "/"})
        if not joined or not fits(link.fields[1], amount):
            return False
        second = self._slot(link.fields[1], amount, link.mention, False, ())
        if second is None:
            return False
        self.slots[-1] = second
        self.last[-1] = second
        first = self.slots[-2]
        if not may_be_twins(first, second):
            doubt = "one number for both platens, or two"
            self.slots[-2:] = [
                replace(slot, unsettled=(*slot.unsettled, doubt)) for slot in (first, second)
            ]
            self.last[-2:] = self.slots[-2:]
        self.used |= set(second.places)
        self._group = None
        return True

    def _correct(self, amount: Amount) -> bool:
        """The number replaces the last one that it can replace."""
        targets = [slot for slot in self.last if fits(slot.field, amount)]
        doubts: tuple[str, ...] = ()
        if not targets:
            earlier = [s for s in self.slots if s.amount and fits(s.field, amount)][-1:]
            targets, doubts = earlier, ("it is not sure which value this corrects",)
        if not targets:
            return False
        if amount.unit is None and targets[0].amount is not None:
            amount = _with_unit_of(amount, targets[0])
        return self._put(tuple(s.field for s in targets), amount, None, True, doubts)

    def _answers_pending(self, amount: Amount) -> bool:
        """A trade word ended the last utterance: "Top platen" (a pause) "172 degrees"."""
        mention = self.told.pending
        if mention is None or self.slots or not self._opens(amount):
            return False
        fields = mention.fields_for(amount)
        if fields is None:
            return False
        here = Mention(mention.options, -1, -1, mention.weak, mention.repaired)
        return self._put(fields, amount, here, self.told.asked is not None, ())

    def _by_unit_alone(self, amount: Amount) -> None:
        dimension = UNITS[amount.unit].dimension if amount.unit else ""
        name = ONLY_FIELD.get(dimension)
        if name:
            label = FIELDS[name].label.lower()
            self._put((name,), amount, None, False, (f"taken as {label} by its unit alone",))


def _with_unit_of(amount: Amount, target: Slot) -> Amount:
    """As in "175 degrees Celsius, no, 172": the unit goes on, said or not."""
    unit = target.as_said.unit if target.as_said else FIELDS[target.field].unit
    return replace(amount, unit=unit)
