"""What a person sees, hears and can do on the live page, in a real browser."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.web.browser import overflow_px, violations
from tests.web.live.server import Server
from tests.web.live.visit import begun, paired

# Lets a test do to the microphone what a device does, and be as loud as a person.
DEVICE = """
const media = navigator.mediaDevices, ask = media.getUserMedia.bind(media);
media.getUserMedia = async (wanted) => {
  await new Promise((resolve) => setTimeout(resolve, window.late ?? 0));
  const stream = await ask(wanted);
  if (wanted.audio) window.track = stream.getAudioTracks()[0];
  return stream;
};
const Context = AudioContext;
window.AudioContext = class extends Context {
  constructor(...given) { super(...given); window.sound = this; }
};
const Node = AudioWorkletNode;
window.AudioWorkletNode = class extends Node {
  constructor(...given) {
    super(...given);
    this.port.addEventListener("message", ({ data }) => {
      if (data.do === "chunk" && window.loud !== undefined) data.level = window.loud;
    });
  }
};
window.tones = [];
const start = OscillatorNode.prototype.start;
OscillatorNode.prototype.start = function (...given) {
  window.tones.push(this.frequency.value);
  return start.apply(this, given);
};
"""
FOCUSED = """() => {
  const { activeElement } = document;
  return activeElement.matches("button") ? activeElement.textContent : "";
}"""
GAP_TONES = [440, 330, 440, 330]
WITHIN_MS = 2000


@pytest.fixture
def device(chromium: Browser, server: Server, cable_port: int) -> Iterator[BrowserContext]:
    context = paired(chromium, server.home, cable_port)
    yield context
    context.close()


@pytest.fixture(scope="module")
def cable_port(cable: object) -> int:
    return int(cable.port)  # type: ignore[attr-defined]


def tones(page: Page) -> list[float]:
    return list(page.evaluate("window.tones"))


def test_a_microphone_that_ends_is_told_by_sign_and_tone_at_once(
    device: BrowserContext, cable_port: int
) -> None:
    page = begun(device, cable_port, DEVICE)
    page.evaluate("window.late = 1000; window.tones = []")
    page.evaluate("window.track.dispatchEvent(new Event('ended'))")
    page.wait_for_selector("#gapmark:not([hidden])", timeout=WITHIN_MS)
    expect(page.locator("#off")).to_be_visible()
    assert tones(page)[:4] == GAP_TONES
    expect(page.locator("#sign")).to_be_visible(timeout=10_000)
    expect(page.locator("#gapmark")).to_contain_text("not recorded: the microphone stopped")
    expect(page.locator("#gaps")).to_contain_text("stopped by itself")


def test_a_page_that_was_hidden_tells_of_the_gap_when_it_is_back(
    device: BrowserContext, cable_port: int
) -> None:
    page = begun(device, cable_port, DEVICE)
    page.evaluate(
        """() => {
          Object.defineProperty(document, "hidden", { get: () => window.away, configurable: true });
          window.away = true;
          document.dispatchEvent(new Event("visibilitychange"));
          window.resume = window.sound.resume;
          window.sound.resume = async () => {};
          return window.sound.suspend();
        }"""
    )
    page.wait_for_selector("#gapmark:not([hidden])", timeout=WITHIN_MS)
    page.wait_for_timeout(1000)
    page.evaluate(
        """() => {
          window.away = false;
          window.tones = [];
          window.sound.resume = window.resume;
          document.dispatchEvent(new Event("visibilitychange"));
          document.querySelector("#start").click();
        }"""
    )
    page.wait_for_function(
        "() => /not recorded/.test(document.querySelector('#gapmark').textContent)"
    )
    assert " ".join(map(str, GAP_TONES)) in " ".join(map(str, tones(page)))
    expect(page.locator("#gaps")).to_contain_text("the device was locked")


def test_one_microphone_at_a_time(
    chromium: Browser, device: BrowserContext, server: Server, cable_port: int
) -> None:
    first = begun(device, cable_port, DEVICE)
    other = paired(chromium, server.home, cable_port)
    second = other.new_page()
    second.goto(first.url)
    second.click("#start")
    expect(second.locator("#why")).to_contain_text("is the microphone")
    expect(first.locator("#sign")).to_be_visible()
    second.locator("#take").click()  # a short press does nothing
    expect(first.locator("#sign")).to_be_visible()
    second.locator("#take").click(delay=1500)
    expect(second.locator("#sign")).to_be_visible()
    expect(first.locator("#why")).to_contain_text("took over the microphone")
    other.close()


def test_everything_can_be_done_by_keyboard(device: BrowserContext, cable_port: int) -> None:
    page = begun(device, cable_port, DEVICE)

    def reach(name: str) -> None:
        for _ in range(40):
            page.keyboard.press("Tab")
            if name in page.evaluate(FOCUSED):
                return
        raise AssertionError(f"{name} cannot be reached by Tab")

    reach("More")
    page.keyboard.press("Enter")
    reach("Type a value")
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "write-field"
    page.locator("#write-field").select_option("pressure")
    page.keyboard.press("Tab")
    page.keyboard.type("banana")
    page.keyboard.press("Enter")
    expect(page.locator("#write [data-complaint]")).to_be_visible()
    page.locator("#write-text").fill("2 bar")
    page.keyboard.press("Enter")
    expect(page.locator("#readings")).to_contain_text("2 bar")
    reach("Pressure")
    page.keyboard.press("Enter")
    expect(page.locator("#write-now")).to_have_text(re.compile("2 bar"))
    page.keyboard.press("Escape")
    reach("Undo")
    page.keyboard.press("Enter")
    expect(page.locator("#readings")).not_to_contain_text("2 bar")
    assert page.evaluate("document.activeElement.dataset.key") == "undo"
    reach("More")
    page.keyboard.press("Enter")
    reach("Hold to finish")
    page.keyboard.press("Enter")  # a short press asks
    expect(page.locator("#finishing")).to_be_visible()
    reach("No, go on")
    page.keyboard.press("Enter")
    expect(page.locator("#finishing")).to_be_hidden()


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("width", [360, 1280])
def test_every_state_of_the_page_is_accessible(
    chromium: Browser, server: Server, cable_port: int, width: int, dark: bool
) -> None:
    size = {"width": width, "height": 800}
    look = "dark" if dark else "light"
    context = paired(chromium, server.home, cable_port, viewport=size, color_scheme=look)
    page = begun(context, cable_port, DEVICE)
    page.evaluate(
        """async () => {
          const { act } = await import("/static/live/server.js");
          await act({ do: "enter", field: "pressure", text: "2 bar" });
          await act({ do: "ask", ask: "timer_start", timer: "dwell", seconds: 60 });
          await act({ do: "ask", ask: "note", text: "tracking was corrected" });
        }"""
    )
    expect(page.locator(".timer")).to_be_visible()
    found = {"listening": violations(page)}
    for dialog in ("more", "write", "note", "finishing", "camera"):
        page.evaluate("(id) => document.getElementById(id).showModal()", dialog)
        found[dialog] = violations(page)
        assert overflow_px(page) == 0, dialog
        page.evaluate("(id) => document.getElementById(id).close()", dialog)
    page.evaluate("window.track.dispatchEvent(new Event('ended'))")
    page.wait_for_selector("#gapmark:not([hidden])")
    found["gap"] = violations(page)
    assert {state: wrong for state, wrong in found.items() if wrong} == {}
    assert overflow_px(page) == 0
    small = page.evaluate(
        """() => [...document.querySelectorAll("button")]
          .filter((button) => button.offsetParent)
          .filter((button) => button.offsetHeight < 56 || button.offsetWidth < 56)
          .map((button) => button.textContent.trim())"""
    )
    assert small == []
    context.close()


def test_the_recorder_is_cut_off_by_key_and_by_a_loud_voice(
    chromium: Browser, talker: Server
) -> None:
    context = paired(chromium, talker.home, talker.port)
    page = begun(context, talker.port, DEVICE)
    again = """async () => {
      const { act } = await import("/static/live/server.js");
      await act({ do: "ask", ask: "read_back" });
    }"""
    for by_voice in (False, True):
        page.wait_for_selector("body:not(.speaks)")
        page.evaluate("window.loud = 0.02")
        page.evaluate(again)
        page.wait_for_selector("body.speaks")
        if by_voice:
            page.wait_for_timeout(700)  # in which it learns how loud its own voice comes back
            page.evaluate("window.loud = 0.4")
        else:
            page.keyboard.press("Escape")
        page.wait_for_selector("body:not(.speaks)", timeout=WITHIN_MS)
    context.close()


def test_without_the_server_the_browser_tells_what_to_do(
    chromium: Browser, server: Server, cable_port: int
) -> None:
    """And keeps files of the program alone, nothing of a job."""
    context = paired(chromium, server.home, cable_port)
    page = begun(context, cable_port, DEVICE)
    page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    page.reload()
    page.wait_for_selector("#sign:not([hidden])")
    kept = page.evaluate(
        """async () => {
          const cache = await caches.open("seamnote-files");
          return (await cache.keys()).map((request) => new URL(request.url).pathname);
        }"""
    )
    assert "/static/look.css" in kept
    assert all(path.startswith("/static/") for path in kept)
    server.kill()
    page.goto(page.url)
    expect(page.get_by_role("heading")).to_have_text("No link to the recorder")
    server.start()
    page.get_by_role("link", name="Load again").click()
    expect(page.locator("#title")).to_be_attached()
    manifest = page.evaluate("async () => (await fetch('/manifest.webmanifest')).json()")
    for icon in manifest["icons"]:
        assert page.evaluate("async (src) => (await fetch(src)).status", icon["src"]) == 200
    context.close()


def test_a_new_question_is_in_view_where_no_hand_is_on_the_page(
    device: BrowserContext, cable_port: int
) -> None:
    page = begun(device, cable_port)
    page.evaluate("document.querySelector('main').style.paddingBottom = '200vh'; scrollTo(0, 900)")
    assert page.evaluate("scrollY") > 0
    page.wait_for_selector("#question .ask")
    page.wait_for_function("scrollY === 0")
    page.close()
