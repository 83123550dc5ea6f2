"""The page on which a device is paired; every unpaired one sees it, wherever it wanted to go."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from recorder.web.access.browsers import browser_of
from recorder.web.pages.rendering import page


def pairing(
    request: Request, status: int, error: str = "", headers: dict[str, str] | None = None
) -> Response:
    """error: why the last try did not work."""
    device = browser_of(request.headers.get("user-agent", ""))
    answer = page(request, "pair.html", status=status, error=error, device=device)
    answer.headers.update(headers or {})
    return answer
