"""The words behind what was understood: as evidence, as a note, and as signals of trust."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from itertools import accumulate

from recorder.model.reading import Note, Spoken
from recorder.model.transcript import Word
from recorder.notes.fields.slot import Slot
from recorder.notes.hearing.hearings import Version
from recorder.notes.hearing.signals import Signals, signals_of


class Said:
    """The words of one hearing behind its tokens, with all other hearings beside it."""

    def __init__(self, versions: Sequence[Version], file: str, clarity_around: float) -> None:
        chosen, *self._rest = versions
        self._chosen, self._words, self._file = chosen, chosen.words, file
        self._clarity_around = clarity_around
        self.heard = chosen.understood
        self._tokens = self.heard.tokens
        lengths = [len(word.text) + 1 for word in self._words]
        self._starts = [0, *accumulate(lengths)][: len(self._words)]

    def signals(self, slot: Slot) -> Signals | None:
        """What speaks for and against a slot; None in a written text."""
        words = self._carrying(slot)
        if not self._rest and all(word.probability is None for word in words):
            return None
        return signals_of(slot, words, self._chosen, self._rest, self._clarity_around)

    def _word(self, offset: int) -> int:
        return bisect_right(self._starts, offset) - 1

    def _span(self, start: int, end: int) -> tuple[Word, ...]:
        """The words of tokens[start:end]; one token may be of several words."""
        first, last = self._tokens[start].start, self._tokens[end - 1].end - 1
        return self._words[self._word(first) : self._word(last) + 1]

    def _carrying(self, slot: Slot) -> tuple[Word, ...]:
        """The words that decide the value: the number's, or all words of a finding or a name."""
        if slot.amount is not None and slot.field != "job_number":
            return self._span(slot.amount.number.start, slot.amount.number.end)
        if slot.field == "job_number":
            return self._span(slot.places[-1], slot.end)
        return self._span(slot.start, slot.end)

    def evidence(self, slot: Slot) -> Spoken:
        return self.words_of(slot.start, slot.end)

    def words_of(self, start: int, end: int) -> Spoken:
        words = self._span(start, end)
        return Spoken(
            file=self._file,
            said=" ".join(word.text for word in words),
            start_s=words[0].start_s if words else None,
            end_s=words[-1].end_s if words else None,
        )

    def note(self, start: int, end: int) -> Note:
        words = self._span(start, end)
        return Note(
            text=" ".join(word.text for word in words),
            file=self._file,
            start_s=words[0].start_s if words else None,
            end_s=words[-1].end_s if words else None,
        )
