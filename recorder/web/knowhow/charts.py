"""The charts of the pages as files: SVG for the page, PNG and CSV to be kept."""

from __future__ import annotations

import re
import threading

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from recorder.flows.knowhow import pictures, trend_tables
from recorder.flows.knowhow import trends as flow
from recorder.knowhow.charts import control, outcomes, scatter
from recorder.knowhow.charts.look import Look
from recorder.web.house import House
from recorder.web.jobs.work import house_of
from recorder.web.knowhow.charted import Charted, charted_of

WIDTH_PX, NARROW = 1600, 360
_FORMS = {"svg": "image/svg+xml", "png": "image/png", "csv": "text/csv"}
_SAFE = re.compile(r"[^A-Za-z0-9_-]+")
_one_at_a_time = threading.Lock()  # a picture takes a core for a second


def file(request: Request) -> Response:
    """GET /trends/{kind}.{form}: chart, months or gap; svg, png or csv. As the page that it belongs
    to has it asked; with 'narrow' for a telephone, with 'keep' to be kept under a name of ours.
    """
    kind, form = request.path_params["kind"], request.path_params["form"]
    if kind not in _KINDS or form not in _FORMS:
        raise HTTPException(404)
    asked = charted_of(request.query_params)
    look = Look(width=NARROW) if "narrow" in request.query_params else Look()
    drawing, table = _KINDS[kind](house_of(request), asked, look)
    if form == "csv":
        return _answer(request, table.encode(), form, kind, asked)
    if form == "svg":
        return _answer(request, drawing.encode(), form, kind, asked)
    with _one_at_a_time:
        content = pictures.png(drawing, WIDTH_PX)
    return _answer(request, content, form, kind, asked)


def _chart(house: House, asked: Charted, look: Look) -> tuple[str, str]:
    of = (asked.stream, asked.name)
    found = flow.chart_of(house.home, asked.characteristic, *of, *asked.times())
    return control.svg(found, look=look), trend_tables.of_chart(found)


def _months(house: House, asked: Charted, look: Look) -> tuple[str, str]:
    found = flow.months_of(house.home, *asked.times(), asked.stream, asked.name)
    return outcomes.svg(found, look=look), trend_tables.of_months(found)


def _gap(house: House, asked: Charted, look: Look) -> tuple[str, str]:
    found = flow.scatter_of(house.home, asked.field, *asked.times(), asked.stream, asked.name)
    return scatter.svg(found, look=look), trend_tables.of_scatter(found)


# Each as SVG and as CSV. All raise BadValue, UnknownName.
_KINDS = {"chart": _chart, "months": _months, "gap": _gap}


def _answer(request: Request, content: bytes, form: str, kind: str, asked: Charted) -> Response:
    headers = {}
    if form != "svg" or "keep" in request.query_params:
        what = {"months": "outcomes", "gap": f"gap-{asked.field}"}.get(kind, asked.characteristic)
        name = _SAFE.sub("-", f"{what}-{asked.stream}-{asked.name}").strip("-")[:80]
        headers["content-disposition"] = f'attachment; filename="{name}.{form}"'
    return Response(content, media_type=_FORMS[form], headers=headers)
