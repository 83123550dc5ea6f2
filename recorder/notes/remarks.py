"""What was said and not understood, as notes; nothing is dropped."""

from __future__ import annotations

from recorder.notes.fields.scope import fillers
from recorder.notes.hearing.understand import Understood
from recorder.notes.words.lexer import Sort
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import words

# A clause of which more meaning words than this were not understood is kept as a whole.
_LEFT_OVER = 1


@kept
def _small() -> frozenset[str]:
    clauses, degrees = words("speech", "clause_words"), words("units", "deg")
    return fillers() | {*clauses, *degrees, "no", "yes"}


def remarks_of(understood: Understood) -> list[tuple[int, int]]:
    """Spans of tokens that make notes: clauses of which something was not understood.

    Neighbouring ones are one note. A number that filled no field always makes a note.
    """
    tokens, used = understood.tokens, understood.used
    idle = {i for a in understood.amounts if a.start not in used for i in range(a.start, a.end)}
    idle |= {i for i, token in enumerate(tokens) if any(char.isdigit() for char in token.raw)}
    spans: list[tuple[int, int]] = []
    for clause in understood.scope.clauses:
        places = range(clause.start, clause.end)
        left = [i for i in places if i not in used and tokens[i].sort is not Sort.SIGN]
        meaning = [i for i in left if tokens[i].text not in _small()]
        untouched = not used.intersection(places) and bool(meaning or (left and not used))
        if not (untouched or len(meaning) > _LEFT_OVER or any(i in idle for i in left)):
            continue
        if spans and spans[-1][1] == clause.start:
            spans[-1] = (spans[-1][0], clause.end)
        else:
            spans.append((clause.start, clause.end))
    return spans
