"""What a page sends, in order: sound to the disk, and then the answer that it is there."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from itertools import groupby
from typing import TypeVar

from recorder.errors import SeamnoteError, SessionOver
from recorder.live.chunks import BadChunk, Chunk
from recorder.web.live.hub import Hub, Page
from recorder.web.live.messages import (
    Claim,
    Frame,
    Here,
    Interrupt,
    OpenStretch,
    Release,
    Speaking,
    Spoken,
    Stopped,
    frame,
)
from recorder.web.pages.errors import words

_Answer = TypeVar("_Answer")
# Threads of its own: whatever else pages ask for, sound does not wait for it.
_SAVING = ThreadPoolExecutor(4, thread_name_prefix="saving")


class Taker:
    """Of one page that is linked to a session."""

    def __init__(self, hub: Hub, page: Page) -> None:
        self._hub = hub
        self._page = page

    async def take(self, data: Sequence[bytes | str]) -> None:
        """Frames in the order in which they came. Raises BadFrame for what no page sends."""
        for sound, group in groupby(self._frames(data), lambda each: isinstance(each, Chunk)):
            if sound:
                await self._sound([each for each in group if isinstance(each, Chunk)])
            else:
                for each in group:
                    await self._message(each)

    def _frames(self, data: Sequence[bytes | str]) -> Iterator[Frame]:
        for each in data:
            try:
                yield frame(each)
            except BadChunk:
                self._again()

    def _again(self) -> None:
        """A chunk came damaged, and does not even say whose it was: all send from their next."""
        for stretch, number in self._page.wanted.items():
            self._page.tell("again", stretch=stretch, next=number)

    async def _sound(self, chunks: list[Chunk]) -> None:
        for stretch, group in groupby(chunks, lambda chunk: chunk.stretch):
            if stretch not in self._page.wanted:
                self._page.tell("again", stretch=stretch, next=0)
                continue
            try:
                taken = await _saved(self._hub.session.take, list(group))
            except SessionOver:
                self._page.tell("over", stretch=stretch)
                continue
            except SeamnoteError as failure:
                # Nothing is acknowledged, so that the page keeps it and sends it again.
                self._page.tell("trouble", text=self._sentence(failure))
                continue
            if not self._page.wanted[stretch] and taken.next:
                self._hub.changed()  # with its first sound it is known how long there was none
            self._page.wanted[stretch] = taken.next
            answer = "again" if taken.wanted_again else "ack"
            self._page.tell(answer, stretch=stretch, next=taken.next, saved_s=taken.saved_s)

    async def _message(self, message: Frame) -> None:
        session = self._hub.session
        match message:
            case OpenStretch():
                await self._open(message)
            case Speaking(name=name, stretch=stretch, sample=sample):
                await self._do(session.speaking, name, sample, stretch)
            case Spoken(name=name, stretch=stretch, sample=sample):
                await self._do(session.spoken, name, sample, stretch)
            case Interrupt():
                await self._do(session.interrupt)
            case Stopped(reason=reason):
                await self._do(session.gap, reason)
            case Here(ms=ms):
                self._page.tell("here", ms=ms, now_ms=now_ms())
            case Claim(take=take):
                self._hub.claim(self._page, take=take)
            case Release():
                self._hub.release(self._page)

    async def _do(self, what: Callable[..., None], *given: object) -> None:
        try:
            await asyncio.to_thread(what, *given)
        except SeamnoteError as failure:
            self._page.tell("trouble", text=self._sentence(failure))

    async def _open(self, stretch: OpenStretch) -> None:
        began_at = datetime.fromtimestamp(stretch.began_ms / 1000, UTC)
        try:
            number = await _saved(
                self._hub.session.stretch,
                stretch.name,
                stretch.rate_hz,
                began_at,
                self._page.device,
                stretch.after,
            )
        except SessionOver:
            self._page.tell("over", stretch=stretch.name)
            return
        except SeamnoteError as failure:
            self._page.tell("trouble", text=self._sentence(failure))
            return
        self._page.wanted[stretch.name] = number
        self._page.tell("ack", stretch=stretch.name, next=number, saved_s=None)

    def _sentence(self, failure: SeamnoteError) -> str:
        return f"{'; '.join(words(failure, self._hub.home))}."


async def _saved(save: Callable[..., _Answer], *given: object) -> _Answer:
    return await asyncio.get_running_loop().run_in_executor(_SAVING, save, *given)


def now_ms() -> float:
    """By the clock of this machine, from which a page reckons its own."""
    return time.time() * 1000
