"""The guard before everything: places, pages of other sites, seals, limits, headers."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from typing import Any

import pytest
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route, WebSocketRoute
from starlette.testclient import TestClient
from starlette.websockets import WebSocket, WebSocketDisconnect

from recorder.web.access import bodies, limits, sockets
from recorder.web.access.access import Access
from recorder.web.access.guard import Guard
from recorder.web.access.places import Places, origin
from recorder.web.access.refusals import QUIET_S, Refusals
from recorder.web.app import Application
from recorder.web.house import House
from recorder.web.pages import errors
from tests.web.conftest import PLACE, PORT, unpaired_client

ECHO = f"ws://localhost:{PORT}/echo"  # the client takes no base for sockets
STRANGE_HOSTS = (
    "evil.example", "evil.example:8750", "localhost", "localhost:8751", "localhost.:8750",
    "127.0.0.1.evil.example:8750", "localhost:8750@evil.example", "127.0.0.2:8750", "",
    "[::2]:8750", "0.0.0.0:8750",
)  # fmt: skip
POLICY = (
    "default-src 'none'", "object-src 'none'", "script-src 'self'", "style-src 'self'",
    "base-uri 'none'", "frame-ancestors 'none'", "form-action 'self'",
)  # fmt: skip
STRANGE_ORIGINS = (
    "null", "https://evil.example", "http://localhost", "http://localhost:8751",
    "https://localhost:8750", "http://127.0.0.1:8750", "http://localhost:8750.evil.example", "",
    "http://localhost:8750/", "HTTP://LOCALHOST:8750",
)  # fmt: skip


async def _body(request: Request) -> Response:
    return PlainTextResponse(f"{request.method} {len(await request.body())}")


async def _form(request: Request) -> Response:
    async with request.form() as form:
        return PlainTextResponse(str(form.get("value")))


async def _fail(request: Request) -> Response:
    raise ZeroDivisionError("secret detail")


async def _echo(socket: WebSocket) -> None:
    await socket.accept()
    try:
        while True:
            await socket.send_text(str(len(await socket.receive_bytes())))
    except WebSocketDisconnect:
        return


class Behind(Starlette):
    """A few addresses that do nothing, so that all that happens is the guard's."""

    def __init__(self, access: Access) -> None:
        both = ["GET", "POST"]
        routes = [
            Route("/body", _body, methods=both),
            Route("/live/one/photo", _body, methods=both),
            Route("/form", _form, methods=both),
            Route("/fail", _fail),
            WebSocketRoute("/echo", _echo),
        ]
        super().__init__(routes=routes, exception_handlers=errors.EXCEPTION_HANDLERS)
        self._access = access

    def build_middleware_stack(self) -> Any:
        return Guard(super().build_middleware_stack(), self._access)


@pytest.fixture
def behind(house: House, device: TestClient) -> TestClient:
    client = TestClient(
        Behind(house.access), base_url=PLACE, follow_redirects=False, raise_server_exceptions=False
    )
    client.headers |= {**device.headers, "accept": "*/*"}
    return client


def test_what_may_pass_passes(behind: TestClient) -> None:
    assert behind.get("/body").text == "GET 0"
    assert behind.post("/body", content=b"x" * 100).text == "POST 100"
    with behind.websocket_connect(ECHO) as socket:
        socket.send_bytes(b"xyz")
        assert socket.receive_text() == "3"


@pytest.mark.parametrize(
    "host", ["localhost:8750", "127.0.0.1:8750", "[::1]:8750", "LOCALHOST:8750"]
)
def test_names_of_this_machine(behind: TestClient, host: str) -> None:
    place = f"http://{host.lower()}"
    assert behind.get("/body", headers={"host": host, "origin": place}).status_code == 200


@pytest.mark.parametrize("host", STRANGE_HOSTS)
def test_another_name_that_leads_here_is_refused(behind: TestClient, host: str) -> None:
    """DNS rebinding: the page of another site has its own name lead to this machine."""
    for headers in ({"host": host}, {"host": host, "origin": f"http://{host}"}):
        assert behind.get("/body", headers=headers).status_code == 421
        with pytest.raises(WebSocketDisconnect), behind.websocket_connect(ECHO, headers=headers):
            pass


