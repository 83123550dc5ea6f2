"""The templates of a look, filled with a page's values; the only module that imports Jinja.

Templates run in a sandbox: they see declared values and the words of the catalogue, call nothing
else, and open no file.
"""

from __future__ import annotations

import functools
import traceback
import unicodedata
from typing import Any

from jinja2 import FunctionLoader, StrictUndefined, TemplateNotFound, TemplateSyntaxError
from jinja2.sandbox import ImmutableSandboxedEnvironment
from markupsafe import Markup, escape

from recorder.errors import BadTemplate
from recorder.model.base import Value
from recorder.report.content.frame import Document
from recorder.report.page.look import Look
from recorder.report.wording import markup

PAGE = "report.html"
_RIGHT_TO_LEFT = {"R", "AL", "AN"}  # Unicode UAX #9, table 4


class _Sandbox(ImmutableSandboxedEnvironment):
    def is_safe_attribute(self, obj: Any, attr: str, value: Any) -> bool:
        """Of a value its declared fields alone, and none of its methods."""
        if isinstance(obj, Value):
            return attr in type(obj).model_fields
        return super().is_safe_attribute(obj, attr, value)


def fill(report: Document, look: Look, name: str = PAGE) -> str:
    """A template as HTML or SVG, in which the document is ``report``.

    Raises BadTemplate where a file of the firm is at fault.
    """
    try:
        return environment(look).get_template(name).render(report=report)
    except TemplateSyntaxError as error:
        if error.name not in look.own:
            raise
        path = look.paths[str(error.name)]
        detail = error.message or "it is no template"
        raise BadTemplate(path=path, line=error.lineno, detail=detail) from error
    except Exception as error:  # whatever the expressions of a template may raise
        place = _place(error, look)
        if place is None:
            raise
        detail = f"{type(error).__name__}: {error}"
        raise BadTemplate(path=place.filename, line=place.lineno, detail=detail) from error


def _place(error: Exception, look: Look) -> traceback.FrameSummary | None:
    """The innermost line of a template, where that is one of the firm's."""
    templates = {str(path): name for name, path in look.paths.items()}
    frames = [f for f in traceback.extract_tb(error.__traceback__) if f.filename in templates]
    own = [f for f in frames if templates[f.filename] in look.own]
    return own[-1] if own else None


@functools.lru_cache(maxsize=4)
def environment(look: Look) -> ImmutableSandboxedEnvironment:
    def source(name: str) -> tuple[str, str, None]:
        if name not in look.files:
            raise TemplateNotFound(name)
        return look.text(name), str(look.paths[name]), None

    made = _Sandbox(
        loader=FunctionLoader(source),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals = {
        "say": markup.say,
        "say_in": markup.say_in,
        "count": markup.count,
        "bdi": isolated,
        "figure_space": "\N{FIGURE SPACE}",
        "range": made.globals["range"],
    }
    made.filters["css"] = css_string
    return made


def isolated(value: object) -> Markup:
    """A value that may run from right to left, kept from turning what stands around it.

    Others go without an element of their own, each of which costs the typesetter time.
    """
    turns = any(unicodedata.bidirectional(char) in _RIGHT_TO_LEFT for char in str(value))
    return markup.bdi(value) if turns else escape(value)


def css_string(text: str) -> Markup:
    """A string of a style sheet inside HTML, which ends neither (CSS Syntax, 4.3.7)."""
    plain = "".join(c if c.isalnum() or ord(c) > 127 else f"\\{ord(c):06x}" for c in text)
    return Markup(f'"{plain}"')
