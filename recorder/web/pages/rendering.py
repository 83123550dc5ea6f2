"""Templates to HTML: the one module of the web that knows Jinja.

A template sees what it is given and the names of ``_environment``, and a name that is not given is
an error and not a blank. Everything is escaped; nothing here marks a text of a job as safe.
"""

from __future__ import annotations

import functools
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse

from recorder.model.measurement import Decision
from recorder.model.plural import counted
from recorder.model.reading import Standing
from recorder.report.content.entries import standing_mark
from recorder.report.content.frame import Mark
from recorder.report.content.measured import decision_mark
from recorder.web.pages import dates

TEMPLATES = Path(__file__).parents[1] / "templates"


def page(request: Request, name: str, *, status: int = 200, **context: object) -> HTMLResponse:
    """A whole page. ``request`` is known to its template."""
    return HTMLResponse(part(name, request=request, **context), status)


def part(name: str, **context: object) -> str:
    """A piece of a page that stands by itself."""
    return environment().get_template(name).render(context)


def seal(request: Request) -> str:
    """What a form of this device sends along, so that no other page can send it in its name: the
    guard leaves it in the state of the request.
    """
    return str(getattr(request.state, "seal", ""))


@functools.cache
def environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    made.globals |= {
        "seal": seal,
        "standing_mark": _standing,
        "decision_mark": _decision,
        "counted": counted,
    }
    made.filters |= {"clock": dates.clock, "day": dates.day, "moment": dates.moment, "short": short}
    return made


def short(text: str, most: int) -> str:
    """What a stranger may have made endless, cut; the whole of it stands elsewhere."""
    return text if len(text) <= most else f"{text[:most].rstrip()}…"


def _standing(kind: str) -> Mark:
    """Sign and word of a standing, as in the report, which shows none that was taken back."""
    if kind == Standing.WITHDRAWN:
        return Mark(kind=kind, sign="–", word="taken back")
    return standing_mark(Standing(kind))


def _decision(kind: str) -> Mark:
    """Sign and word of a decision, as in the report."""
    return decision_mark(Decision(kind))
