"""Several hearings of one utterance: which of them to go by, and what the others add.

The hearing is chosen that the others bear out best: the one with the most values that they have
too and the fewest that they contradict (consensus decoding, on the level of values). The first
hearing is the best one on its own, so it wins a draw.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from difflib import SequenceMatcher

from recorder.model.transcript import Utterance, Word
from recorder.notes.fields.slot import Slot
from recorder.notes.hearing.mending import mended, without_commas
from recorder.notes.hearing.opinions import is_plausible, opinion
from recorder.notes.hearing.sameness import same
from recorder.notes.hearing.understand import Mend, Understood
from recorder.notes.words.lexer import Sort, tokens_of

# What a value adds to the score of its hearing: for being there, for each other hearing that has
# it too, that contradicts it, or that has some other number in its place.
_TOLD, _SHARED, _CONTRADICTED, _STRAY = 0.4, 1.0, -0.5, -0.2
_IMPLAUSIBLE = -2.0
# For what makes it doubtful by itself, as a trade word heard as another one.
_DOUBTED = -0.3
# For each number of the reading that fills nothing.
_LEFT_OVER = -0.3
_FIRST = 0.3
_MOST_LETTERS = 600  # compared for likeness, which takes the square of it

Read = Callable[[str, Mend | None], Understood]


@dataclass(frozen=True)
class Version:
    """One hearing. words: as heard. readings: it understood as it stands, read over commas, and
    mended; the one to go by first. clarity: 0..1, how far all hearings have the same words,
    numbers aside.
    """

    words: tuple[Word, ...]
    readings: tuple[Understood, ...]
    clarity: float = 1.0

    @property
    def understood(self) -> Understood:
        return self.readings[0]


def versions_of(utterance: Utterance, read: Read) -> tuple[Version, ...]:
    """All hearings of an utterance, the one to go by first; none when no hearing has words. One
    that heard nothing stays: it lacks what the others have. ``read`` understands a text, as it
    stands or mended.
    """
    heard = (utterance.words, *(other.words for other in utterance.others))
    if not any(char.isalnum() for words in heard for word in words for char in word.text):
        return ()
    versions = [Version(words, _readings(words, read, len(heard) > 1)) for words in heard]
    if len(versions) < 2:
        return tuple(versions)
    clarity = _likeness([version.understood for version in versions])
    versions = [replace(version, clarity=clarity) for version in versions]
    scores = [
        [_borne_out(versions, n, m) for m in range(len(version.readings))]
        for n, version in enumerate(versions)
    ]
    versions = [_ordered(version, scores[n]) for n, version in enumerate(versions)]
    best = max(range(len(versions)), key=lambda n: (max(scores[n]), -n))
    chosen, rest = versions[best], (*versions[:best], *versions[best + 1 :])
    gone_by, *others = chosen.readings
    slots = tuple(
        _unless_torn(_settled(_unless_outvoted(slot, gone_by, rest), versions), others, rest)
        for slot in gone_by.slots
    )
    return (replace(chosen, readings=(replace(gone_by, slots=slots), *others)), *rest)


def added(versions: Sequence[Version]) -> list[tuple[Slot, int]]:
    """Numbers that only further hearings put into a field, with the place of the version that has
    each: the plausible one that most of them have.
    """
    chosen = versions[0].understood
    told = {slot.field for slot in chosen.slots}
    used = {slot.amount.value for slot in chosen.slots if slot.amount}
    best: dict[str, tuple[float, Slot, int]] = {}
    for n, version in enumerate(versions[1:], 1):
        for reading in version.readings[:1]:
            for slot in reading.slots:
                if slot.field in told or slot.amount is None or slot.amount.value in used:
                    continue
                if not is_plausible(slot):
                    continue
                rest = [v for m, v in enumerate(versions[1:], 1) if m != n]
                score = _worth(slot, reading, rest)
                if slot.field not in best or score > best[slot.field][0]:
                    best[slot.field] = (score, slot, n)
    return [(slot, n) for _, slot, n in best.values()]


def _ordered(version: Version, scores: Sequence[float]) -> Version:
    """The reading that the other hearings bear out best comes first."""
    places = sorted(range(len(scores)), key=lambda m: -scores[m])
    return replace(version, readings=tuple(version.readings[m] for m in places))


def _readings(words: tuple[Word, ...], read: Read, several: bool) -> tuple[Understood, ...]:
    text = " ".join(word.text for word in words)
    plain = read(text, None)
    if not several:
        return (plain,)
    tokens = tokens_of(text)
    joined, whole = without_commas(tokens), mended(tokens)
    found = [plain]
    if joined != tokens:
        found.append(read(text, without_commas))
    if whole != joined:
        found.append(_doubted(read(text, mended), found))
    return tuple(found)


def _doubted(reading: Understood, plainer: Sequence[Understood]) -> Understood:
    """A mended reading, no surer of a value than the plainer ones: what none gives is doubtful."""
    slots = []
    for slot in reading.slots:
        same_value = [o for one in plainer for o in one.slots if _is_same(slot, o)]
        if same_value:
            doubts = min((other.doubts for other in same_value), key=len)
        else:
            heard = " ".join(token.raw for token in reading.tokens[slot.start : slot.end])
            doubts = (*slot.doubts, f"heard as {heard!r}")
        changed = doubts != slot.doubts
        slots.append(replace(slot, doubts=doubts, unit_open=slot.unit_open and not changed))
    return replace(reading, slots=tuple(slots))


def _is_same(slot: Slot, other: Slot) -> bool:
    return slot.field == other.field and same(slot, other)


def _borne_out(versions: Sequence[Version], n: int, m: int) -> float:
    reading = versions[n].readings[m]
    rest = [*versions[:n], *versions[n + 1 :]]
    idle = sum(amount.start not in reading.used for amount in reading.amounts)
    worth = sum(_worth(slot, reading, rest) for slot in reading.slots)
    return worth + idle * _LEFT_OVER + (_FIRST if n == 0 else 0.0)


def _worth(slot: Slot, reading: Understood, rest: Sequence[Version]) -> float:
    if not is_plausible(slot):
        return _IMPLAUSIBLE
    worth = _TOLD + (_DOUBTED if slot.doubts or slot.unsettled else 0.0)
    for version in rest:
        said = opinion(slot, reading, version.readings)
        worth += _SHARED if said.agrees else _CONTRADICTED if said.contradicts else 0.0
        worth += _STRAY if said.stray else 0.0
    return worth


def _unless_outvoted(slot: Slot, reading: Understood, rest: Sequence[Version]) -> Slot:
    """The slot, with the value that at least two others have when none has its own."""
    said = [opinion(slot, reading, version.readings) for version in rest]
    if slot.amount is None or any(one.agrees for one in said):
        return slot
    against = [one.instead for one in said if one.instead is not None and one.contradicts]
    votes = [(sum(rival.value == other.value for other in against), rival) for rival in against]
    count, rival = max(votes, key=lambda vote: vote[0], default=(0, slot))
    if count < 2:
        return slot
    doubt = f"{count} hearings outvoted another one"
    return replace(
        slot,
        value=rival.value,
        as_said=rival.as_said,
        candidates=(slot.value, *slot.candidates),
        doubts=rival.doubts,
        unsettled=(*slot.unsettled, doubt),
        unit_open=False,
    )


def _unless_torn(slot: Slot, readings: Sequence[Understood], rest: Sequence[Version]) -> Slot:
    """The slot with a doubt where the same words, otherwise read, give another number: by a word
    mended, or over a comma and no further hearing has this one however it is read.
    """
    if slot.amount is None:
        return slot
    rivals = [
        other
        for reading in readings
        if not _has(reading, slot)
        for other in reading.slots
        if other.field == slot.field
    ]
    whole = any(all(_has(one, slot) for one in version.readings) for version in rest)
    if not any(other.doubts or not whole for other in rivals):
        return slot
    doubt = "its number may go on over a pause"
    likely = tuple(other.value for other in rivals if is_plausible(other))
    return replace(slot, unsettled=(*slot.unsettled, doubt), candidates=(*likely, *slot.candidates))


def _has(reading: Understood, slot: Slot) -> bool:
    return any(_is_same(slot, other) for other in reading.slots)


def _settled(slot: Slot, versions: Sequence[Version]) -> Slot:
    """The slot without the doubts that another hearing of the same value does not have."""
    if not slot.doubts:
        return slot
    others = (other for version in versions for one in version.readings for other in one.slots)
    sure = next((other for other in others if _is_same(slot, other) and not other.doubts), None)
    if sure is None:
        return slot
    return replace(slot, as_said=sure.as_said, doubts=(), unit_open=False)


def _likeness(heard: Sequence[Understood]) -> float:
    """Mean share of letters that the first hearing has in common with each other one."""
    first, *others = map(_words_alone, heard)
    shares = (SequenceMatcher(None, first, other, False).ratio() for other in others)
    return sum(shares) / len(others)


def _words_alone(understood: Understood) -> str:
    """The words without the numbers, which one hearing writes in digits and one in words."""
    numbers = {i for amount in understood.amounts for i in range(amount.start, amount.end)}
    tokens = enumerate(understood.tokens)
    words = [t.text for i, t in tokens if t.sort is Sort.WORD and i not in numbers]
    return " ".join(words)[:_MOST_LETTERS]
