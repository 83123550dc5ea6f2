"""What the belt is made of, told by the name of the stuff itself."""

from __future__ import annotations

from recorder.notes.fields.slot import Slot
from recorder.notes.names.identifiers import slot_of
from recorder.notes.names.leads import after_lead
from recorder.notes.words.lexer import Sort, Tokens
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import Phrases, words


@kept
def _stuffs() -> Phrases[str]:
    return Phrases((phrase, phrase) for phrase in words("kinds", "belt_material"))


def material_of(tokens: Tokens) -> list[Slot]:
    """As in "it's polyurethane", "the belt is two-ply PVC", "it's a PVC belt"."""
    for hit in _stuffs().all(tokens):
        start = hit.start
        before = words("naming", "before_material")
        while start > 0 and tokens[start - 1].text in before:
            start -= 1
        lead = _lead_back(tokens, start)
        behind = tokens[hit.end] if hit.end < len(tokens) else None
        ends = behind is None or behind.sort is Sort.SIGN or behind.text in words("naming", "belt")
        if lead is not None and ends:
            value = " ".join(token.raw for token in tokens[start : hit.end] if token.raw != "-")
            return [slot_of(tokens, "belt_material", value, lead, hit.end)]
    return []


def _lead_back(tokens: Tokens, end: int) -> int | None:
    """Where the words begin that say that the belt's material follows at ``end``."""
    for start in range(max(0, end - 5), end):
        own = tokens[start].text.removesuffix("'s")
        if own in words("naming", "belt") and after_lead(tokens, start + 1).place == end:
            lead = after_lead(tokens, start + 1)
            return start if lead.told or own in words("naming", "material") else None
    return None
