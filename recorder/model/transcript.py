"""What was heard: words with times and probabilities, in utterances."""

from __future__ import annotations

from recorder.model.base import Value


class Word(Value):
    """text: as the recogniser wrote it, stripped, punctuation kept.
    start_s, end_s: seconds from the start of the file; None for a written text.
    probability: 0..1 by the recogniser; None for a written text.
    """

    text: str
    start_s: float | None = None
    end_s: float | None = None
    probability: float | None = None


class Hearing(Value):
    """The same sound decoded in another way. way: the recogniser's name for it."""

    way: str
    words: tuple[Word, ...]

    @property
    def text(self) -> str:
        return " ".join(word.text for word in self.words)


class Utterance(Value):
    """One stretch of speech between two pauses.

    words: the first hearing.
    others: further hearings, for comparison; empty when there were none.
    no_speech: 0..1, the recogniser's own doubt that this is speech; None for a written text.
    """

    words: tuple[Word, ...]
    others: tuple[Hearing, ...] = ()
    start_s: float | None = None
    end_s: float | None = None
    no_speech: float | None = None

    @property
    def text(self) -> str:
        """As the first of the hearings that has any word."""
        hearings = (self.words, *(each.words for each in self.others))
        return " ".join(word.text for word in next(filter(None, hearings), ()))


class Transcript(Value):
    """All utterances of one file, in order.

    file: name of the file that was heard or read.
    duration_s: length of the sound; None for a written text.
    model: name of the speech model; None for a written text.
    """

    file: str
    utterances: tuple[Utterance, ...]
    duration_s: float | None = None
    model: str | None = None
