"""The passphrase of the signing key: from the environment, the platform's keyring, or a prompt.

It is kept nowhere else: not in the home, not in a log, not in an error.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

from recorder.errors import PassphraseMissing

VARIABLE = "SEAMNOTE_PASSPHRASE"
SERVICE = "seamnote"
TRIES = 3


def obtain(path: Path, ask: Callable[[str], str] | None, creating: bool) -> str:
    """The passphrase for the key at ``path``; never empty.

    ask: shows a prompt and returns what was typed without echo; None where nobody can answer.
    creating: asks twice, and keeps the answer in the keyring where one works.
    Raises PassphraseMissing.
    """
    known = os.environ.get(VARIABLE) or _from_keyring(path)
    if known:
        return known
    if ask is None:
        raise PassphraseMissing()
    if not creating:
        typed = ask(f"Passphrase of the signing key {path.name}: ")
        if not typed:
            raise PassphraseMissing()
        return typed
    chosen = _ask_twice(ask)
    _into_keyring(path, chosen)
    return chosen


def keyring_name() -> str:
    """Name of the keyring that would keep the passphrase; empty where none works."""
    try:
        import keyring
        from keyring.backends import fail

        found = keyring.get_keyring()
        return "" if isinstance(found, fail.Keyring) else str(found.name)
    except Exception:  # as below
        return ""


def _ask_twice(ask: Callable[[str], str]) -> str:
    hint = ""
    for _ in range(TRIES):
        first = ask(f"{hint}Choose a passphrase for the new signing key: ")
        if not first:
            hint = "It must not be empty. "
        elif first != ask("The same passphrase again: "):
            hint = "The two differ. "
        else:
            return first
    raise PassphraseMissing()


def _from_keyring(path: Path) -> str | None:
    try:
        import keyring

        return keyring.get_password(SERVICE, str(path.resolve()))
    except Exception:  # back ends raise whatever their desktop service raises
        return None


def _into_keyring(path: Path, passphrase: str) -> None:
    try:
        import keyring

        keyring.set_password(SERVICE, str(path.resolve()), passphrase)
    except Exception:  # no keyring that works: the person will be asked again
        return
