"""A written narration as a transcript without times."""

from __future__ import annotations

import re

from recorder.model.transcript import Transcript, Utterance, Word
from recorder.notes.words.vocabulary import words

_SENTENCE_END = re.compile(r"[.!?;](?=\s)")


def from_text(text: str, file: str) -> Transcript:
    """Utterances by line and sentence; "2.25" and "approx." are left whole."""
    utterances = tuple(
        Utterance(words=tuple(Word(text=word) for word in sentence.split()))
        for line in text.splitlines()
        for sentence in _sentences(line)
        if sentence.strip()
    )
    return Transcript(file=file, utterances=utterances)


def _sentences(line: str) -> list[str]:
    sentences: list[str] = []
    start = 0
    for end in _SENTENCE_END.finditer(line):
        before = line[max(start, end.start() - 12) : end.start()].rsplit(None, 1)
        word = before[-1].lower().strip("(") if before else ""
        after = "".join(line[end.end() : end.end() + 40].split(None, 1)[:1])
        if end.group() == "." and _goes_on(word, after):
            continue
        sentences.append(line[start : end.end()])
        start = end.end()
    sentences.append(line[start:])
    return sentences


def _goes_on(word: str, after: str) -> bool:
    """Whether a full stop between the two ends no sentence."""
    if word in words("written", "before_number"):
        return any(char.isdigit() for char in after)
    # "2. Verbindung" is an ordinal where the language writes it so.
    if word.isdecimal() and words("written", "ordinal_stop"):
        things = (*words("movement", "splice"), *words("movement", "run"))
        return after.lower().rstrip(".,:;!?") in things
    abbreviated = word in words("written", "abbreviations")
    return abbreviated and (not after[:1].isupper() or word in words("written", "titles"))
