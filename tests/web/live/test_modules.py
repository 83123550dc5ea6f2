"""Modules of the live page by themselves, in a real browser."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from tests.web.live.cable import Cable
from tests.web.live.server import Server
from tests.web.live.visit import paired

# A stretch of 200 chunks of which number 30 is neither in memory nor in what the device keeps.
HOLE = """async () => {
  const { Sender } = await import("/static/live/sender.js");
  const store = {
    keepStretch() {}, keepChunk() {}, drop() {}, dropStretch() {},
    stretches: async () => [], chunk: async (name, number) => (number === 30 ? null : { number }),
  };
  const told = { broken: [], trouble: [], sent: [] };
  const sender = new Sender("job", store, {
    saved() {}, unsent() {}, trouble: (text) => told.trouble.push(text),
    broken: (line) => told.broken.push(line.stretch.name),
  });
  const line = sender.start({ name: "a", rate_hz: 48000, began_ms: 0, after: "first" });
  for (let number = 0; number < 200; number++) sender.add(line, { number });
  const send = ({ number }) => told.sent.push(number);
  const link = { open: true, waiting: 0, say() {}, owe() {}, send };
  await sender.begin(link);
  sender.told({ do: "ack", stretch: "a", next: 0 });
  await new Promise((resolve) => setTimeout(resolve, 50));
  sender.told({ do: "ack", stretch: "a", next: 30 });
  sender.stop();
  return { ...told, left: sender.lines.length, last: Math.max(...told.sent) };
}"""
# The job of a stretch of 200 chunks is over, and the server has so many of them.
OVER = """async (acked) => {
  const { Sender } = await import("/static/live/sender.js");
  const nothing = () => {};
  const store = {
    keepStretch: nothing, keepChunk: nothing, drop: nothing, dropStretch: nothing,
  };
  const told = [];
  const on = { saved: nothing, unsent: nothing, trouble: (text) => told.push(text) };
  const sender = new Sender("job", store, on);
  const line = sender.start({ name: "a", rate_hz: 48000, began_ms: 0, after: "first" });
  for (let number = 0; number < 200; number++) sender.add(line, { number });
  line.acked = acked;
  sender.told({ do: "over", stretch: "a" });
  return told;
}"""
# What a loudspeaker takes for talk after chunks of these levels.
TALKED = """async (levels) => {
  const { Loudspeaker } = await import("/static/live/loudspeaker.js");
  const context = { createGain: () => ({ connect() {} }) };
  const loudspeaker = new Loudspeaker(context, {}, {});
  for (const level of levels) loudspeaker.level(level);
  return loudspeaker.talked();
}"""


@pytest.fixture(scope="module")
def page(chromium: Browser, server: Server, cable: Cable) -> Iterator[Page]:
    """Any page from which the modules can be had."""
    context = paired(chromium, server.home, cable.port)
    page = context.new_page()
    page.goto(f"http://localhost:{cable.port}/")
    yield page
    context.close()


def test_a_hole_in_the_running_stretch_ends_it_before_the_hole(page: Page) -> None:
    came = page.evaluate(HOLE)
    assert came["broken"] == ["a"]
    assert len(came["trouble"]) == 1
    assert came["last"] == 29
    assert came["left"] == 0


def test_sound_that_comes_after_the_end_is_not_dropped_in_silence(page: Page) -> None:
    assert page.evaluate(OVER, 10) == [
        "19 s of sound came after the end of the job and are not in it."
    ]
    assert page.evaluate(OVER, 190) == []


@pytest.mark.parametrize(
    ("levels", "talks"),
    [
        ([0.002] * 50, False),
        ([0.002] * 50 + [0.1] * 5, True),
        ([0.002] * 50 + [0.1] * 5 + [0.002] * 4, False),
        ([0.2] * 50, False),  # a loud place
        ([0.05] * 50 + [0.3] * 3, True),
        ([0.2], False),
        ([], False),
    ],
)
def test_a_voice_is_told_from_the_noise_of_the_place(
    page: Page, levels: list[float], talks: bool
) -> None:
    assert page.evaluate(TALKED, levels) is talks
