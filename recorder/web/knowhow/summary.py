"""The summary of a month as PDF, written aside of all else that the page does."""

from __future__ import annotations

import re
import tempfile
import threading
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response

from recorder.errors import Busy
from recorder.flows.knowhow import summary as flow
from recorder.flows.progress import Silent
from recorder.web.jobs.work import at_work, house_of

_SAFE = re.compile(r"[^A-Za-z0-9_-]+")
_LONGEST = 200
_one_at_a_time = threading.Lock()  # it takes a core for seconds


def pdf(request: Request) -> Response:
    """GET /summary?month=2026-10&customer=…; without a customer for the firm."""
    house, query = house_of(request), request.query_params
    month = query.get("month", "")[:_LONGEST].strip()
    customer = query.get("customer", "")[:_LONGEST].strip() or None
    if not _one_at_a_time.acquire(blocking=False):
        raise Busy(path="another summary")
    try:
        with at_work(house), tempfile.TemporaryDirectory(prefix="seamnote-") as place:
            out = Path(place) / "summary.pdf"
            written = flow.write_summary(house.home, house.settings, month, customer, out, Silent())
            content = written.read_bytes()
    finally:
        _one_at_a_time.release()
    name = _SAFE.sub("-", f"summary-{month}-{customer or ''}").strip("-")
    headers = {"content-disposition": f'attachment; filename="{name[:80]}.pdf"'}
    return Response(content, media_type="application/pdf", headers=headers)
