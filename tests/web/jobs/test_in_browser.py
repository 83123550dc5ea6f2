"""The pages of jobs in a real browser: by keyboard, by pen, by ear, and without a script."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from recorder.archive.jobs.reports import reports
from recorder.model.job import in_force
from recorder.model.reading import Standing
from tests.report.signing.drawings import as_bytes, scribble
from tests.web.browser import PHONE, launched, opened
from tests.web.jobs.places import Made, Served, copied, served

HEARD = "/jobs/20261125-093000-6ab6"
NO_PHOTO = "/jobs/20260304-061500-e5b4"
SIGNED = "/jobs/20261123-093000-6ab6"
MOST_TABS = 150
# Whether what has the focus can be seen: it has a ring, and nothing lies over its middle.
IN_SIGHT = """() => {
  const it = document.activeElement, box = it.getBoundingClientRect();
  const [x, y] = [box.left + box.width / 2, box.top + box.height / 2];
  const over = document.elementFromPoint(x, y);
  return getComputedStyle(it).outlineStyle !== "none" && over !== null
    && (it.contains(over) || over.contains(it));
}"""


@pytest.fixture(scope="module")
def place(furniture: Made, tmp_path_factory: pytest.TempPathFactory) -> Made:
    return copied(furniture, tmp_path_factory.mktemp("browsed") / "home")


@pytest.fixture(scope="module")
def server(place: Made) -> Iterator[Served]:
    with served(place, place.key) as server:
        yield server


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    with launched() as browser:
        yield browser


@pytest.fixture
def page(chromium: Browser, server: Served) -> Iterator[Page]:
    context = opened(chromium)
    server.pair(context)
    context.set_default_timeout(15_000)
    page = context.new_page()
    failures: list[str] = []
    page.on("pageerror", lambda error: failures.append(str(error)))
    page.on("console", lambda said: failures.append(said.text) if said.type == "error" else None)
    yield page
    context.close()
    assert not failures


def tab_to(page: Page, role: str, name: str) -> None:
    """By the Tab key alone, and everything on the way can be seen."""
    wanted = page.get_by_role(role, name=name, exact=True).first  # type: ignore[arg-type]
    for _ in range(MOST_TABS):
        page.keyboard.press("Tab")
        assert page.evaluate(IN_SIGHT), page.evaluate("document.activeElement.outerHTML")
        if wanted.evaluate("it => it === document.activeElement"):
            return
    raise AssertionError(f"no way by keyboard to {role} {name!r}")


def test_a_whole_review_by_keyboard_alone(page: Page, server: Served, place: Made) -> None:
    page.goto(server.address)
    tab_to(page, "link", "4817, Larkfield Bakery")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**{HEARD}")
    tab_to(page, "button", "Yes, 172 °C")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**{HEARD}#waiting")
    tab_to(page, "button", "No for Isolation confirmed")
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="Isolation confirmed").wait_for(state="detached")
    page.locator("summary", has_text="Dwell").first.focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    page.keyboard.type("4 min")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    held = in_force(place.jobs["heard"].load().readings)
    assert held["top_temperature"].standing is Standing.CONFIRMED
    assert held["isolation_confirmed"].value is False
    assert held["dwell_time"].value == 240.0


def test_a_signature_by_keyboard_alone_is_a_picture_that_is_sent(
    page: Page, server: Served, place: Made, tmp_path: Path
) -> None:
    drawn = tmp_path / "drawn.png"
    drawn.write_bytes(as_bytes(scribble()))
    page.goto(f"{server.address}{SIGNED}/sign/customer")
    page.get_by_label("Name of who signs").focus()
    page.keyboard.type("Tilda Brannock")
    page.locator("summary", has_text="Or send a picture").focus()
    page.keyboard.press("Enter")
    page.get_by_label("Picture: dark lines").set_input_files(drawn)
    tab_to(page, "button", "Sign the report")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**{SIGNED}/report")
    assert reports(place.jobs["signed"])[-1].signatures == 2


def test_a_signature_on_glass(page: Page, server: Served, place: Made) -> None:
    page.goto(f"{server.address}{NO_PHOTO}/sign/technician")
    send = page.get_by_role("button", name="Sign and write the report")
    send.click()
    assert "Draw the signature first" in page.get_by_role("alert").inner_text()
    glass = page.get_by_role("img", name="Draw the signature here")
    box = glass.bounding_box()
    assert box
    assert box["height"] >= 200

    def stroke(up: float) -> None:
        page.mouse.move(box["x"] + 60, box["y"] + 150)
        page.mouse.down()
        for n in range(1, 12):
            page.mouse.move(box["x"] + 60 + 40 * n, box["y"] + 150 - (up if n % 2 else -up))
        page.mouse.up()

    state = page.locator("#glass-state")
    stroke(60)
    stroke(20)
    assert state.inner_text() == "2 strokes are drawn."
    page.get_by_role("button", name="Undo the last stroke").click()
    assert state.inner_text() == "One stroke is drawn."
    page.get_by_role("button", name="Clear").click()
    assert state.inner_text() == "Nothing is drawn yet."
    stroke(60)
    send.click()
    page.wait_for_url(f"**{NO_PHOTO}/report")
    assert page.get_by_role("heading", name="The report is as it was signed").is_visible()
    first = page.get_by_role("img", name="Page 1 of")
    first.evaluate("it => it.decode()")
    assert first.evaluate("it => it.naturalHeight") > 1000
    assert reports(place.jobs["no_photo"])[-1].signatures == 1


def test_a_touch_draws_and_does_not_move_the_page(
    chromium: Browser, server: Served, place: Made
) -> None:
    context = chromium.new_context(
        viewport={"width": PHONE[0], "height": PHONE[1]}, has_touch=True, is_mobile=True
    )
    server.pair(context)
    page = context.new_page()
    page.goto(f"{server.address}{HEARD}/sign/technician")
    page.locator("canvas").scroll_into_view_if_needed()
    before = page.evaluate("scrollY")
    box = page.locator("canvas").bounding_box()
    assert box
    touch = context.new_cdp_session(page)

    def send(kind: str, *points: tuple[float, float]) -> None:
        at = [{"x": box["x"] + x, "y": box["y"] + y} for x, y in points]
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": at})

    send("touchStart", (40, 40))
    for n in range(1, 12):
        send("touchMove", (40 + 10 * n, 40 + 10 * n))
    send("touchEnd")
    assert page.locator("#glass-state").inner_text() == "One stroke is drawn."
    assert page.evaluate("scrollY") == before
    context.close()


def test_the_words_behind_a_value_are_played_in_the_page(page: Page, server: Served) -> None:
    page.goto(server.address + HEARD)
    play = page.get_by_role("button", name="Hear it for Outcome").first
    with page.expect_response("**/clip/*") as heard:
        play.click()
    assert heard.value.headers["content-type"] == "audio/wav"
    assert play.get_attribute("aria-pressed") == "true"
    assert page.url == server.address + HEARD
    page.locator("[data-play][aria-pressed=true]").wait_for(state="detached")


def test_without_a_script_values_are_answered_and_pages_are_read(
    chromium: Browser, server: Served, place: Made
) -> None:
    context = opened(chromium, script=False)
    server.pair(context)
    page = context.new_page()
    page.goto(f"{server.address}/jobs/20260304-061500-b2e1")
    page.get_by_role("button", name="No, 168 °C").click()
    assert in_force(place.jobs["doubtful"].load().readings)["bottom_temperature"].value == 168.0
    page.goto(f"{server.address}/archive")
    page.get_by_label("Words").fill("hose")
    page.get_by_role("button", name="Search", exact=True).click()
    assert page.locator("mark").count() == 2
    context.close()
