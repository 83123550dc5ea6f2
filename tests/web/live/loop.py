"""An event loop of a test's own: a browser that is open holds that of the thread of the tests."""

from __future__ import annotations

import asyncio
from collections.abc import Coroutine
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

T = TypeVar("T")


def run(coroutine: Coroutine[Any, Any, T]) -> T:
    with ThreadPoolExecutor(1) as own:
        return own.submit(asyncio.run, coroutine).result()
