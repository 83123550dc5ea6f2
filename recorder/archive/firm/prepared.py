"""Job cards that wait for their job: ``prepared/<name>.toml`` in the home."""

from __future__ import annotations

import re
import secrets
from datetime import datetime
from pathlib import Path

from recorder.archive.disk import atomic
from recorder.archive.disk.home import Home, cause
from recorder.errors import OutputUnwritable, UnknownCard

FOLDER = "prepared"
_NAME = re.compile(r"[0-9a-z-]{1,80}")
_LONGEST_STEM = 40


def keep(home: Home, stem: str, content: bytes, now: datetime) -> str:
    """Keep a card; its name. stem: what the name begins with, in any words. Raises
    OutputUnwritable.
    """
    plain = re.sub(r"[^0-9a-z]+", "-", stem.casefold())[:_LONGEST_STEM].strip("-") or "card"
    name = f"{plain}-{now:%Y%m%d-%H%M%S}-{secrets.token_hex(2)}"
    folder = home.root / FOLDER
    atomic.make_folder(folder)
    atomic.write(folder / f"{name}.toml", content)
    return name


def names(home: Home) -> tuple[str, ...]:
    """Of all that wait, in the order of the alphabet."""
    found = (home.root / FOLDER).glob("*.toml")
    return tuple(sorted(path.stem for path in found if _NAME.fullmatch(path.stem)))


def path_of(home: Home, name: str) -> Path:
    """The file of a card. Raises UnknownCard where it does not wait, or waits no more."""
    path = home.root / FOLDER / f"{name}.toml"
    if not _NAME.fullmatch(name) or not path.is_file():
        raise UnknownCard(wanted=name[:80])
    return path


def remove(home: Home, name: str) -> None:
    """Take a card off the list. One that is gone already is no matter. OutputUnwritable."""
    try:
        path = path_of(home, name)
        path.unlink(missing_ok=True)
        atomic.sync_folder(path.parent)
    except UnknownCard:
        return
    except OSError as error:
        raise OutputUnwritable(path=home.root / FOLDER, detail=cause(error)) from error
