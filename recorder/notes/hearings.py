"""Several hearings of one utterance: which of them to go by.

The hearing is chosen that the others bear out best: the one with the most values that they have
too and the fewest that they contradict (consensus decoding, on the level of values). The first
hearing is the best one on its own, so it wins a draw.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher

from recorder.model.transcript import Utterance, Word
from recorder.notes.lexer import Sort
from recorder.notes.sameness import same
from recorder.notes.slot import Slot
from recorder.notes.understand import Understood
from recorder.notes.values import plausible

_AGAINST = 0.5  # a contradiction weighs less than a confirmation: hearings err in many ways
_IMPLAUSIBLE = 2.0
_MOST_WORDS = 200  # compared for likeness, which takes the square of it

Read = Callable[[str, bool], Understood]


@dataclass(frozen=True)
class Version:
    """One hearing. words: as heard. readings: it understood as it stands, and read over commas,
    as a recogniser strews them ("thirty, two psi"). clarity: 0..1, how far all hearings have the
    same words, numbers aside.
    """

    words: tuple[Word, ...]
    readings: tuple[Understood, ...]
    clarity: float = 1.0

    @property
    def understood(self) -> Understood:
        return self.readings[0]


def versions_of(utterance: Utterance, read: Read) -> tuple[Version, ...]:
    """All hearings of an utterance, the one to go by first. ``read`` understands a text."""
    heard = (utterance.words, *(other.words for other in utterance.others))
    versions = []
    for words in heard:
        text = " ".join(word.text for word in words)
        plain = read(text, False)
        joined = (read(text, True),) if len(heard) > 1 and "," in text else ()
        versions.append(Version(words, (plain, *joined)))
    if len(versions) == 1:
        return tuple(versions)
    clarity = _likeness([version.understood for version in versions])
    versions = [Version(v.words, v.readings, clarity) for v in versions]
    best = max(range(len(versions)), key=lambda n: (_borne_out(n, versions), -n))
    return (versions[best], *versions[:best], *versions[best + 1 :])


def _borne_out(n: int, versions: Sequence[Version]) -> float:
    rest = [version for m, version in enumerate(versions) if m != n]
    score = 0.0
    for slot in versions[n].understood.slots:
        score += sum(_says(version, slot) for version in rest)
        if type(slot.value) is float and not plausible(slot.field, slot.value):
            score -= _IMPLAUSIBLE
    return score


def _says(version: Version, slot: Slot) -> float:
    """1 when another hearing has the same value, less than 0 when it has another one."""
    rivals = [other for r in version.readings for other in r.slots if other.field == slot.field]
    if not rivals:
        return 0.0
    return 1.0 if any(same(rival, slot) for rival in rivals) else -_AGAINST


def _likeness(heard: Sequence[Understood]) -> float:
    """Mean share of words that the first hearing has in common with each other one."""
    first, *others = map(_words_alone, heard)
    return sum(SequenceMatcher(None, first, other, False).ratio() for other in others) / len(others)


def _words_alone(understood: Understood) -> list[str]:
    numbers = {i for amount in understood.amounts for i in range(amount.start, amount.end)}
    tokens = enumerate(understood.tokens)
    return [t.text for i, t in tokens if t.sort is Sort.WORD and i not in numbers][:_MOST_WORDS]
