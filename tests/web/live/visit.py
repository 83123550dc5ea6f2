"""A device that pairs itself, starts a job and lets the page use its microphone."""

from __future__ import annotations

import base64
import time
from pathlib import Path

import numpy as np
from playwright.sync_api import Browser, BrowserContext, Page

from recorder.archive.disk.home import Home
from recorder.web.access import inviting
from recorder.web.access.access import Access
from recorder.web.access.places import Places
from tests.web.live.fed import Samples

# Keeps what each recorder on the thread of the sound gave: the page itself says what it had.
HEARD = """
const Known = AudioWorkletNode;
window.heard = [];
window.AudioWorkletNode = class extends Known {
  constructor(...given) {
    super(...given);
    const chunks = [];
    window.heard.push(chunks);
    this.port.addEventListener("message", ({ data }) => {
      if (data.samples) chunks.push(data.samples.slice());
    });
  }
};
"""
_GIVE = """
() => window.heard.map((chunks) => {
  const all = new Int16Array(chunks.reduce((sum, each) => sum + each.length, 0));
  let at = 0;
  for (const each of chunks) { all.set(each, at); at += each.length; }
  const bytes = new Uint8Array(all.buffer);
  let text = "";
  const piece = 32768;
  for (let i = 0; i < bytes.length; i += piece) {
    text += String.fromCharCode(...bytes.subarray(i, i + piece));
  }
  return btoa(text);
})
"""


def paired(browser: Browser, home: Path, port: int, **more: object) -> BrowserContext:
    """A device of its own, paired with the server of this home at this port."""
    context = browser.new_context(**({"viewport": {"width": 412, "height": 915}} | more))  # type: ignore[arg-type]
    access = Access(Home(home), Places(port))
    page = context.new_page()
    page.goto(inviting.on_this_machine(access))
    page.get_by_role("button").last.click()
    page.wait_for_url(f"http://localhost:{port}/")
    page.close()
    return context


def begun(context: BrowserContext, port: int, script: str = HEARD) -> Page:
    """The live page of a new job, which records."""
    page = context.new_page()
    page.add_init_script(script)
    page.goto(f"http://localhost:{port}/")
    page.get_by_role("button", name="Start a job").click()
    page.wait_for_url("**/live/**")
    page.click("#start")
    page.wait_for_selector("#sign:not([hidden])")
    return page


def job_of(page: Page) -> str:
    return page.url.rsplit("/", 1)[1]


def saved_s(page: Page, more_than: float) -> None:
    """Wait until so many seconds are acknowledged."""
    page.wait_for_function(
        """(least) => {
          const [minutes, seconds] = document.querySelector("[data-saved]").textContent.split(":");
          return 60 * Number(minutes) + Number(seconds) >= least;
        }""",
        arg=more_than,
        timeout=90_000,
    )


def switch_off(page: Page) -> None:
    """Switch the microphone off, and wait until all of its sound is on the disk of the server."""
    page.get_by_role("button", name="More").click()
    page.get_by_role("button", name="Microphone off").click()
    page.wait_for_selector("#off:not([hidden])")
    sent(page)


_LEFT = """
async () => {
  const base = await new Promise((resolve) => {
    const asked = indexedDB.open("seamnote-sound");
    asked.onsuccess = () => resolve(asked.result);
  });
  const asked = base.transaction("stretches").objectStore("stretches").count();
  const count = await new Promise((resolve) => (asked.onsuccess = () => resolve(asked.result)));
  base.close();
  return count;
}
"""


def sent(page: Page) -> None:
    """Wait until this device keeps no sound any more."""
    ends_s = time.monotonic() + 60
    while page.evaluate(_LEFT):
        assert time.monotonic() < ends_s, "sound is left on the device"
        page.wait_for_timeout(100)


def heard(page: Page) -> list[Samples]:
    """What the page had from its microphone, for each time that it was opened."""
    return [np.frombuffer(base64.b64decode(text), "<i2") for text in page.evaluate(_GIVE)]