@pytest.mark.parametrize("foreign", STRANGE_ORIGINS)
def test_a_page_of_another_place_is_refused(behind: TestClient, foreign: str) -> None:
    headers = {"origin": foreign}
    assert behind.get("/body", headers=headers).status_code == 403
    assert behind.post("/body", headers=headers).status_code == 403
    with pytest.raises(WebSocketDisconnect), behind.websocket_connect(ECHO, headers=headers):
        pass


def test_a_change_without_an_origin_is_refused(behind: TestClient) -> None:
    del behind.headers["origin"]
    assert behind.get("/body").status_code == 200
    assert behind.post("/body").status_code == 403
    with pytest.raises(WebSocketDisconnect), behind.websocket_connect(ECHO):
        pass


@pytest.mark.parametrize("site", ["cross-site", "same-site", "none", "strange"])
def test_what_the_browser_says_of_the_sender_counts(behind: TestClient, site: str) -> None:
    """'same-site' is another port of this machine: its cookies are sent along."""
    headers = {"sec-fetch-site": site}
    assert behind.post("/body", headers=headers).status_code == 403
    loaded = behind.get("/body", headers={**headers, "sec-fetch-mode": "no-cors"})
    assert loaded.status_code == (200 if site == "none" else 403)
    with pytest.raises(WebSocketDisconnect), behind.websocket_connect(ECHO, headers=headers):
        pass


def test_a_link_from_elsewhere_shows_a_page_but_not_in_a_frame(behind: TestClient) -> None:
    headers = {"sec-fetch-site": "cross-site", "sec-fetch-mode": "navigate"}
    assert behind.get("/body", headers={**headers, "sec-fetch-dest": "document"}).status_code == 200
    assert behind.get("/body", headers={**headers, "sec-fetch-dest": "iframe"}).status_code == 403


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "X"])
def test_other_methods_are_refused(behind: TestClient, method: str) -> None:
    assert behind.request(method, "/body").status_code == 405


@pytest.mark.parametrize(
    "path",
    ["/%2e%2e/body", "/static/%2e%2e/app.py", "/..%2fbody", "/body%00", "/a%5cb", "/%252e/body",
     "//body", "/a%0ab", "/%C2%85", f"/body/{'9' * 5000}"],
)  # fmt: skip
def test_odd_paths_are_refused(behind: TestClient, path: str) -> None:
    assert behind.get(path).status_code == 404


def test_the_seal_comes_as_header_or_in_a_form(behind: TestClient) -> None:
    given = behind.headers.pop("x-seamnote-seal")
    assert behind.post("/form").status_code == 403
    assert behind.post("/form", data={"value": "7"}).status_code == 403
    assert behind.post("/form", data={"value": "7", "seal": "0" * 64}).status_code == 403
    assert behind.post("/form", data={"value": "7", "seal": given}).text == "7"
    assert behind.post("/form?seal=" + given, data={"value": "7"}).status_code == 403
    assert behind.post("/form", headers={"x-seamnote-seal": given[:-1]}).status_code == 403
    sealed = [("seal", (None, given)), ("value", ("a.png", b"x" * 9000))]
    assert behind.post("/form", files=sealed).status_code == 200
    assert behind.post("/form", files=sealed[::-1]).status_code == 403
    as_file = [("seal", ("seal.txt", given)), ("value", (None, "7"))]
    assert behind.post("/form", files=as_file).status_code == 403


def test_the_seal_of_another_device_is_worth_nothing(behind: TestClient, house: House) -> None:
    from recorder.web.access import secret

    _, other = house.access.pair(house.access.invite(), "Phone", "")
    headers = {"x-seamnote-seal": secret.seal(other)}
    assert behind.post("/body", headers=headers).status_code == 403


