"""Utterances gathered into windows that the recogniser takes at once, and its words given back.

A window of several utterances is encoded once instead of once for each, and what was said just
before and after helps to hear a word in noise. Long pauses are shortened, because the recogniser
invents words for them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from recorder.model.transcript import Word
from recorder.voice.audio import SAMPLE_RATE_HZ, Samples

Span = tuple[int, int]  # first and last sample of an utterance

LONGEST_PAUSE_S = 1.0


@dataclass(frozen=True)
class Window:
    """samples: of the whole window. spans: of its utterances in the recording. starts: where each
    of them starts in the window, in samples. pad: samples without speech at both ends of a span.
    """

    samples: Samples
    spans: tuple[Span, ...]
    starts: tuple[int, ...]
    pad: int

    def cut(self, words: Sequence[Word]) -> tuple[tuple[Word, ...], ...]:
        """The words of each utterance, with times from the start of the recording.

        Of the two words beside a pause, one lasts over the whole of it by the recogniser's clock;
        it belongs where it overlaps the speech most.
        """
        parts: list[list[Word]] = [[] for _ in self.spans]
        place = 0
        for word in words:
            start, end = ((t or 0.0) * SAMPLE_RATE_HZ for t in (word.start_s, word.end_s))
            here = range(place, len(self.spans))
            place = max(here, key=lambda n: (self._shared(n, start, end), -n))
            parts[place].append(self._moved(word, place))
        return tuple(map(tuple, parts))

    def last(self) -> Window:
        """The last utterance alone."""
        return Window(self.samples[self.starts[-1] :], self.spans[-1:], (0,), self.pad)

    def _shared(self, place: int, start: float, end: float) -> float:
        """Samples of an utterance's speech between two places; less than 0: so far beside it."""
        first, last = self.spans[place]
        begins = self.starts[place] + self.pad
        ends = self.starts[place] + last - first - self.pad
        return min(end, ends) - max(start, begins)

    def _moved(self, word: Word, place: int) -> Word:
        """The word at its place in the recording, held inside its utterance."""
        first, last = (sample / SAMPLE_RATE_HZ for sample in self.spans[place])
        shift_s = first - self.starts[place] / SAMPLE_RATE_HZ
        start_s = min(max((word.start_s or 0.0) + shift_s, first), last)
        end_s = min(max((word.end_s or 0.0) + shift_s, start_s), last)
        return word.model_copy(update={"start_s": round(start_s, 2), "end_s": round(end_s, 2)})


def windows(
    samples: Samples, spans: Sequence[Span], pad_s: float, longest_s: float
) -> Iterator[Window]:
    """Windows of as many whole utterances as fit into ``longest_s``, in order. ``pad_s``: of each
    span, at both ends, that is no speech.
    """
    pad = int(pad_s * SAMPLE_RATE_HZ)
    longest = int(longest_s * SAMPLE_RATE_HZ)
    gathered: list[Span] = []
    size = 0
    for span in spans:
        length = span[1] - span[0]
        pause = _kept(span[0] - gathered[-1][1]) if gathered else 0
        if gathered and size + pause + length > longest:
            yield window_of(samples, gathered, pad)
            gathered, size, pause = [], 0, 0
        gathered.append(span)
        size += pause + length
    if gathered:
        yield window_of(samples, gathered, pad)


def with_before(span: Span, before: Sequence[Span], longest_s: float) -> list[Span]:
    """An utterance with as many whole ones of ``before`` it as fit into ``longest_s`` with it."""
    gathered, size = [span], span[1] - span[0]
    for earlier in reversed(before):
        size += earlier[1] - earlier[0] + _kept(gathered[0][0] - earlier[1])
        if size > longest_s * SAMPLE_RATE_HZ:
            break
        gathered.insert(0, earlier)
    return gathered


def _kept(pause: int) -> int:
    return min(pause, int(LONGEST_PAUSE_S * SAMPLE_RATE_HZ))


def window_of(samples: Samples, spans: Sequence[Span], pad: int, offset: int = 0) -> Window:
    """The window of these utterances. ``offset``: place in the recording of the first of the
    samples.
    """
    parts, starts, size = [], [], 0
    before: int | None = None
    for first, last in spans:
        if before is not None:
            # The pause's end and its start, so that the noise goes on across the cut.
            kept = _kept(first - before)
            last_before, first_after = before + kept // 2, first - (kept - kept // 2)
            parts += [
                samples[before - offset : last_before - offset],
                samples[first_after - offset : first - offset],
            ]
            size += kept
        starts.append(size)
        parts.append(samples[first - offset : last - offset])
        size += last - first
        before = last
    return Window(np.concatenate(parts), tuple(spans), tuple(starts), pad)
