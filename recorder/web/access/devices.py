"""Which devices may enter, and who is invited: ``<home>/access/devices.json``, for its owner alone.

Of secrets only the SHA-256 is kept: they are random and long, so that nothing slower is needed.
A running server and a command may change the file at the same time; each looks at it anew.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from pathlib import Path

from pydantic import AwareDatetime, Field, ValidationError

from recorder.archive.disk import atomic, lock
from recorder.errors import DevicesDamaged
from recorder.model.base import Value

FILE = "devices.json"
FOLDER = "access"
MOST_DEVICES = 50
MOST_INVITES = 20
LONGEST_NAME = 60


class Device(Value):
    """number: by which people call it. name: told when it was paired. browser: in a few words.
    digest: of its secret, SHA-256 in hex. first_seen, last_seen: the latter to the hour.
    """

    number: int = Field(ge=1)
    name: str = Field(min_length=1, max_length=LONGEST_NAME)
    browser: str = ""
    digest: str = Field(pattern=r"^[0-9a-f]{64}$")
    first_seen: AwareDatetime
    last_seen: AwareDatetime


class Invite(Value):
    """digest: of the token, SHA-256 in hex. until: when it is worth nothing any more."""

    digest: str = Field(pattern=r"^[0-9a-f]{64}$")
    until: AwareDatetime


class Book(Value):
    """next: the number of the next device; none is given twice."""

    next: int = Field(1, ge=1)
    devices: tuple[Device, ...] = ()
    invites: tuple[Invite, ...] = ()


class Devices:
    """The file, as it stands now. Thread-safe: what is read is a whole value."""

    def __init__(self, home: Path) -> None:
        self.folder = home / FOLDER
        self._path = self.folder / FILE
        self._read: tuple[tuple[int, int, int], Book] | None = None

    def book(self) -> Book:
        """Costs a look at the file's time; it is read again when that changed. DevicesDamaged."""
        try:
            found = self._path.stat()
        except FileNotFoundError:
            return Book()
        stamp = (found.st_mtime_ns, found.st_ino, found.st_size)
        kept = self._read
        if kept is None or kept[0] != stamp:
            kept = self._read = (stamp, self._load())
        return kept[1]

    def change(self, change: Callable[[Book], Book], wait_s: float = 30.0) -> Book:
        """Replace the file; no other can between. DevicesDamaged, Busy, OutputUnwritable."""
        make_private(self.folder)
        with lock.held(self._path, wait_s):
            old = self._load() if self._path.exists() else Book()
            new = change(old)
            if new != old:
                write_private(self._path, new.model_dump_json(indent=1).encode())
        return new

    def _load(self) -> Book:
        try:
            return Book.model_validate_json(self._path.read_bytes())
        except ValidationError as error:
            raise DevicesDamaged(path=self._path) from error


def make_private(folder: Path) -> None:
    """A folder that only its owner can look into. OutputUnwritable."""
    atomic.make_folder(folder)
    with contextlib.suppress(OSError):  # file systems without owners
        folder.chmod(0o700)


def write_private(path: Path, content: bytes) -> None:
    """A file that only its owner can read, whole at every moment. OutputUnwritable."""
    staged = atomic.stage(path, content)
    with contextlib.suppress(OSError):
        staged.chmod(0o600)
    atomic.put(staged, path)