def test_a_body_is_held_to_its_limit_whatever_its_head_says(behind: TestClient) -> None:
    assert behind.post("/body", content=b"x" * limits.USUAL).status_code == 200
    assert behind.post("/body", content=b"x" * (limits.USUAL + 1)).status_code == 413

    def pieces(count: int) -> Iterator[bytes]:
        yield from (b"x" * 1024 for _ in range(count))

    assert behind.post("/body", content=pieces(64)).status_code == 200
    cut = behind.post("/body", content=pieces(65))  # without a length
    assert cut.status_code == 413
    assert cut.headers["connection"] == "close"
    assert set(cut.json()) == {"error", "remedy"}
    lying = {"content-length": "10"}
    assert behind.post("/body", content=pieces(65), headers=lying).status_code == 413
    for nonsense in (b"-1", b"1e3", b"\xb2", b"9" * 400, b""):
        headers = {"content-length": nonsense}
        assert behind.post("/body", content=b"", headers=headers).status_code == 413
    assert behind.post("/live/one/photo", content=b"x" * 9_000_000).status_code == 200
    assert behind.post("/live/one/photo", headers={"content-length": "60000000"}).status_code == 413


def test_a_form_is_held_to_its_limit_before_its_seal_is_known(behind: TestClient) -> None:
    del behind.headers["x-seamnote-seal"]
    kind = {"content-type": "application/x-www-form-urlencoded"}
    many = (b"a=" + b"x" * 1022 for _ in range(1000))
    assert behind.post("/form", content=many, headers=kind).status_code == 413


def test_a_body_that_comes_too_slowly_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "PAUSE_S", 0.01)
    refused: list[object] = []

    async def never() -> Any:
        await asyncio.Event().wait()

    async def run() -> None:
        with pytest.raises(bodies.Refused) as caught:
            await bodies.held(never, 100, refused.append)()
        assert caught.value.status_code == 408

    asyncio.run(run())
    assert len(refused) == 1


def test_a_device_that_goes_away_meanwhile_is_no_failure(house: House, device: TestClient) -> None:
    pieces = [
        {"type": "http.request", "body": b"x", "more_body": True},
        {"type": "http.disconnect"},
    ]
    headers = [(name.encode(), value.encode()) for name, value in device.headers.items()]
    scope = {
        "type": "http", "method": "POST", "path": "/body", "raw_path": b"/body", "scheme": "http",
        "headers": [*headers, (b"host", f"localhost:{PORT}".encode())], "query_string": b"",
    }  # fmt: skip

    async def receive() -> Any:
        return pieces.pop(0)

    async def send(message: Any) -> None:
        assert message["type"].startswith("http.response")

    asyncio.run(Behind(house.access)(scope, receive, send))
    assert pieces == []


def test_revoking_ends_what_is_still_being_sent(house: House, device: TestClient) -> None:
    """A large photo over a slow link may take minutes."""
    headers = [(name.encode(), value.encode()) for name, value in device.headers.items()]
    scope = {
        "type": "http", "method": "POST", "path": "/body", "raw_path": b"/body", "scheme": "http",
        "headers": [*headers, (b"host", f"localhost:{PORT}".encode())], "query_string": b"",
    }  # fmt: skip
    pieces = [{"type": "http.request", "body": b"x", "more_body": more} for more in (True, False)]
    answers: list[Any] = []

    async def receive() -> Any:
        if len(pieces) == 1:
            house.access.revoke(house.access.devices()[0].number)
        return pieces.pop(0)

    async def send(message: Any) -> None:
        answers.append(message)

    asyncio.run(Behind(house.access)(scope, receive, send))
    assert [each["status"] for each in answers if "status" in each] == [401]


def test_a_message_beyond_the_limit_closes_the_socket(behind: TestClient) -> None:
    with behind.websocket_connect(ECHO) as socket:
        socket.send_bytes(b"x" * limits.LARGEST_MESSAGE)
        assert socket.receive_text() == str(limits.LARGEST_MESSAGE)
        socket.send_bytes(b"x" * (limits.LARGEST_MESSAGE + 1))
        with pytest.raises(WebSocketDisconnect) as closed:
            socket.receive_text()
        assert closed.value.code == 1009


def test_revoking_closes_an_open_socket(
    behind: TestClient, house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sockets, "LOOK_S", 0.05)
    with behind.websocket_connect(ECHO) as socket:
        house.access.revoke(house.access.devices()[0].number)
        with pytest.raises(WebSocketDisconnect) as closed:
            socket.receive_text()
        assert closed.value.code == 1008
    with pytest.raises(WebSocketDisconnect), behind.websocket_connect(ECHO):
        pass


