"""Every page is held against axe-core: light and dark, on a small telephone and on a large screen.

https://github.com/dequelabs/axe-core/blob/develop/doc/rule-descriptions.md
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page
from starlette.routing import Route

from recorder.flows.knowhow import recipes
from recorder.web.app import Application
from tests.web.browser import DESKTOP, PHONE, launched, opened, overflow_px, violations
from tests.web.jobs.places import Made, Served, copied, served
from tests.web.knowhow.places import pressed, with_jobs, with_lists

DOUBTFUL = "/jobs/20260304-061500-b2e1"
HEARD = "/jobs/20261125-093000-6ab6"
HOSTILE = "/jobs/20261124-093000-6ab6"
SIGNED = "/jobs/20261123-093000-6ab6"

PAGES = {
    "start": "/",
    "archive": "/archive",
    "found": "/archive?q=hose&outcome=accepted&where=top_temperature%3E100&sort=-pressure",
    "found strangers": "/archive?q=script",
    "nothing found": "/archive?q=hose&outcome=rejected",
    "wrong search": "/archive?where=nonsense",
    "doubts and photos": DOUBTFUL,
    "sound": HEARD,
    "names of strangers": HOSTILE,
    "report": f"{SIGNED}/report",
    "no report": f"{HEARD}/report",
    "technician signs": f"{HEARD}/sign/technician",
    "customer signs": f"{SIGNED}/sign/customer",
    "customer cannot sign": f"{HEARD}/sign/customer",
    "no such page": "/nowhere",
    "devices": "/devices",
    "live": "/live/{running}",
    "recipes": "/recipes?belt_material=PU-20+green&belt_width=600mm&unit=degF",
    "recipe": "/recipes/oven-70?with=Oven+70:1",
    "trends": "/trends?of=press:Press+P2&characteristic=platen_difference",
    "prepare": "/prepare?from_conveyor=Oven+outfeed+3&said=pressure+22+bar&v_splice_type=finger"
    "&v_finger_length=80mm&v_finger_pitch=20mm",
    "inventory": "/inventory",
}
NO_PAGE = re.compile(
    r"/static|/manifest|/service-worker|/favicon|/clip/|/picture/|\.pdf|/page/|/parts|/speech/|/trends/|/summary"
)


@pytest.fixture(scope="module")
def made(furniture: Made, tmp_path_factory: pytest.TempPathFactory) -> Made:
    folder = tmp_path_factory.mktemp("every page")
    made = copied(furniture, folder / "home")
    with_jobs(with_lists(made.home, folder))
    recipes.keep(made.home, pressed(made.home, 7).load(), 1, "Oven 70")
    recipes.retire(made.home, "Oven 70", reason="a new platen")
    return made


@pytest.fixture(scope="module")
def server(made: Made) -> Iterator[Served]:
    with served(made, made.key) as server:
        yield server


@pytest.fixture(scope="module")
def running(server: Served) -> str:
    return server.sessions.begin().job_id


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    with launched() as browser:
        yield browser


@pytest.fixture(scope="module")
def page(chromium: Browser, server: Served) -> Iterator[Page]:
    context = opened(chromium)
    server.pair(context)
    yield context.new_page()
    context.close()


def faults(page: Page) -> dict[str, list[str]]:
    """What is wrong in each look, and whether the page is wider than its window."""
    found = {}
    for size in (PHONE, DESKTOP):
        page.set_viewport_size({"width": size[0], "height": size[1]})
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme, reduced_motion="reduce")  # type: ignore[arg-type]
            found[f"{scheme} {size[0]}"] = violations(page)
        if over := overflow_px(page):
            found[f"{size[0]}"] = [f"{over} px wider than the window"]
    page.set_viewport_size({"width": 320, "height": 640})
    if over := overflow_px(page):
        found["320"] = [f"{over} px wider than the window"]
    return {look: wrong for look, wrong in found.items() if wrong}


@pytest.mark.parametrize("name", PAGES)
def test_axe_finds_nothing(page: Page, server: Served, running: str, name: str) -> None:
    page.goto(server.address + PAGES[name].format(running=running))
    page.evaluate("document.querySelectorAll('details').forEach((it) => { it.open = true; })")
    assert not faults(page)


def test_axe_finds_nothing_on_a_device_that_is_not_paired(
    chromium: Browser, server: Served
) -> None:
    context = opened(chromium)
    page = context.new_page()
    for address in ("/", "/pair"):
        page.goto(server.address + address)
        assert not faults(page)
    context.close()


def test_axe_finds_nothing_while_an_answer_is_refused(page: Page, server: Served) -> None:
    page.goto(server.address + HEARD)
    page.locator("summary", has_text="Pressure").first.click()
    page.get_by_label("Pressure").first.fill("7")
    page.get_by_role("button", name="Keep Pressure").click()
    assert page.get_by_role("alert").first.is_visible()
    assert not faults(page)


def test_what_is_wrong_would_be_found(chromium: Browser) -> None:
    """A page with known faults, of which one is in no set of rules that axe runs by itself."""
    context = opened(chromium)
    page = context.new_page()
    page.set_content(
        "<html lang='en'><title>x</title><main><h1>x</h1>"
        "<p style='color:#bbb;background:#fff'>pale</p><img src='x.png'>"
        "<div style='width:900px'>wide</div>"
        "<a href='#a' style='display:inline-block;width:12px;height:12px;overflow:hidden'>a</a>"
        "<a href='#b' style='display:inline-block;width:12px;height:12px;overflow:hidden'>b</a>"
    )
    found = faults(page)
    rules = {line.partition(":")[0] for line in found["light 360"]}
    assert {"color-contrast", "image-alt", "target-size"} <= rules
    assert found["360"] == ["540 px wider than the window"] or "wider" in found["360"][0]
    context.close()


def test_no_page_is_forgotten(app: Application) -> None:
    """Whoever adds a page adds it here."""
    shown = {address.partition("?")[0] for address in PAGES.values()} | {"/pair"}
    for route in app.routes:
        if not isinstance(route, Route) or "GET" not in (route.methods or ()):
            continue
        if NO_PAGE.search(route.path) or not route.path_regex:
            continue
        alike = re.sub(r"\{[^}]*\}", "[^/]+", route.path)
        assert any(re.fullmatch(alike, address) for address in shown), route.path
