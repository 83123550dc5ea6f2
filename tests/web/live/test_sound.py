"""Every sample of the microphone is on the server's disk, in order and once, whatever breaks.

Held against what the fake microphone was fed with, and against what the page itself had of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import numpy as np
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.web.live import fed
from tests.web.live.cable import Cable
from tests.web.live.server import Server
from tests.web.live.visit import HEARD, begun, heard, job_of, paired, saved_s, switch_off

# Chromium's fake device loses some hundredths of a second when it begins, and on a busy machine.
MOST = 0.98


def kept(server: Server, page: Page) -> list[tuple[dict[str, object], fed.Samples]]:
    return fed.stretches(server.home / "jobs" / job_of(page) / "live")


def assert_all_kept(server: Server, page: Page, noise: fed.Samples, least_s: float) -> None:
    """One stretch, all of which is what the page had and what was fed."""
    ((_, samples),) = kept(server, page)
    (had,) = heard(page)
    assert np.array_equal(samples, had)
    assert fed.followed(noise, samples) > MOST
    assert samples.size > least_s * fed.RATE_HZ


def with_unsent(context: BrowserContext, port: int) -> tuple[Page, fed.Samples]:
    """A page that goes on recording while nothing of what it sends arrives, and what it had."""
    page = begun(context, port)
    saved_s(page, 1)
    page.evaluate("WebSocket.prototype.send = () => {}")
    page.wait_for_timeout(1500)
    (had,) = heard(page)
    return page, had


@contextmanager
def recording(
    chromium: Browser, server: Server, cable: Cable, noise: fed.Samples, least_s: int,
    script: str = HEARD,
) -> Iterator[Page]:  # fmt: skip
    """A page that records until so much is saved; then all of it must be on the disk."""
    context = paired(chromium, server.home, cable.port)
    page = begun(context, cable.port, script)
    yield page
    saved_s(page, least_s)
    switch_off(page)
    assert_all_kept(server, page, noise, least_s)
    context.close()


def test_a_link_that_is_cut_for_twenty_seconds_loses_nothing(
    chromium: Browser, server: Server, cable: Cable, noise: fed.Samples
) -> None:
    with recording(chromium, server, cable, noise, 22) as page:
        saved_s(page, 2)
        cable.cut()
        page.wait_for_timeout(20_000)
        assert "No link" in page.inner_text("#link")
        minutes, seconds = page.locator("[data-saved]").inner_text().split(":")
        assert (minutes, int(seconds) < 15) == ("0", True)  # nothing came through meanwhile
        cable.mend()


def test_a_server_that_is_killed_gets_what_it_had_not_kept(
    chromium: Browser, server: Server, cable: Cable, noise: fed.Samples
) -> None:
    with recording(chromium, server, cable, noise, 8) as page:
        for seconds in (2, 5):
            saved_s(page, seconds)
            server.kill()
            server.start()


def test_a_browser_that_refuses_the_socket_sends_all_the_same(
    chromium: Browser, server: Server, cable: Cable, noise: fed.Samples
) -> None:
    refused = "window.WebSocket = class { constructor() { throw new Error('refused') } };"
    with recording(chromium, server, cable, noise, 3, HEARD + refused) as page:
        saved_s(page, 1)
        assert "still missing" in page.inner_text("#missing")


def test_a_page_that_is_loaded_again_sends_what_it_left(
    chromium: Browser, server: Server, cable: Cable, noise: fed.Samples
) -> None:
    """After a time in which nothing of what it sent had arrived."""
    context = paired(chromium, server.home, cable.port)
    page, had = with_unsent(context, cable.port)
    live = page.url
    page.goto(live.partition("/live")[0])
    page.wait_for_timeout(600)
    page.goto(live)
    page.wait_for_selector("#sign:not([hidden])")
    page.wait_for_selector("#gapmark:not([hidden])")
    told = page.inner_text("#gapmark")
    saved_s(page, 5)
    switch_off(page)
    (first, old), (second, new) = kept(server, page)
    assert old.size >= had.size
    assert np.array_equal(old[: had.size], had)
    assert min(fed.followed(noise, old), fed.followed(noise, new)) > MOST
    assert np.array_equal(new, heard(page)[0])
    assert (first["after"], second["after"]) == ("first", "reloaded")
    assert "loaded again" in told
    expect(page.locator("#gaps")).to_contain_text("loaded again")
    context.close()


def test_sound_of_another_job_is_sent_by_the_next_page(
    chromium: Browser, server: Server, cable: Cable, noise: fed.Samples
) -> None:
    """A page was closed before it had sent all, and its job is not opened again."""
    context = paired(chromium, server.home, cable.port)
    page, had = with_unsent(context, cable.port)
    job = job_of(page)
    page.close()
    switch_off(begun(context, cable.port))
    ((_, samples),) = fed.stretches(server.home / "jobs" / job / "live")
    assert np.array_equal(samples[: had.size], had)
    assert fed.followed(noise, samples) > MOST
    context.close()


LEFT = """
async () => {
  const open = indexedDB.open("seamnote-sound", 1);
  const base = await new Promise((done) => { open.onsuccess = () => done(open.result); });
  const counts = ["stretches", "chunks"].map((name) => new Promise((done) => {
    const asked = base.transaction(name).objectStore(name).count();
    asked.onsuccess = () => done(asked.result);
  }));
  const left = await Promise.all(counts);
  base.close();
  return left;
}
"""
END = """
async () => {
  const { act } = await import("/static/live/server.js");
  const finish = { do: "ask", ask: "finish" };
  for (const what of [finish, { do: "confirm" }, finish]) await act(what).catch(() => {});
}
"""


def test_nothing_that_was_said_stays_on_the_device_after_its_job(
    chromium: Browser, server: Server, cable: Cable
) -> None:
    """The microphone is open until the page goes on, and the server takes nothing more by then."""
    context = paired(chromium, server.home, cable.port)
    page = begun(context, cable.port)
    saved_s(page, 1)
    page.evaluate(END)
    page.wait_for_url("**/jobs/**", timeout=120_000)
    page.wait_for_load_state()
    assert page.evaluate(LEFT) == [0, 0]
    context.close()
