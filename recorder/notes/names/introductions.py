"""Names told before the words that say whose they are, and people who introduce themselves."""

from __future__ import annotations

from recorder.notes.fields.slot import Slot
from recorder.notes.names.identifiers import slot_of
from recorder.notes.names.name_words import LONGEST_NAME, is_capital, kinds_of, written
from recorder.notes.words.lexer import Sort, Tokens
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import Hit, Phrases, vocabulary, words

_NAME_AND_SURNAME = (2, 3)  # words


@kept
def _behind() -> Phrases[str]:
    """What names the name before it: "Petra Aldous here", "Larkfield, that's the customer"."""
    table = vocabulary()["named_behind"]
    names = vocabulary()["names"]
    return Phrases((p, name) for name, phrases in table.items() if name in names for p in phrases)


def named_before(tokens: Tokens, named: set[str]) -> list[Slot]:
    """As in "Petra Aldous here", "Larkfield Foods, that's the customer", for what is not
    ``named`` yet.
    """
    hits = [hit for hit in _behind().all(tokens) if hit.meanings[0] not in named]
    return [slot for hit in hits if (slot := _before(tokens, hit))]


def _before(tokens: Tokens, hit: Hit[str]) -> Slot | None:
    """The capitalised words that end right before the cue, but for a comma; two at least."""
    end = hit.start - 1 if hit.start and tokens[hit.start - 1].text == "," else hit.start
    field = hit.meanings[0]
    start = end
    while start > 0 and kinds_of(field).at(tokens, start - 1):
        start -= 1
    least = start - (2 if start == end else 1)
    while start > 0 and end - start < LONGEST_NAME and is_capital(tokens, start - 1):
        start -= 1
    bare = field == "site" and start > 0 and tokens[start - 1].text in words("naming", "article")
    opens = field != "technician" or _opens(tokens, start)
    if start > least + bare or not opens or _is_firm(tokens, field, end):
        return None
    return slot_of(tokens, field, written(tokens, start, end), start, hit.end)


def _opens(tokens: Tokens, i: int) -> bool:
    """Whether a name at tokens[i] opens its clause, but for a greeting; "at Moss Lane here"."""
    before = tokens[i - 1] if i else None
    return before is None or before.sort is Sort.SIGN or before.text in words("naming", "greetings")


def _is_firm(tokens: Tokens, field: str, end: int) -> bool:
    """Whether a name that ends at ``end`` is of a place or a firm and not of a person."""
    if field != "technician":
        return False
    return any(kinds_of(kind).at(tokens, end - 1) is not None for kind in ("customer", "site"))


def introduced(tokens: Tokens) -> list[Slot]:
    """As in "this is Petra Aldous", which may also be a place or a firm."""
    found = []
    for hit in _introductions().all(tokens):
        j = hit.end
        while j < len(tokens) and j - hit.end < LONGEST_NAME and is_capital(tokens, j):
            j += 1
        firm = _is_firm(tokens, "technician", j)
        if j - hit.end in _NAME_AND_SURNAME and not firm:
            doubt = ("it is not sure whose name this is",)
            found.append(
                slot_of(tokens, "technician", written(tokens, hit.end, j), hit.start, j, doubt)
            )
    return found


@kept
def _introductions() -> Phrases[str]:
    return Phrases((phrase, phrase) for phrase in words("naming", "introductions"))
