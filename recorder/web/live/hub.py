"""Everyone who watches one live session: pages of several devices, one of them the microphone.

A page has an outbox. A socket empties it at once; a page without one takes what is in it with each
request. What the regions of the page look like is never queued: it is made when it is fetched, so
that a slow page gets the newest state and nothing grows.
"""

from __future__ import annotations

import asyncio
import time
from collections import deque
from collections.abc import Mapping
from typing import Any

from recorder.flows.live.happening import Changed, Finished, Happening, Hush, Speak, TakePhoto
from recorder.flows.live.session import LiveSession
from recorder.live.view import Sign
from recorder.web.live.parts import parts
from recorder.web.pages.errors import without_home

# Messages that a page without a socket may leave waiting; beyond it the oldest are for nobody.
_MOST_WAITING = 200
# A page of which nothing is heard for so long has gone.
_GONE_S = 30.0
_LOOK_AGAIN_S = 0.4
# What a page must be told though its link was lost meanwhile.
_LASTING = ("speak", "photo", "goto", "microphone")


class Page:
    """One open page. key: its own random name, which survives a reload and a lost link. device: its
    name. by_socket: or with one request after the other. wanted: stretch that it sends -> number of
    the next chunk that is not yet on the disk.
    """

    def __init__(self, key: str, device: str, *, by_socket: bool) -> None:
        self.key = key
        self.device = device
        self.by_socket = by_socket
        self.connected = True
        self.awake = asyncio.Event()
        self.seen_s = time.monotonic()
        self.wanted: dict[str, int] = {}
        self._waiting: deque[dict[str, Any]] = deque(maxlen=_MOST_WAITING)
        self._stale = True
        self._shown: dict[str, str] = {}

    def tell(self, do: str, **more: object) -> None:
        self._waiting.append({"do": do, **more})
        self.awake.set()

    def refresh(self) -> None:
        self._stale = True
        self.awake.set()

    def follow(self, before: Page) -> None:
        """Take over what the page of the same key was not told before its link was lost."""
        for message in before._waiting:
            if message["do"] in _LASTING:
                self._waiting.append(message)

    async def fetch(self, hub: Hub) -> list[dict[str, Any]]:
        """What the page has not yet been told."""
        self.awake.clear()
        told = list(self._waiting)
        self._waiting.clear()
        if self._stale:
            self._stale = False
            now = await hub.parts()
            changed = {name: html for name, html in now.items() if self._shown.get(name) != html}
            self._shown = dict(now)
            if changed:
                told.append({"do": "show", "parts": changed})
        return told


class Hub:
    """Lives in the event loop; the session calls ``_happen`` from its own threads."""

    def __init__(self, session: LiveSession, home: str = "") -> None:
        """home: where it lies, which no page needs to know."""
        self.session = session
        self.home = home
        self._pages: dict[str, Page] = {}
        self._microphone: Page | None = None
        self._loop = asyncio.get_running_loop()
        self._made: dict[str, str] | None = None
        self._making = asyncio.Lock()
        self._look_again: asyncio.TimerHandle | None = None
        self._stop = session.listen(self._happen)

    def close(self) -> None:
        self._stop()

    @property
    def unwatched(self) -> bool:
        self._sweep()
        return not self._pages

    # ---- pages ----

    def enter(self, key: str, device: str, *, by_socket: bool) -> Page:
        """The page of this key, linked anew; a link of it that still hangs is cut."""
        self._sweep()
        page = Page(key, device, by_socket=by_socket)
        before = self._pages.get(key)
        self._pages[key] = page
        if before is not None:
            self._cut(before)
            page.follow(before)
            if self._microphone is before:
                self._microphone = page
        return page

    def visit(self, key: str, device: str, *, anew: bool) -> Page:
        """The same, for a page that comes with one request after the other."""
        page = self._pages.get(key)
        if page is None or page.by_socket or anew:
            page = self.enter(key, device, by_socket=False)
        self.still_here(page)
        return page

    def leave(self, page: Page) -> None:
        """Its link is lost. For a while it keeps its place, so that nothing said is missed."""
        self._cut(page)
        self.still_here(page)

    def still_here(self, page: Page) -> None:
        page.seen_s = time.monotonic()

    def _cut(self, page: Page) -> None:
        page.connected = False
        page.awake.set()

    def _sweep(self) -> None:
        now = time.monotonic()
        for page in list(self._pages.values()):
            if now - page.seen_s > _GONE_S and not (page.by_socket and page.connected):
                del self._pages[page.key]
                if self._microphone is page:
                    self._microphone = None

    # ---- the microphone ----

    def claim(self, page: Page, *, take: bool) -> None:
        """One microphone at a time: a second device is told, and asks again to take over."""
        self._sweep()
        holder = self._microphone
        if holder is page:
            page.tell("microphone", yours=True, why="")
            return
        if holder is not None and holder.connected and not take:
            page.tell("microphone", yours=False, why=f"{_named(holder)} is the microphone.")
            return
        if holder is not None:
            holder.tell("microphone", yours=False, why=f"{_named(page)} took over the microphone.")
        self._microphone = page
        page.tell("microphone", yours=True, why="")

    def release(self, page: Page) -> None:
        if self._microphone is page:
            self._microphone = None

    # ---- what happens in the session ----

    def _happen(self, happening: Happening) -> None:
        """In any thread."""
        if not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._happened, happening)

    def changed(self) -> None:
        """What the pages show is not as it is."""
        self._made = None
        for page in self._pages.values():
            page.refresh()

    def _happened(self, happening: Happening) -> None:
        near = self._microphone
        match happening:
            case Changed():
                pass
            case Speak(name=name, text=text) if near is not None:
                address = f"/live/{self.session.job_id}/speech/{name}"
                near.tell("speak", name=name, url=address, text=text)
            case Hush() if near is not None:
                near.tell("hush")
            case TakePhoto() if near is not None:
                near.tell("photo")
            case Finished(job_id=job_id):
                for page in self._pages.values():
                    page.tell("goto", url=f"/jobs/{job_id}")
            case _:
                pass
        self.changed()

    async def parts(self) -> Mapping[str, str]:
        """The regions of the page as they are now; made once for all pages."""
        async with self._making:
            made = self._made
            if made is None:
                self._made = made = {}  # a change while it is made empties it again
                try:
                    view = await asyncio.to_thread(self.session.view)
                    trouble = without_home(view.trouble, self.home)
                    view = view.model_copy(update={"trouble": trouble})
                    made |= await asyncio.to_thread(parts, view)
                except BaseException:
                    self._made = None
                    raise
                if view.sign is Sign.SPEAKING:  # its end is a matter of time, and happens silently
                    self._look_again_soon()
            return dict(made)

    def _look_again_soon(self) -> None:
        """Once, however often it was looked at meanwhile."""
        if self._look_again is not None:
            self._look_again.cancel()
        self._look_again = self._loop.call_later(_LOOK_AGAIN_S, self.changed)


def _named(page: Page) -> str:
    return page.device or "Another device"