def test_every_answer_bears_the_headers(
    behind: TestClient, app: Application, device: TestClient, stranger: TestClient
) -> None:
    answers = [
        device.get("/"), device.get("/devices"), device.get("/nothing"), device.get("/pair"),
        device.get("/static/look.css"), device.get("/static/nothing.css"),
        device.post("/devices/invite"), device.get("/devices/invite"), stranger.get("/"),
        stranger.post("/"), stranger.get("/pair"), stranger.get("/", headers={"host": "evil"}),
        stranger.get("/", headers={"origin": "null"}), behind.get("/fail"),
        behind.post("/body", content=b"x" * 70_000),
        behind.post("/body", content=iter([b"x" * 70_000])),
    ]  # fmt: skip
    assert {each.status_code for each in answers} >= {200, 401, 403, 404, 405, 413, 421, 500}
    for each in answers:
        policy = each.headers["content-security-policy"]
        assert set(POLICY) <= set(policy.split("; "))
        assert "unsafe" not in policy
        assert each.headers["x-content-type-options"] == "nosniff"
        assert each.headers["referrer-policy"] == "same-origin"
        assert each.headers["cross-origin-opener-policy"] == "same-origin"
        assert each.headers["cross-origin-resource-policy"] == "same-origin"
        assert "microphone=(self), " in each.headers["permissions-policy"]
        kept = each.url.path.startswith("/static/")
        assert each.headers["cache-control"] == ("no-cache" if kept else "no-store")
        assert "access-control-allow-origin" not in each.headers
        assert "server" not in each.headers
        assert "strict-transport-security" not in each.headers


def test_a_failure_tells_nothing_of_the_inside(behind: TestClient) -> None:
    answer = behind.get("/fail")
    assert answer.status_code == 500
    assert "secret detail" not in answer.text
    assert "Traceback" not in answer.text


def test_refusals_are_told_once_a_minute_with_their_number(
    stranger: TestClient, told: list[str]
) -> None:
    for _ in range(50):
        stranger.get("/jobs/larkfield-bakery?secret=1")
    assert told == ["refused a request of an unpaired device"]
    lines: list[str] = []
    now_s = [0.0]
    refusals = Refusals(lines.append, lambda: now_s[0])
    for _ in range(3):
        refusals.of("a")
    now_s[0] += QUIET_S
    refusals.of("a")
    assert lines == ["refused a", "refused a (and 2 more like it before)"]


def test_an_unpaired_page_tells_how_to_pair(app: Application) -> None:
    page = unpaired_client(app).get("/archive")
    assert page.status_code == 401
    assert "Pair this device" in page.text
    script = unpaired_client(app).get("/archive", headers={"accept": "application/json"})
    assert set(script.json()) == {"error", "remedy"}


def test_origins_are_written_as_browsers_write_them() -> None:
    assert origin("https", "10.0.0.7", 443) == "https://10.0.0.7"
    assert origin("http", "localhost", 443) == "http://localhost:443"
    places = Places(8750, ("10.0.0.7", "[fd00::2]", "Van.local"))
    assert places.origins == {
        "http://localhost:8750", "http://127.0.0.1:8750", "http://[::1]:8750",
        "https://10.0.0.7:8750", "https://[fd00::2]:8750", "https://van.local:8750",
    }  # fmt: skip


def test_the_network_has_no_plain_http_and_this_machine_no_other_name(home: Any) -> None:
    places = Places(8750, ("10.0.0.7",))

    def asked(scheme: str, *hosts: bytes) -> str | None:
        return places.origin_of({"scheme": scheme, "headers": [(b"host", each) for each in hosts]})

    assert asked("https", b"10.0.0.7:8750") == "https://10.0.0.7:8750"
    assert asked("wss", b"10.0.0.7:8750") == "https://10.0.0.7:8750"
    assert asked("http", b"10.0.0.7:8750") is None
    assert asked("http", b"localhost:8750", b"localhost:8750") is None
    assert asked("http") is None
    places.move(("10.0.0.8",))
    assert asked("https", b"10.0.0.7:8750") is None
