"""The words of the report for templates: escaped, with values that may be markup themselves.

``{{ say("Job {number}", number=bdi(report.number)) }}`` keeps the element that ``bdi`` made and
escapes every other value, and the translation too.
"""

from __future__ import annotations

from markupsafe import Markup, escape

from recorder.report.wording import wording


def say(text: str, /, **values: object) -> Markup:
    return Markup(escape(wording.translated(text))).format(**values)


def say_in(context: str, text: str, /, **values: object) -> Markup:
    return Markup(escape(wording.translated_in(context, text))).format(**values)


def count(one: str, many: str, n: int, /, **values: object) -> Markup:
    return Markup(escape(wording.translated_count(one, many, n))).format(n=n, **values)


def bdi(value: object) -> Markup:
    """A value of unknown direction inside a sentence (HTML's ``bdi``)."""
    return Markup("<bdi>{}</bdi>").format(value)
