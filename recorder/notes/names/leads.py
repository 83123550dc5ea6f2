"""The small words between what is named and its name: "customer on this one is the ..."."""

from __future__ import annotations

from dataclasses import dataclass

from recorder.notes.words.lexer import Sort, Tokens
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import Phrases, words

_MOST = 6  # phrases
_FARTHEST = 6  # tokens


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
        if hit is None and (past := _past_where(tokens, i)):
            i = past
            continue
        # "Serial A 4471" begins with a letter.
        if hit is None or (tokens[i].raw == "A" and i > 0):
            break
        told = told or hit.meanings[0] == "lead"
        article = hit.meanings[0] == "article"
        colon = colon or tokens[i].text == ":"
        i = hit.end
    return Lead(i, told, colon)


def _past_where(tokens: Tokens, i: int) -> int:
    """As in "press on the upper floor is": the place of the "is"; 0 where none follows."""
    if tokens[i].text not in words("naming", "near"):
        return 0
    for j in range(i + 2, min(i + _FARTHEST, len(tokens))):
        hit = _phrases().at(tokens, j)
        if hit and hit.meanings[0] == "lead" and tokens[j].sort is Sort.WORD:
            return j
        if tokens[j].sort is Sort.SIGN:
            break
    return 0
