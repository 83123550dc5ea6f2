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


def obtain(
    path: Path,
    ask: Callable[[str], str] | None,
    creating: bool,
    opens: Callable[[str], bool] | None = None,
) -> str:
    """The passphrase for the key at ``path``; never empty.

    ask: shows a prompt and returns what was typed without echo; None where nobody can answer.
    creating: asks twice, and keeps the answer in the keyring where one works.
    opens: whether a passphrase opens the key. With it, one from the keyring that does not is
    asked for instead, up to ``TRIES`` times, and the right answer replaces it there.
    Raises PassphraseMissing.
    """
    given = os.environ.get(VARIABLE)
    if given:
        return given
    kept = _from_keyring(path)
    if kept and (creating or ask is None or opens is None or opens(kept)):
        return kept
    if ask is None:
        raise PassphraseMissing()
    if creating:
        chosen = _ask_twice(ask)
        _into_keyring(path, chosen)
        return chosen
    typed = _ask_until(ask, path, opens)
    if kept and opens and opens(typed):
        _into_keyring(path, typed)
    return typed


def keyring_name() -> str:
    """Name of the keyring that would keep the passphrase; empty where none works."""
    try:
        import keyring
        from keyring.backends import fail

        found = keyring.get_keyring()
        return "" if isinstance(found, fail.Keyring) else str(found.name)
    except Exception:  # as below
        return ""


def _ask_until(ask: Callable[[str], str], path: Path, opens: Callable[[str], bool] | None) -> str:
    """The first answer that opens the key, or the last one."""
    hint = typed = ""
    for _ in range(TRIES if opens else 1):
        typed = ask(f"{hint}Passphrase of the signing key {path.name}: ")
        if not typed:
            raise PassphraseMissing()
        if opens is None or opens(typed):
            break
        hint = "That does not open it. "
    return typed


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
