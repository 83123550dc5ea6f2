"""The vocabulary in force: whose words are spoken, and how its number words are read.

The grammar is made of pure functions that all need the words of the narration in hand. They find
them here and not in their arguments: ``with speaking(vocabulary):`` puts one in force for what
runs inside, and whatever is made of its words (``kept``) lives as long as it does. Without one,
English as it ships is in force. A new thread starts with that and enters ``speaking`` itself.
"""

from __future__ import annotations

import functools
import tomllib
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, ParamSpec, TypeVar, cast

if TYPE_CHECKING:
    from recorder.notes.words.lexer import Tokens

P = ParamSpec("P")
Made = TypeVar("Made")

FOLDER = Path(__file__).parent
ENGLISH = "en"


@dataclass(frozen=True, eq=False)
class Vocabulary:
    """language: its code. tables: as in the data file, with the firm's own words. read: turns the
    language's own number words and small words into the tokens that the grammar knows; None for
    English. made: what was made of the words already; see ``kept``.
    """

    language: str
    tables: Mapping[str, Any]
    read: Callable[[Tokens], Tokens] | None = None
    made: dict[Any, Any] = field(default_factory=dict, repr=False)


_in_force: ContextVar[Vocabulary | None] = ContextVar("vocabulary", default=None)


@contextmanager
def speaking(vocabulary: Vocabulary) -> Iterator[None]:
    """Inside, all words are those of this vocabulary."""
    token = _in_force.set(vocabulary)
    try:
        yield
    finally:
        _in_force.reset(token)


def in_force() -> Vocabulary:
    return _in_force.get() or english()


@functools.cache
def english() -> Vocabulary:
    """English without any firm's own words."""
    return Vocabulary(ENGLISH, tables_of(ENGLISH))


@functools.cache
def tables_of(language: str) -> dict[str, Any]:
    """The tables of a language's data files, as they stand there."""
    tables = _read(FOLDER / f"{language}.toml")
    return {**tables, "requests": _read(FOLDER / "requests" / f"{language}.toml")}


def _read(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8"))


def kept(make: Callable[P, Made]) -> Callable[P, Made]:
    """Make a thing out of the vocabulary in force once, for each vocabulary and each argument.

    Called a hundred times for each sentence, so it takes positional arguments alone.
    """

    def once(*args: Any) -> Made:
        made = (_in_force.get() or english()).made
        try:
            found: Made = made[make, args]
        except KeyError:
            found = made[make, args] = make(*args)  # type: ignore[call-arg]
        return found

    return cast(Callable[P, Made], functools.wraps(make)(once))
