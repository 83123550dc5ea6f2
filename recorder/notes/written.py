"""A written narration as a transcript without times."""

from __future__ import annotations

import re

from recorder.model.transcript import Transcript, Utterance, Word

# A full stop after one of these ends no sentence.
_ABBREVIATIONS = {
    *("approx", "ca", "temp", "temps", "no", "nr", "min", "mins", "sec", "secs", "hr", "hrs"),
    *("deg", "in", "ft", "max", "e.g", "i.e", "etc", "vs", "dr", "mr", "mrs", "ms", "st", "co"),
    *("ltd", "inc", "p.s.i", "p.s", "p", "s", "fig", "incl", "resp", "thk", "dia"),
}
# After these a name follows.
_TITLES = {"dr", "mr", "mrs", "ms", "st"}
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
        abbreviated = bool(before) and before[-1].lower().strip("(") in _ABBREVIATIONS
        capital = line[end.end() :].lstrip()[:1].isupper()
        word = before[-1].lower() if abbreviated else ""
        rest = line[end.end() :].split(None, 1)[:1]
        if word == "no":
            # "Job no. 4817", and not "Bubbles, no. Splice accepted."
            goes_on = any(char.isdigit() for char in "".join(rest))
        else:
            goes_on = abbreviated and (not capital or word in _TITLES)
        if end.group() == "." and goes_on:
            continue
        sentences.append(line[start : end.end()])
        start = end.end()
    sentences.append(line[start:])
    return sentences
