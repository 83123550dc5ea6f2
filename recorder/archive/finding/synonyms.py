"""Words that mean the same in the trade, as data: a shipped file, and a firm's own in its home."""

from __future__ import annotations

import functools
import tomllib
from collections import defaultdict
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from pydantic import ValidationError

from recorder.archive.disk.home import cause
from recorder.archive.finding.folding import tokens
from recorder.errors import BadSynonyms
from recorder.model.base import Value
from recorder.settings import first_fault

SHIPPED = Path(__file__).with_name("synonyms.toml")
LONGEST = 6  # words of a phrase


class _File(Value):
    groups: tuple[tuple[str, ...], ...] = ()


class Same(NamedTuple):
    """Words [start:end] of a search, and all ways of saying them."""

    start: int
    end: int
    ways: tuple[str, ...]


class Synonyms:
    """Groups of words and short phrases; those of one group mean the same."""

    def __init__(self, groups: Sequence[Sequence[str]]) -> None:
        self._groups = tuple(map(tuple, groups))
        self._by_first: dict[str, set[tuple[tuple[str, ...], int]]] = defaultdict(set)
        for number, group in enumerate(groups):
            for phrase in map(tokens, group):
                self._by_first[phrase[0]].add((phrase, number))

    def found(self, spellings: Sequence[Sequence[str]]) -> Iterator[Same]:
        """The phrases that stand in a search. spellings: of each word in turn, folded."""
        for start, words in enumerate(spellings):
            starts = {phrase for word in words for phrase in self._by_first.get(word, ())}
            for phrase, number in sorted(starts):
                end = start + len(phrase)
                told = spellings[start:end]
                if len(told) == len(phrase) and all(map(_among, phrase, told)):
                    yield Same(start, end, self._groups[number])

    def words(self) -> frozenset[str]:
        """All that are a single word, folded."""
        phrases = {phrase for starting in self._by_first.values() for phrase, _ in starting}
        return frozenset(phrase[0] for phrase in phrases if len(phrase) == 1)


def _among(word: str, spellings: Sequence[str]) -> bool:
    return word in spellings


def synonyms(own: Path | None = None) -> Synonyms:
    """The shipped groups and those of a firm's file, which need not exist. Raises BadSynonyms."""
    shipped = _shipped()
    groups = _read(own) if own else ()
    return Synonyms((*shipped, *groups))


@functools.cache
def _shipped() -> tuple[tuple[str, ...], ...]:
    return _read(SHIPPED)


def _read(path: Path) -> tuple[tuple[str, ...], ...]:
    try:
        groups = _File.model_validate(tomllib.loads(path.read_text(encoding="utf-8-sig"))).groups
    except FileNotFoundError:
        return ()
    except OSError as error:
        raise BadSynonyms(path=path, detail=cause(error)) from error
    except ValidationError as error:
        raise BadSynonyms(path=path, detail=first_fault(error)) from error
    except ValueError as error:  # no UTF-8, no TOML
        raise BadSynonyms(path=path, detail=str(error)) from error
    for number, group in enumerate(groups):
        _check(path, number, group)
    return groups


def _check(path: Path, number: int, group: Sequence[str]) -> None:
    for phrase in group:
        if not 1 <= len(tokens(phrase)) <= LONGEST:
            detail = f"groups.{number}: {phrase!r} is not one to {LONGEST} words"
            raise BadSynonyms(path=path, detail=detail)
    if len({tokens(phrase) for phrase in group}) < 2:
        detail = f"groups.{number}: it takes two ways of saying a thing"
        raise BadSynonyms(path=path, detail=detail)
