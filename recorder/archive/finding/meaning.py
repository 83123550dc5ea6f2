"""What a person's words look for: themselves, their synonyms, and what a typing error may mean."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from recorder.archive.finding import words as search_words
from recorder.archive.finding.folding import fold, tokens
from recorder.archive.finding.synonyms import Same, Synonyms
from recorder.archive.finding.typos import errors_allowed, near_words
from recorder.archive.finding.words import NOTHING, Word
from recorder.archive.index.text import Phrase, Query

MOST_ERRORS = 8  # words; whoever pastes a page looks for something else than its typing errors
PREFIX_LETTERS_OF_A_SYNONYM = 5  # a short one is the beginning of too much: temp, template


class Known(Protocol):
    """What an index can tell of its text."""

    def has(self, phrase: Phrase) -> bool:
        """Whether any job holds it."""

    def terms(self, shortest: int, longest: int) -> Iterable[tuple[str, int]]:
        """Words of so many letters and nothing else, folded, with the number of jobs of each."""


@dataclass(frozen=True)
class Meaning:
    """query: what is looked for. also: the synonyms, by the words that have them. instead: what
    was looked for in place of a word that no job holds.
    """

    query: Query
    also: Mapping[str, tuple[str, ...]]
    instead: Mapping[str, tuple[str, ...]]


def meaning(text: str, synonyms: Synonyms) -> Meaning:
    """The words as they were typed, each by its synonyms too. Never raises."""
    typed = search_words.typed(text)
    if not typed:
        return Meaning(NOTHING if text.strip() else (), {}, {})
    return _meaning(typed, synonyms, {})


def corrected(text: str, synonyms: Synonyms, known: Known) -> Meaning | None:
    """The same where words that no job holds are taken for near ones; None when there is none.

    Only words of letters alone, of four or more: a number with an error is another number.
    """
    typed = search_words.typed(text)
    as_typed = _meaning(typed, synonyms, {})
    may_be_wrong = (
        word
        for word, group in zip(typed, as_typed.query, strict=True)
        if _may_hold_an_error(word) and not any(map(known.has, group))
    )
    instead = {
        word.text: near
        for word in itertools.islice(may_be_wrong, MOST_ERRORS)
        if (near := _near(fold(word.text), synonyms, known))
    }
    return _meaning(typed, synonyms, instead) if instead else None


def _may_hold_an_error(word: Word) -> bool:
    return not word.quoted and word.text.isalpha() and errors_allowed(word.text) > 0


def _near(word: str, synonyms: Synonyms, known: Known) -> tuple[str, ...]:
    """Words of the jobs; else trade words of which the jobs hold a synonym."""
    trade = synonyms.words()
    if word in trade:
        return ()
    errors = errors_allowed(word)
    terms = dict(known.terms(len(word) - errors, len(word) + errors))
    return near_words(word, terms) or tuple(
        near
        for near in near_words(word, dict.fromkeys(trade, 0))
        if any(map(known.has, _meaning([Word(near)], synonyms, {}).query[0]))
    )


def _meaning(
    typed: Sequence[Word], synonyms: Synonyms, instead: Mapping[str, tuple[str, ...]]
) -> Meaning:
    groups = [
        [word.phrase(), *(word._replace(text=near).phrase() for near in instead.get(word.text, ()))]
        for word in typed
    ]
    also: dict[str, tuple[str, ...]] = {}
    for start, end, ways in _whole_words(typed, synonyms, instead):
        told = groups[start:end]
        new = [phrase for phrase in map(_synonym, ways) if not _is_found_by(told, phrase)]
        for group in told:
            group += [phrase for phrase in new if phrase not in group]
        if new:
            said = " ".join(word.text for word in typed[start:end])
            also[said] = (*also.get(said, ()), *(phrase.text for phrase in new))
    return Meaning(tuple(map(tuple, groups)), also, dict(instead))


def _whole_words(
    typed: Sequence[Word], synonyms: Synonyms, instead: Mapping[str, tuple[str, ...]]
) -> Iterator[Same]:
    """Synonyms of typed[start:end]; "press-3" is no press with something behind it."""
    spellings: list[tuple[str, ...]] = []
    begins: dict[int, int] = {}
    ends: dict[int, int] = {}
    for number, word in enumerate(typed):
        begins[len(spellings)] = number
        spellings += _spellings(word, instead.get(word.text, ()))
        ends[len(spellings)] = number + 1
    for start, end, ways in synonyms.found(spellings):
        if start in begins and end in ends:
            yield Same(begins[start], ends[end], ways)


def _spellings(word: Word, instead: Sequence[str]) -> list[tuple[str, ...]]:
    """What each token of a word may be, the last also without the s of a plural. Nothing of what
    stands in quotation marks, which is looked for as it is.
    """
    if word.quoted:
        return [()]
    *first, last = tokens(word.text)
    forms = (last, *instead)
    return [
        *((token,) for token in first),
        (*forms, *(form[:-1] for form in forms if len(form) > 3 and form.endswith("s"))),
    ]


def _is_found_by(told: Sequence[Sequence[Phrase]], phrase: Phrase) -> bool:
    """Whether looking for the words finds a synonym of theirs anyway."""
    text = tokens(phrase.text)
    return all(any(search_words.occurs(own, text) for own in group) for group in told)


def _synonym(text: str) -> Phrase:
    return Phrase(text, prefix=len(tokens(text)[-1]) >= PREFIX_LETTERS_OF_A_SYNONYM)
