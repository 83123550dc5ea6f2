"""Names and words that are near to what was typed; the only module that imports RapidFuzz."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from rapidfuzz import fuzz, process
from rapidfuzz.distance import DamerauLevenshtein

SHORTEST_WITH_AN_ERROR = 4  # letters; below, every other word would be near
SHORTEST_WITH_TWO = 8
NEAR_WORDS = 3
# Out of 100, tried on the names of our own fields: the best, and how far behind it others count.
NEAR_SCORE, NEAR_BEHIND = 70.0, 10.0
NEAR_NAMES = 6


def errors_allowed(word: str) -> int:
    """How many letters may be wrong, missing, too many or changed with their neighbour."""
    return (len(word) >= SHORTEST_WITH_AN_ERROR) + (len(word) >= SHORTEST_WITH_TWO)


def near_words(word: str, terms: Mapping[str, int]) -> tuple[str, ...]:
    """The terms with the fewest errors, of those the most frequent; none beyond what is allowed.

    word, terms: folded, letters alone. terms: with the number of jobs that hold each.
    """
    found = process.extract(
        word, terms.keys(), scorer=DamerauLevenshtein.distance,
        score_cutoff=errors_allowed(word), limit=None,
    )  # fmt: skip
    fewest = min((errors for _, errors, _ in found), default=0)
    best = sorted((-terms[term], term) for term, errors, _ in found if errors == fewest)
    return tuple(term for _, term in best[:NEAR_WORDS])


def near_names(wanted: str, names: Iterable[tuple[str, str]]) -> tuple[str, ...]:
    """Names of which any form is near to what a person wrote, the nearest first.

    names: pairs of a name and one form of it, in lower case.
    """
    scores: dict[str, float] = {}
    for name, form in names:
        scores[name] = max(scores.get(name, 0.0), fuzz.WRatio(wanted.lower(), form))
    least = max(NEAR_SCORE, max(scores.values(), default=0.0) - NEAR_BEHIND)
    near = [name for name in scores if scores[name] >= least]
    return tuple(sorted(near, key=lambda name: -scores[name])[:NEAR_NAMES])
