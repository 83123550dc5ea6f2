"""Each number of an utterance given to its field: by its trade word, or by what went before it."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import replace

from recorder.model.fields import FIELDS, Level
from recorder.model.units import UNITS, convert
from recorder.notes.fields.alone import by_unit_alone
from recorder.notes.fields.links import Link
from recorder.notes.fields.making import Maker
from recorder.notes.fields.mentions import Mention, fits, unit_as_said
from recorder.notes.fields.neighbours import (
    casts_doubt,
    counts,
    may_be_twins,
    rest_of,
    stands_alone,
)
from recorder.notes.fields.saying import Saying
from recorder.notes.fields.scope import Scope, correction_before, fillers
from recorder.notes.fields.slot import Slot
from recorder.notes.fields.topics import topic_of
from recorder.notes.fields.values import TWINS, Habit
from recorder.notes.numbers.amounts import Amount
from recorder.notes.words.vocabulary import words

_ROUNDED = 0.05  # relative; a value that is told again in another unit is rounded


class Assignment:
    """The slots of one utterance while its numbers are taken from left to right.

    slots: so far. last: those of the last number. used: places of tokens that they took.
    """

    def __init__(self, saying: Saying, habit: Habit) -> None:
        self._saying = saying
        self.tokens, self.scope, self.told = saying.tokens, saying.scope, saying.told
        self._maker = Maker(saying, habit)
        self.slots: list[Slot] = []
        self.last: list[Slot] = list(saying.told.last)
        self.used: set[int] = set()
        self._group: Link | None = None
        self._group_end = -1
        # By sentence: the settings of the press that it names.
        self._named: dict[int, set[str]] = {}
        # Sentences that name one platen by itself.
        self._single: set[int] = set()
        for mention in saying.mentions:
            sentence = saying.scope.sentence_of(mention.start)
            names = {name for fields in mention.options for name in fields}
            run = {name for name in names if FIELDS[name].level is Level.RUN}
            self._named.setdefault(sentence, set()).update(run)
            if any(len(f) == 1 and f[0] in TWINS for f in mention.options):
                self._single.add(sentence)

    @property
    def habit(self) -> Habit:
        """With the units that were said."""
        return self._maker.habit

    def take(self, amount: Amount, link: Link | None) -> None:
        corrects = correction_before(self.tokens, self.scope, amount) or self._carried_on(amount)
        if link is not None:
            led = corrects or self._correction_leads(link)
            self._put(link.fields, amount, link.mention, led)
            if link.passed or self._both_of_else(link):
                self._doubt_last(amount)
            self._group = link if len(link.fields) > 1 else None
            self._group_end = amount.end
            return
        taken = (
            self._continues_group(amount)
            or (corrects and self._named_here(amount) and self._goes_on(amount, corrects))
            or (corrects and self._correct(amount))
            or self._answers_pending(amount)
            or self._goes_on(amount)
            or self._restates(amount)
            or self._strays(amount)
            or self._follows(amount)
        )
        if not taken:
            self._by_unit_alone(amount)

    def put_fixed(self, field: str, amount: Amount) -> None:
        """A number whose field was clear without a trade word beside it."""
        self._put((field,), amount, None, correction_before(self.tokens, self.scope, amount))

    def _both_of_else(self, link: Link) -> bool:
        """As in "two splices, both at 172 on top": then it is not both platens."""
        fields, sentence = link.fields, self.scope.sentence_of(link.amount.start)
        return len(fields) > 1 and sentence in self._single and not self._says_both(link.mention)

    def _says_both(self, mention: Mention) -> bool:
        said = {token.text for token in self.tokens[mention.start : mention.end]}
        return not mention.weak and bool(said & {*words("speech", "both"), "and"})

    def _goes_on(self, amount: Amount, corrects: bool = False) -> bool:
        """A number about what was spoken of before it: "target 178, actual 174"."""
        since = 0 if self.slots else self.told.since
        topic = topic_of(self._saying, amount, self.last, since, corrects)
        if topic is None:
            return False
        like = topic.like if topic.like and fits(topic.fields[0], topic.like) else None
        if like is not None and amount.unit is None and like.unit in UNITS:
            here = like in self._saying.amounts
            unit = unit_as_said(self.tokens, like) if here else like.unit
            amount = replace(amount, unit=unit, borrowed=True)
        if not topic.sure and topic.mention is None and self._restates_last(amount):
            return True
        label = FIELDS[topic.fields[0]].label.lower()
        doubts = () if topic.sure else (f"it is not sure that this is the {label}",)
        if not topic.sure and topic.replaces:
            doubts = (*doubts, "another number stands beside it")
        return self._put(topic.fields, amount, topic.mention, False, doubts, topic.replaces)

    def _restates_last(self, amount: Amount) -> bool:
        """As in "dwell four minutes" (a pause) "that's four minutes up"."""
        told = [slot.amount for slot in self.last]
        same = all(a and (a.value, a.unit) == (amount.value, amount.unit) for a in told)
        return same and not self.slots

    def _named_here(self, amount: Amount) -> bool:
        """Whether a trade word that has no value yet stands before it in its sentence."""
        if self.slots:
            return False
        sentence = self.scope.sentence_of(amount.start)
        mentions = self._saying.mentions
        near = mentions[: bisect_left(mentions, amount.start, key=lambda m: m.start)]
        return any(
            m.fields_for(amount) and self.scope.sentence_of(m.start) == sentence for m in near[-2:]
        )

    def _restates(self, amount: Amount) -> bool:
        """As in "30 psi, that's about 2 bar": the same once more in another unit."""
        latest = self.slots[-1].amount if self.slots else None
        if latest is None or latest.unit not in UNITS or amount.unit not in UNITS:
            return False
        one, other = UNITS[latest.unit], UNITS[amount.unit]
        if one == other or one.dimension != other.dimension:
            return False
        again = convert(amount.value, amount.unit, latest.unit)
        return abs(again - latest.value) <= _ROUNDED * abs(latest.value)

    def _strays(self, amount: Amount) -> bool:
        """A number that belongs to nothing makes the one beside it doubtful: "107, 8 degrees"."""
        latest = self.slots[-1] if self.slots else None
        if latest is None or latest.amount is None or not fits(latest.field, amount):
            return False
        if latest.amount.value == amount.value and amount.unit in (None, latest.amount.unit):
            return True
        if not casts_doubt(self.tokens, self.scope, latest, latest.amount, amount):
            return False
        self._doubt_last(latest.amount)
        return True

    def _follows(self, amount: Amount) -> bool:
        """As in "Top platen 100." (a pause) "And 87 degrees": perhaps the rest of the last one."""
        last = self.last[-1] if self.last and not self.slots and not self.told.since else None
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
        mention: Mention | None = None,
        corrects: bool = False,
        doubts: tuple[str, ...] = (),
        changes: bool = False,
    ) -> bool:
        made = [
            slot
            for name in fields
            if (slot := self._maker.make(name, amount, mention, corrects, changes, doubts))
            is not None
        ]
        self.slots += made
        if made:
            self.last = made
            self.used |= {i for slot in made for i in slot.places}
        return bool(made)

    def _continues_group(self, amount: Amount) -> bool:
        """As in "top and bottom 172 and 168": the second number is for the second field."""
        link = self._group
        if link is None or len(self.last) < 2 or self.last[0] not in self.slots:
            return False
        between = {t.text for t in self.tokens[self._group_end : amount.start]}
        joined = between <= {"and", ",", "/"} and bool(between & {"and", "/"})
        if not joined or not fits(link.fields[1], amount):
            return False
        second = self._maker.make(link.fields[1], amount, link.mention)
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
        if amount.unit is None and counts(self.tokens, amount):
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
        return self._put(fields, amount, here, self.told.asked is not None)

    def _by_unit_alone(self, amount: Amount) -> None:
        named = frozenset(self._named.get(self.scope.sentence_of(amount.start), ()))
        found = by_unit_alone(self._saying, amount, named)
        if found:
            self._put((found.field,), amount, None, False, found.doubts)


def _with_unit_of(amount: Amount, target: Slot) -> Amount:
    """As in "175 degrees Celsius, no, 172": the unit goes on, said or not."""
    unit = target.as_said.unit if target.as_said else FIELDS[target.field].unit
    return replace(amount, unit=unit)


def _cue_places(scope: Scope) -> set[int]:
    return {i for hit in scope.corrections for i in range(hit.start, hit.end)}
