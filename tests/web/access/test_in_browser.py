"""What a real browser does: pairing by the page, and hostile pages beside a paired one."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator

import cv2
import numpy as np
import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from recorder.archive.disk.home import Home
from recorder.flows.live.sessions import Sessions
from recorder.settings import Settings
from recorder.web import listening
from recorder.web.access import inviting
from recorder.web.access.access import Access, Guide
from recorder.web.access.authority import open_or_make
from recorder.web.access.guesses import Guesses
from recorder.web.access.guide import guide
from recorder.web.access.places import Places
from recorder.web.app import application
from recorder.web.house import House
from tests.web.browser import PHONE, launched, opened, overflow_px, violations
from tests.web.foreign import foreign
from tests.web.serving import served

NAMES = ("evil.example", "rebound.example")
# What a page of another place tries in the browser of a paired technician. Each tells how it went.
ATTACK = """
async ([place, job]) => {
  const tried = {};
  const socket = new Promise(done => {
    const address = `${place.replace("http", "ws")}/live/${job}/socket?page=${"0".repeat(32)}`;
    const live = new WebSocket(address);
    live.onopen = () => done("open");
    live.onerror = live.onclose = () => done("refused");
  });
  tried.socket = await socket;
  for (const [name, path, how] of [
    ["read", `/jobs/${job}`, {credentials: "include"}],
    ["blind", `/devices/invite`, {method: "POST", mode: "no-cors", credentials: "include"}],
    ["simple", `/jobs`, {method: "POST", credentials: "include",
                         body: new URLSearchParams({a: "b"})}],
    ["sealed", `/devices/1/revoke`, {method: "POST", credentials: "include",
                                    headers: {"x-seamnote-seal": "0".repeat(64)}}],
  ]) {
    try {
      const answer = await fetch(place + path, how);
      tried[name] = answer.type === "opaque" ? "opaque" : String(answer.status);
    } catch { tried[name] = "refused"; }
  }
  const picture = new Promise(done => {
    const image = new Image();
    image.onload = () => done("loaded");
    image.onerror = () => done("refused");
    image.src = `${place}/static/seam.svg`;
  });
  tried.picture = await picture;
  const frame = document.createElement("iframe");
  frame.src = `${place}/devices`;
  const framed = new Promise(done => { frame.onload = () => done(); setTimeout(done, 3000); });
  document.body.append(frame);
  await framed;
  try { tried.frame = frame.contentDocument ? "read" : "refused"; }
  catch { tried.frame = "refused"; }
  return tried;
}
"""
FORM = """
([place]) => {
  document.body.innerHTML = `<form method="post" action="${place}/devices/invite"></form>`;
  document.forms[0].submit();
}
"""


class Van:
    """A server with a job, a paired browser, and a place of an attacker beside it."""

    def __init__(self, home: Home) -> None:
        with listening.on_address("127.0.0.1", 0) as free:
            self.port = listening.port_of(free)
        self.told: list[str] = []
        self.home = home
        self.access = Access(home, Places(self.port), self.told.append)
        began = Sessions(home, Settings(), None)
        self.job = began.begin().job_id
        began.close()
        self.sessions = Sessions(home, Settings(), None)
        self.app = application(House(home, Settings(), None, self.sessions, self.access))
        self.place = f"http://localhost:{self.port}"

    def kept(self) -> dict[str, str]:
        return {
            str(path.relative_to(self.home.root)): hashlib.sha256(path.read_bytes()).hexdigest()
            for path in self.home.root.rglob("*")
            if path.is_file()
        }


EMPTY = b"<!doctype html><title>other</title><body>other</body>"


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    rules = ", ".join(f"MAP {name} 127.0.0.1" for name in NAMES)
    with launched(f"--host-resolver-rules={rules}") as found:
        yield found


@pytest.fixture(scope="module")
def van(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Van]:
    made = Van(Home.open(tmp_path_factory.mktemp("van") / "home"))
    with served(made.app, made.port):
        yield made
    made.sessions.close()


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    made = browser.new_context()
    yield made
    made.close()


def paired(context: BrowserContext, van: Van) -> Page:
    van.access.guesses = Guesses()  # all these tests come from one address
    page = context.new_page()
    page.goto(inviting.on_this_machine(van.access))
    page.get_by_role("button", name="Pair this device").click()
    page.wait_for_url(f"{van.place}/")
    return page


def test_a_browser_pairs_itself_by_the_address(van: Van, context: BrowserContext) -> None:
    asked: list[str] = []
    page = context.new_page()
    page.on("request", lambda request: asked.append(f"{request.url} {request.all_headers()}"))
    address = inviting.on_this_machine(van.access)
    token = address.partition("#")[2]
    page.goto(address)
    assert page.url == f"{van.place}/pair"  # the code is gone from it, and from the history
    assert page.evaluate("history.length") == 2
    assert not page.get_by_label("Pairing code").is_visible()
    page.get_by_label("Name of this device").fill("Van tablet")
    page.get_by_role("button", name="Pair this device").click()
    page.wait_for_url(f"{van.place}/")
    assert not any(token in each for each in asked)  # but in the body of the one that pairs
    (cookie,) = context.cookies()
    assert cookie["name"] == f"__Host-seamnote-{van.port}"
    assert (cookie["secure"], cookie["httpOnly"], cookie["sameSite"]) == (True, True, "Strict")
    assert page.evaluate("document.cookie") == ""
    page.goto(f"{van.place}/devices")
    assert "Van tablet" in (page.text_content("main") or "")


def test_a_code_that_was_used_is_told(van: Van, browser: Browser) -> None:
    address = inviting.on_this_machine(van.access)
    one, other = browser.new_context(), browser.new_context()
    pages = [one.new_page(), other.new_page()]
    for page in pages:
        page.goto(address)
        page.get_by_role("button", name="Pair this device").click()
    pages[0].wait_for_url(f"{van.place}/")
    assert "This pairing code is not valid" in (pages[1].text_content("main") or "")
    assert other.cookies() == []
    one.close()
    other.close()


def test_a_code_can_be_typed_without_script(van: Van, browser: Browser) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{van.place}/archive")  # an unpaired device, wherever it wants to go
    page.get_by_label("Pairing code").fill(van.access.invite())
    page.get_by_role("button", name="Pair this device").click()
    page.wait_for_url(f"{van.place}/")
    page.goto(f"{van.place}/devices")
    page.get_by_role("button", name="Pair one more device").click()
    code = page.get_by_alt_text("QR code that pairs one device").screenshot()
    seen = cv2.imdecode(np.frombuffer(code, np.uint8), cv2.IMREAD_GRAYSCALE)
    assert seen is not None
    said, _, _ = cv2.QRCodeDetector().detectAndDecode(seen)
    assert said == page.text_content(".address")
    assert said.startswith(f"{van.place}/pair#")
    context.close()


@pytest.mark.parametrize("from_where", ["another site", "another port of this machine"])
def test_a_hostile_page_beside_a_paired_one_gets_nothing(
    van: Van, context: BrowserContext, from_where: str
) -> None:
    """Cross-site WebSocket hijacking, CSRF and framing. A page on another port of this machine is
    'same-site': the browser sends the cookie with what it tries.
    """
    paired(context, van)
    with foreign(EMPTY) as port:
        name = "evil.example" if from_where == "another site" else "localhost"
        page = context.new_page()
        page.goto(f"http://{name}:{port}/")
        before = van.kept()
        tried = page.evaluate(ATTACK, [van.place, van.job])
        assert tried == {
            "socket": "refused", "read": "refused", "blind": tried["blind"], "simple": "refused",
            "sealed": "refused", "picture": "refused", "frame": "refused",
        }  # fmt: skip
        assert tried["blind"] in {"opaque", "refused"}  # it is not told how it went
        page.evaluate(FORM, [van.place])
        page.wait_for_load_state()
        assert "Pair one more device" not in (page.text_content("body") or "")
        assert van.kept() == before
    assert "refused a request that a page of another site sent" in van.told


def test_the_same_attack_by_our_own_page_comes_through(van: Van, context: BrowserContext) -> None:
    """So that the test above fails for the attacker's sake, and not for a slip of its own."""
    page = paired(context, van)
    tried = page.evaluate(ATTACK, [van.place, van.job])
    assert tried["socket"] == "open"
    assert tried["read"] == "200"
    assert tried["picture"] == "loaded"


