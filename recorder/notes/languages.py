"""The languages that can be spoken, and the vocabulary of one of them with a firm's own words.

A language is a data file, ``words/<code>.toml``, and where its number words are not English ones a
function that reads them as digits. The table ``[grammar]`` of that file lists the small words that
the grammar knows by name ("and", "to", "no", "both"), each under its English name.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from recorder.errors import UnknownLanguage
from recorder.model.fields import FIELDS
from recorder.model.units import UNITS
from recorder.notes.firm_words import with_own
from recorder.notes.numbers import german
from recorder.notes.words.lexer import Tokens, tokens_of
from recorder.notes.words.speaking import ENGLISH, Vocabulary, english, speaking, tables_of

_NUMBER_WORDS: dict[str, Callable[[Tokens], Tokens]] = {"de": german.read_numbers}
LANGUAGES = (ENGLISH, *_NUMBER_WORDS)
# These are no phrases to be found: the recogniser's prompt, and the small words themselves.
_AS_THEY_STAND = {"prompt", "grammar"}


def vocabulary_of(language: str, own: Path | None = None) -> Vocabulary:
    """The words of a language, and those of the file ``own`` where there is one.

    Raises UnknownLanguage, BadVocabulary.
    """
    if language not in LANGUAGES:
        raise UnknownLanguage(wanted=language, near=", ".join(LANGUAGES))
    shipped = _whole(tables_of(language), english().tables)
    tables = with_own(shipped, own) if own else shipped
    if language == ENGLISH:
        return english() if tables is shipped else Vocabulary(language, tables)
    read = _reader(tables["grammar"], _NUMBER_WORDS[language])
    with speaking(Vocabulary(language, tables, read)):
        plain = {
            name: table if name in _AS_THEY_STAND else _plain(table)
            for name, table in tables.items()
        }
    return Vocabulary(language, plain, read)


def _whole(tables: Mapping[str, Any], like: Mapping[str, Any]) -> dict[str, Any]:
    """The tables, and an empty one for each that English has beside them."""
    whole = dict(tables)
    for key, value in like.items():
        if isinstance(value, Mapping):
            whole[key] = _whole(tables.get(key, {}), value)
        else:
            whole.setdefault(key, type(value)())
    return whole


def _reader(
    grammar: Mapping[str, list[str]], read_numbers: Callable[[Tokens], Tokens]
) -> Callable[[Tokens], Tokens]:
    known = {word: name for name, words in grammar.items() for word in words}

    def read(tokens: Tokens) -> Tokens:
        return tuple(
            token._replace(text=known[token.text]) if token.text in known else token
            for token in read_numbers(tokens)
        )

    return read


def _plain(node: Any) -> Any:
    """The phrases as they come out of the reader, so that a word met in a text is one of them."""
    if isinstance(node, Mapping):
        return {key: _plain(value) for key, value in node.items()}
    if isinstance(node, list):
        return [_plain(value) for value in node]
    named = node in FIELDS or node in UNITS
    return node if named else " ".join(token.text for token in tokens_of(node))
