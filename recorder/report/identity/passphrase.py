"""The passphrase of a key: from the environment, the platform's keyring, or a prompt.

It is kept nowhere else: not in the home, not in a log, not in an error. The authority of a firm and
the key of its technician lie in two files; made together, on the one laptop of a small firm, they
get the same passphrase. An office that keeps its authority apart gives it one of its own.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from pathlib import Path

from recorder.errors import PassphraseMissing

VARIABLE = "SEAMNOTE_PASSPHRASE"
AUTHORITY_VARIABLE = "SEAMNOTE_AUTHORITY_PASSPHRASE"  # where it differs from the signing key's
SERVICE = "seamnote"
TRIES = 3


def obtain(
    key: Path | str,
    ask: Callable[[str], str] | None,
    creating: bool,
    opens: Callable[[str], bool] | None = None,
    variables: Sequence[str] = (VARIABLE,),
) -> str:
    """The passphrase for the key at a path, or the PIN of a token of that name; never empty.

    ask: shows a prompt and returns what was typed without echo; None where nobody can answer.
    creating: asks twice, and keeps the answer in the keyring where one works.
    opens: whether a passphrase opens the key. With it, one from the keyring that does not is
    asked for instead, up to ``TRIES`` times, and the right answer replaces it there. Without it
    there is one try, for a token that locks itself after a few.
    variables: of the environment, the first that is set counts.
    Raises PassphraseMissing.
    """
    given = next(filter(None, map(os.environ.get, variables)), None)
    if given:
        return given
    kept = _from_keyring(key)
    if kept and (creating or ask is None or opens is None or opens(kept)):
        return kept
    if ask is None:
        raise PassphraseMissing()
    if creating:
        chosen = _ask_twice(ask)
        _into_keyring(key, chosen)
        return chosen
    typed = _ask_until(ask, key, opens)
    if kept and opens and opens(typed):
        _into_keyring(key, typed)
    return typed


def share(key: Path, other: Path, passphrase: str) -> None:
    """Keep the passphrase of a key for another one too, where the keyring keeps it."""
    if _from_keyring(key) == passphrase:
        _into_keyring(other, passphrase)


def keyring_name() -> str:
    """Name of the keyring that would keep the passphrase; empty where none works."""
    try:
        import keyring
        from keyring.backends import fail

        found = keyring.get_keyring()
        return "" if isinstance(found, fail.Keyring) else str(found.name)
    except Exception:  # as below
        return ""


def _ask_until(
    ask: Callable[[str], str], key: Path | str, opens: Callable[[str], bool] | None
) -> str:
    """The first answer that opens the key, or the last one."""
    what = key if isinstance(key, str) else f"the key {key.name}"
    hint = typed = ""
    for _ in range(TRIES if opens else 1):
        typed = ask(f"{hint}Passphrase of {what}: ")
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


def _entry(key: Path | str) -> str:
    return key if isinstance(key, str) else str(key.resolve())


def _from_keyring(key: Path | str) -> str | None:
    try:
        import keyring

        return keyring.get_password(SERVICE, _entry(key))
    except Exception:  # back ends raise whatever their desktop service raises
        return None


def _into_keyring(key: Path | str, passphrase: str) -> None:
    try:
        import keyring

        keyring.set_password(SERVICE, _entry(key), passphrase)
    except Exception:  # no keyring that works: the person will be asked again
        return