def test_a_name_that_was_bound_to_this_machine_gets_nothing(
    van: Van, context: BrowserContext
) -> None:
    """DNS rebinding: for the browser, the attacker's page and this server are one place."""
    page = context.new_page()
    answer = page.goto(f"http://rebound.example:{van.port}/pair")
    assert answer is not None
    assert answer.status == 421
    told = page.evaluate("fetch('/').then(answer => answer.status)")
    assert told == 421


def test_revoking_ends_an_open_page(van: Van, context: BrowserContext) -> None:
    page = paired(context, van)
    page.evaluate(
        """([place, job]) => new Promise(opened => {
          window.live = new WebSocket(
            `${place.replace("http", "ws")}/live/${job}/socket?page=${"1".repeat(32)}`);
          window.ended = new Promise(done => live.onclose = event => done(event.code));
          live.onopen = opened;
        })""",
        [van.place, van.job],
    )
    van.access.revoke(van.access.devices()[-1].number)
    assert page.evaluate("ended") == 1008
    page.goto(f"{van.place}/")
    assert page.get_by_role("heading", name="Pair this device").is_visible()


def test_the_pages_for_a_new_phone_are_accessible(van: Van, browser: Browser) -> None:
    """The invitation with the way to trust, and the guide, which no other walk sees."""
    with listening.on_address("127.0.0.1", 0) as free:
        port = listening.port_of(free)
    places = van.access.places
    found: dict[str, object] = {}
    with served(guide(van.access, open_or_make(van.home.root)), port):
        places._guides = frozenset({f"http://localhost:{port}"})
        van.access.guide = Guide(f"http://localhost:{port}/", "ab" * 32)
        for dark in (False, True):
            context = opened(browser, PHONE, dark)
            page = paired(context, van)
            page.goto(f"{van.place}/devices")
            places.lan = ("192.168.200.201", "a-van-laptop.local")
            page.get_by_role("button", name="Pair one more device").click()
            page.get_by_alt_text("QR code that pairs one device").wait_for()
            places.lan = ()
            found[f"invitation {dark}"] = (violations(page), overflow_px(page))
            page.goto(f"http://localhost:{port}/")
            page.evaluate("document.querySelectorAll('details').forEach(it => { it.open = true; })")
            found[f"guide {dark}"] = (violations(page), overflow_px(page))
            page.set_viewport_size({"width": 320, "height": 640})
            found[f"narrow {dark}"] = ([], overflow_px(page))
            context.close()
    van.access.guide = None
    assert set(map(str, found.values())) == {"([], 0)"}, found


def test_files_of_the_program_are_there(van: Van, context: BrowserContext) -> None:
    """No page of pairing asks for something that is missing or that the policy forbids."""
    complaints: list[str] = []
    page = paired(context, van)
    page.on("console", lambda line: complaints.append(f"{line.type}: {line.text}"))
    page.on("response", lambda a: complaints.append(a.url) if a.status >= 400 else None)
    for path in ("/devices", "/pair"):
        page.goto(van.place + path)
        page.wait_for_load_state("networkidle")
    assert complaints == []
