"""Who is at work: what events say of it.

A context variable, so that not every function on the way to a saving has to carry it.
"""

from __future__ import annotations

import contextlib
import getpass
import platform
from collections.abc import Callable, Iterator
from contextvars import ContextVar

from recorder import __version__
from recorder.model.event import Actor

_person: ContextVar[Callable[[], str]] = ContextVar("person", default=lambda: "")


@contextlib.contextmanager
def acting(person: str | Callable[[], str]) -> Iterator[None]:
    """Inside, events are of this person; a function is asked when the first event is written.

    An empty name means the one by which the system knows the user.
    """
    token = _person.set(person if callable(person) else lambda: person)
    try:
        yield
    finally:
        _person.reset(token)


def actor() -> Actor:
    """The person, the machine and the program that are at work."""
    return Actor(
        person=_plain(_person.get()() or _login()),
        device=_plain(platform.node()),
        program=f"Seamnote {__version__}",
    )


def _login() -> str:
    """Empty where the system has no name for the user, as in some containers."""
    try:
        return getpass.getuser()
    except (ImportError, KeyError, OSError):
        return ""


def _plain(name: str) -> str:
    """A name of the system's as text that every JSON reader takes."""
    return name.encode("utf-8", "replace").decode()
