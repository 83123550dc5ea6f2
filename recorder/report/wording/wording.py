"""The words of the report, all of them: said in English here, written in the language in force.

``with writing("de", folders):`` puts a language in force for what runs inside; without one, and in
a new thread, it is English. Every text of the page is an argument of ``say``, ``say_in``, ``count``
or ``noted``, in a template or in the code, so that ``report_templates/wording/report.pot`` can be
made of them.
"""

from __future__ import annotations

import functools
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date, datetime, time
from pathlib import Path

from recorder.report.wording.language import ENGLISH, Language, load

_in_force: ContextVar[Language | None] = ContextVar("wording", default=None)


@contextmanager
def writing(code: str, folders: Sequence[Path]) -> Iterator[None]:
    """Inside, the page is written in this language, e.g. 'en', 'en_US', 'de'.

    folders: of templates, the first one counts most; ``wording/<code>.po`` lies in them. Raises
    UnknownLanguage, BadWording and FileTooLarge.
    """
    token = _in_force.set(load(code, folders))
    try:
        yield
    finally:
        _in_force.reset(token)


def in_force() -> Language:
    return _in_force.get() or _english()


@functools.cache
def _english() -> Language:
    return load(ENGLISH, ())


def language_tag() -> str:
    """The language in force as HTML and PDF name it (BCP 47): 'en', 'de-AT'."""
    return in_force().tag


def translated(text: str) -> str:
    """The text with its placeholders still in it."""
    return in_force().texts.gettext(text)


def translated_count(one: str, many: str, n: int) -> str:
    """The form for ``n`` with its placeholders still in it."""
    return in_force().texts.ngettext(one, many, n)


def translated_in(context: str, text: str) -> str:
    """The text as it is meant in this context, with its placeholders still in it."""
    return in_force().texts.pgettext(context, text)


def say(text: str, /, **values: object) -> str:
    """``say("Job {number}", number="4817")``: the values go in as they are."""
    return translated(text).format(**values)


def say_in(context: str, text: str, /, **values: object) -> str:
    """``say`` for a text with two meanings; the context, for translators, says which is meant."""
    return translated_in(context, text).format(**values)


def count(one: str, many: str, n: int, /, **values: object) -> str:
    """``count("{n} finger", "{n} fingers", 7)``. Both texts hold the same placeholders."""
    return translated_count(one, many, n).format(n=n, **values)


def noted(text: str) -> str:
    """The text itself, for the catalogue: what a table holds and ``say`` writes later."""
    return text


def number(value: float, decimals: int) -> str:
    """Rounded to so many decimals, with the decimal mark of the language and no other marks."""
    return in_force().number(f"{value:z.{decimals}f}")


def digits(text: str) -> str:
    """A number that has been rounded to text, with the decimal mark of the language."""
    return in_force().number(text)


def day(at: date) -> str:
    """A day for people: 'November 25, 2025', '25. November 2025'."""
    return in_force().day(at)


def month(at: date) -> str:
    """The month of a day for people: 'November 2025'."""
    return in_force().month(at)


def time_of_day(at: time) -> str:
    """'2:32 PM', '14:32'."""
    return in_force().time_of_day(at)


def moment(at: datetime) -> str:
    """A time for people, with its zone. Evidence is in ISO 8601 instead: ``isoformat``."""
    return in_force().moment(at)
