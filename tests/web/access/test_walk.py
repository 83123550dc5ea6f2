"""A walk over every route of the application, as nobody who may not should come through."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from starlette.applications import Starlette
from starlette.responses import Response
from starlette.routing import Mount, Route, WebSocketRoute
from starlette.testclient import TestClient
from starlette.types import ASGIApp
from starlette.websockets import WebSocketDisconnect

from recorder.archive.disk.home import Home
from recorder.flows.live.sessions import Sessions
from recorder.settings import Settings
from recorder.web.access import limits
from recorder.web.access.access import Access
from recorder.web.access.places import Places
from recorder.web.app import Application, application
from recorder.web.house import House
from tests.web.conftest import PORT, paired_client, unpaired_client

REFUSED = {401, 403, 404, 405, 413, 421, 422}
# What an unpaired device may load: the way to pair, and files of the program.
OPEN = {
    ("GET", "/pair"), ("POST", "/pair"), ("GET", "/static"),
    ("GET", "/manifest.webmanifest"), ("GET", "/service-worker.js"),
}  # fmt: skip
ODD_NAMES = (
    "%2e%2e", "%2e%2e%2f%2e%2e%2fsettings.toml", "..%5c..%5cjobs", "a%00b", "%00", "x" * 500,
    "-", "CON", "LARKFIELD", "a b", "%c0%ae%c0%ae", "%ff", "1.5", "-1", "99999999999999999999",
    "9" * 5000,
    "'%20or%201=1", "%3Cscript%3E", "{{7*7}}",
)  # fmt: skip


class Place:
    """A home with a job, and a server over it."""

    def __init__(self, home: Home) -> None:
        began = Sessions(home, Settings(), None)
        self.job = began.begin().job_id
        began.close()
        self.home = home
        sessions = Sessions(home, Settings(), None)
        self.access = Access(home, Places(PORT))
        self.house = House(home, Settings(), None, sessions, self.access)
        self.app: Application = application(self.house)
        self.paired = paired_client(self.app, self.access)

    def kept(self) -> dict[str, str]:
        """Everything in the home, by name, with what it holds."""
        return {
            str(path.relative_to(self.home.root)): hashlib.sha256(path.read_bytes()).hexdigest()
            for path in self.home.root.rglob("*")
            if path.is_file()
        }


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Place]:
    made = Place(Home.open(tmp_path_factory.mktemp("walk") / "home"))
    yield made
    made.house.sessions.close()


@pytest.fixture(scope="module")
def entered(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Place]:
    """One whose job may be opened meanwhile, as its own device asks for parts of it."""
    made = Place(Home.open(tmp_path_factory.mktemp("entered") / "home"))
    yield made
    made.house.sessions.close()


def routes(app: Application) -> list[tuple[str, str]]:
    """Method and address of every route, sockets as 'WS'."""
    found = []
    for route in app.routes:
        if isinstance(route, WebSocketRoute):
            found.append(("WS", route.path))
        elif isinstance(route, Mount):
            found.append(("GET", route.path))
        else:
            assert isinstance(route, Route)
            found += [(method, route.path) for method in sorted(route.methods or ())]
    return [(method, path) for method, path in found if method != "HEAD"]


def filled(path: str, job: str, name: str = "1") -> str:
    """An address of the form, of the job that exists; every other name in it is ``name``."""
    return re.sub(r"\{id\}", job, re.sub(r"\{(?!id\})\w+(:\w+)?\}", name, path))


def asked(client: TestClient, method: str, path: str, **more: object) -> Response | None:
    """The answer; None for a socket that was not let in."""
    if method == "WS":
        more["headers"] = {**dict(more.get("headers", {})), "sec-websocket-version": "13"}  # type: ignore[call-overload]
        try:
            with client.websocket_connect(f"ws://localhost:{PORT}{path}?page={'0' * 32}", **more):
                pytest.fail(f"{path} let a socket in")
        except WebSocketDisconnect:
            return None
    return client.request(method, path, **more)  # type: ignore[arg-type, return-value]


def must_refuse(place: Place, client: TestClient, headers: dict[str, str], **more: object) -> int:
    """Every route but the open ones refuses, changes nothing and tells of no job."""
    before = place.kept()
    walked = 0
    for method, form in routes(place.app):
        if (method, form) in OPEN:
            continue
        answer = asked(client, method, filled(form, place.job), headers=headers, **more)
        if answer is not None:
            assert answer.status_code in REFUSED, (method, form, answer.status_code)
            assert place.job not in answer.text, (method, form)
            assert "set-cookie" not in answer.headers
        walked += 1
    assert place.kept() == before
    return walked


def test_the_walk_knows_all_that_there_is(place: Place) -> None:
    walked = routes(place.app)
    for expected in (
        ("GET", "/"), ("POST", "/jobs"), ("GET", "/archive"), ("WS", "/live/{id}/socket"),
        ("POST", "/live/{id}/photo"), ("GET", "/jobs/{id}"), ("POST", "/devices/invite"),
    ):  # fmt: skip
        assert expected in walked
    assert set(walked) >= OPEN
    for most in limits._LARGER:
        forms = [filled(path, "x", "customer") for _, path in walked]
        assert any(most[0].fullmatch(path) for path in forms), most[0].pattern


def test_an_unpaired_device_sees_and_changes_nothing(place: Place) -> None:
    assert must_refuse(place, unpaired_client(place.app), {}) > 20


def test_without_the_guard_the_walk_would_come_through(place: Place) -> None:
    """So that it is the guard that refuses, and not a walk that leads past everything."""

    class Unguarded(Application):
        def build_middleware_stack(self) -> ASGIApp:
            return Starlette.build_middleware_stack(self)

    bare = Unguarded(place.house, place.app.routes)
    assert place.job in unpaired_client(bare).get("/").text
    with pytest.raises((AssertionError, AttributeError)):
        must_refuse(place, unpaired_client(bare), {})


def test_what_is_open_tells_of_no_job(place: Place) -> None:
    client = unpaired_client(place.app)
    for path in ("/pair", "/static/look.css", "/manifest.webmanifest", "/service-worker.js"):
        answer = client.get(path)
        assert answer.status_code == 200, path
        assert place.job not in answer.text


def test_nobody_learns_whether_a_job_exists(place: Place) -> None:
    client = unpaired_client(place.app)
    for method, form in routes(place.app):
        if "{id}" in form and method != "WS":
            real = client.request(method, filled(form, place.job))
            made_up = client.request(method, filled(form, "2026-01-01-never-was"))
            assert (real.status_code, real.text) == (made_up.status_code, made_up.text)
            assert real.headers.items() == made_up.headers.items()


@pytest.mark.parametrize("why", ["revoked", "replayed", "forgotten"])
def test_a_device_that_is_out_sees_and_changes_nothing(place: Place, why: str) -> None:
    client = paired_client(place.app, place.access, why)
    number = place.access.devices()[-1].number
    if why == "revoked":
        place.access.revoke(number)
    elif why == "replayed":  # of another server, whose cookie bears another name
        client.headers["cookie"] = client.headers["cookie"].replace("-8750=", "-8751=")
    else:
        then = datetime.now(UTC) - timedelta(days=31)

        def unseen(book):  # type: ignore[no-untyped-def]
            old = [d.model_copy(update={"last_seen": then}) if d.number == number else d
                   for d in book.devices]  # fmt: skip
            return book.model_copy(update={"devices": tuple(old)})

        place.access.store.change(unseen)
    must_refuse(place, client, {})


@pytest.mark.parametrize(
    "headers",
    [
        {"host": "evil.example:8750", "origin": "http://evil.example:8750"},
        {"origin": "https://evil.example"},
        {"origin": "null"},
        {"origin": f"http://localhost:{PORT + 1}"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site", "sec-fetch-mode": "cors"},
    ],
    ids=lambda headers: " ".join(headers.values()),
)
def test_a_paired_device_led_by_a_strange_page_changes_nothing(
    place: Place, headers: dict[str, str]
) -> None:
    must_refuse(place, place.paired, headers)


@pytest.mark.parametrize("seal", [None, "", "0" * 64, "é"])
def test_nothing_changes_without_the_seal(place: Place, seal: str | None) -> None:
    client = paired_client(place.app, place.access, "Unsealed")
    del client.headers["x-seamnote-seal"]
    headers = {} if seal is None else {"x-seamnote-seal": seal.encode()}
    before = place.kept()
    for method, form in routes(place.app):
        if method == "POST" and (method, form) not in OPEN:
            answer = client.request(method, filled(form, place.job), headers=headers)
            assert answer.status_code == 403, form
    assert place.kept() == before


def test_nothing_changes_by_get(place: Place) -> None:
    """An image or a link of another page can ask for any address."""
    walked = routes(place.app)
    posted = {path for method, path in walked if method == "POST"}
    shown = {path for method, path in walked if method == "GET"}
    before = place.kept()
    for path in posted - shown:
        assert place.paired.get(filled(path, place.job)).status_code in {404, 405}, path
    assert place.kept() == before


def still(entered: Place) -> dict[str, str]:
    """What does not change while a job is open."""
    moving = ("talk.json", ".lock")
    return {name: held for name, held in entered.kept().items() if not name.endswith(moving)}


@pytest.mark.parametrize("name", ODD_NAMES)
def test_no_name_in_an_address_leads_astray(entered: Place, name: str) -> None:
    """Not even a paired device reaches a file that it was not offered."""
    before = still(entered)
    for method, form in routes(entered.app):
        names = re.findall(r"\{\w+(?::\w+)?\}", form)
        for each in names:
            path = filled(form.replace(each, name), entered.job)
            if method == "WS":
                asked(entered.paired, method, path)
                continue
            answer = entered.paired.request(method, path, follow_redirects=False)
            assert answer.status_code in REFUSED | {400}, (method, path, answer.status_code)
            assert str(entered.home.root) not in answer.text
    assert still(entered) == before


@pytest.mark.parametrize(
    "path", ["/static/%2e%2e/app.py", "/static/", "/static//etc/passwd", "/static/look.css%00"]
)
def test_static_files_are_those_of_the_program_alone(place: Place, path: str) -> None:
    answer = unpaired_client(place.app).get(path)
    assert answer.status_code in {401, 404, 405}


def test_no_route_takes_more_than_its_limit(place: Place) -> None:
    before = place.kept()
    for method, form in routes(place.app):
        if method != "POST" or (method, form) in OPEN:
            continue
        path = filled(form, place.job)
        most = limits.largest(path)
        told = place.paired.post(path, headers={"content-length": str(most + 1)})
        assert told.status_code == 413, path
    assert place.kept() == before


def test_pairing_takes_no_large_body(place: Place) -> None:
    kind = {"content-type": "application/x-www-form-urlencoded"}
    answer = unpaired_client(place.app).post("/pair", content=iter([b"x" * 90_000]), headers=kind)
    assert answer.status_code == 413
    parts = {"content-type": "multipart/form-data; boundary=x"}
    answer = unpaired_client(place.app).post(
        "/pair", content=b'--x\r\nContent-Disposition: form-data; name="f"; filename="a"\r\n\r\n',
        headers=parts,
    )  # fmt: skip
    assert answer.status_code in {400, 403}


def test_files_of_the_home_are_for_their_owner(place: Place) -> None:
    folder: Path = place.home.root / "access"
    assert folder.stat().st_mode & 0o077 == 0
