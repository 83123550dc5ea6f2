"""Debian's Chromium for the tests of pages: one for the session, a new profile for each use."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Sequence

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

CHROMIUM = "/usr/bin/chromium"
QUIET = (
    "--no-sandbox",
    "--disable-background-networking",
    "--disable-component-update",
    "--autoplay-policy=no-user-gesture-required",
)
# By name, because what axe runs without them leaves the size of targets out.
TAGS = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa")
PHONE, DESKTOP = (360, 780), (1280, 800)


@contextlib.contextmanager
def launched(*more: str) -> Iterator[Browser]:
    """A browser of its own, as its fake microphone and camera are chosen when it starts."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=[*QUIET, *more])
        try:
            yield browser
        finally:
            browser.close()


def opened(
    browser: Browser, size: tuple[int, int] = DESKTOP, dark: bool = False, script: bool = True
) -> BrowserContext:
    return browser.new_context(
        viewport={"width": size[0], "height": size[1]},
        color_scheme="dark" if dark else "light",
        java_script_enabled=script,
        ignore_https_errors=True,
    )


def violations(page: Page, tags: Sequence[str] = TAGS) -> list[str]:
    """What axe-core finds wrong in a page, one line for each element."""
    options = {"runOnly": {"type": "tag", "values": list(tags)}, "resultTypes": ["violations"]}
    found = Axe().run(page, options=options).response["violations"]
    return [
        f"{each['id']}: {' '.join(map(str, node['target']))}: {node['failureSummary']}"
        for each in found
        for node in each["nodes"]
    ]


def overflow_px(page: Page) -> int:
    """By how much the page is wider than the window: WCAG 2.2, 1.4.10, wants nothing."""
    return int(
        page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    )
