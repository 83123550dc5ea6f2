"""The words of the recorder's own speech, as data: one file for each language."""

from __future__ import annotations

import functools
import tomllib
from pathlib import Path
from typing import Any

from recorder.notes.words.speaking import in_force

FOLDER = Path(__file__).parent


@functools.cache
def tables_of(language: str) -> dict[str, Any]:
    """The tables of a language, as they stand in its file."""
    return tomllib.loads((FOLDER / f"{language}.toml").read_text(encoding="utf-8"))


def _tables() -> dict[str, Any]:
    return tables_of(in_force().language)


def language() -> str:
    return in_force().language


def sentence(which: str, /, **values: object) -> str:
    """One of the sentences, with values for the names in its braces. KeyError for none."""
    text: str = _tables()["sentences"][which]
    return text.format(**values)


def of(table: str, name: str, otherwise: str | None = None) -> str:
    """An entry of a table of words. KeyError for one that is missing, unless there is another."""
    found: str | None = _tables()[table].get(name, otherwise)
    if found is None:
        raise KeyError(f"{table}.{name}")
    return found


def capital(text: str) -> str:
    """As the beginning of a sentence."""
    return text[:1].upper() + text[1:]


def listed(names: tuple[str, ...] | list[str]) -> str:
    """'pressure, dwell and outcome'."""
    if len(names) < 2:
        return "".join(names)
    return sentence("and", first=", ".join(names[:-1]), last=names[-1])
