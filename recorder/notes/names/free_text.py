"""What is told under a heading and kept in the speaker's own words: advice, materials, checks."""

from __future__ import annotations

from recorder.notes.fields.slot import Slot
from recorder.notes.words.lexer import Sort, Tokens
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import Phrases, vocabulary, words

_LONGEST = 60  # words
_ENDS = {".", "!", "?", ";"}

_Sense = tuple[str, str]  # a field, and how it was named


@kept
def _headings() -> Phrases[_Sense]:
    tables: dict[str, dict[str, list[str]]] = vocabulary().get("free_text", {})
    return Phrases(
        (phrase, (field, manner))
        for field, table in tables.items()
        for manner in ("headings", "loose")
        for phrase in table.get(manner, ())
    )


def free_text_of(tokens: Tokens) -> list[Slot]:
    """As in "Materials: two sheets of release film", "next check in three months".

    A heading opens its sentence; the value is the rest of it. A looser opening ("I recommend") is
    asked about.
    """
    found: list[Slot] = []
    opening = True
    for i, token in enumerate(tokens):
        if found and i < found[-1].end:
            continue
        hit = _headings().at(tokens, i) if opening else None
        slot = _told(tokens, hit.start, hit.end, hit.meanings[0]) if hit else None
        if slot is not None:
            found.append(slot)
        opening = token.text in _ENDS or (opening and token.text in words("speech", "openings"))
    return found


def _told(tokens: Tokens, start: int, end: int, sense: _Sense) -> Slot | None:
    field, manner = sense
    i = end
    while i < len(tokens) and tokens[i].text in words("speech", "after_headings"):
        i += 1
    j = i
    while j < len(tokens) and j - i < _LONGEST and not _closes(tokens, j):
        j += 1
    if not any(token.sort is Sort.WORD for token in tokens[i:j]):
        return None
    # "Materials are getting expensive"
    if tokens[i].text in words("naming", "no_text"):
        return None
    text = "".join(t.raw if t.glued or n == 0 else f" {t.raw}" for n, t in enumerate(tokens[i:j]))
    doubts = () if manner == "headings" else ("told in passing",)
    return Slot(field, text[:2000], start, j, tuple(range(start, j)), unsettled=doubts)


def _closes(tokens: Tokens, i: int) -> bool:
    return tokens[i].text in _ENDS and (i + 1 >= len(tokens) or not tokens[i + 1].glued)
