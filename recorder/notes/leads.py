"""The small words between what is named and its name: "customer on this one is the ..."."""

from __future__ import annotations

from dataclasses import dataclass

from recorder.notes.lexer import Tokens
from recorder.notes.speaking import kept
from recorder.notes.vocabulary import Phrases, words

_MOST = 4  # phrases


@dataclass(frozen=True)
class Lead:
    """place: of the first token behind the small words. told: a word said that the name follows.
    colon: and it was a colon.
    """

    place: int
    told: bool
    colon: bool


@kept
def _phrases() -> Phrases[str]:
    return Phrases(
        (phrase, key) for key in ("lead", "aside", "article") for phrase in words("naming", key)
    )


def after_lead(tokens: Tokens, i: int) -> Lead:
    """The end of the small words from tokens[i] on, where the word before them is a cue."""
    cue = tokens[i - 1].text if i else ""
    told = cue.endswith("'s") or cue in words("naming", "lead")
    colon = article = False
    for _ in range(_MOST):
        if i >= len(tokens) or article:
            break
        hit = _phrases().at(tokens, i)
        # "Serial A 4471" begins with a letter.
        if hit is None or (tokens[i].raw == "A" and i > 0):
            break
        told = told or hit.meanings[0] == "lead"
        article = hit.meanings[0] == "article"
        colon = colon or tokens[i].text == ":"
        i = hit.end
    return Lead(i, told, colon)
