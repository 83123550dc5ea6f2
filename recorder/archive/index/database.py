"""The one module that imports sqlite3: a file database whose failures are errors of ours."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from recorder.errors import Busy, HomeUnusable, IndexDamaged

BUSY_TIMEOUT_S = 10.0

# Primary result codes, https://www.sqlite.org/rescode.html
_BUSY = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}
_DAMAGED = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB}
_NO_PLACE = {
    sqlite3.SQLITE_FULL,
    sqlite3.SQLITE_READONLY,
    sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_IOERR,
    sqlite3.SQLITE_PERM,
}

Row = tuple[Any, ...]

# Journal mode and synchronous. NORMAL with WAL could lose what was acknowledged:
# https://www.sqlite.org/pragma.html#pragma_synchronous
DURABLE = ("WAL", "FULL")
SCRATCH = ("OFF", "OFF")  # for a file that is thrown away after a crash
AS_IT_IS = ()  # to look at a file that may be another program's


class Database:
    """An open database. Statements stand alone unless they run inside ``transaction``."""

    def __init__(self, path: Path, modes: tuple[str, ...] = DURABLE) -> None:
        """Open or make the file. Raises Busy, HomeUnusable, IndexDamaged; so do all methods."""
        self.path = path
        with self._translated():
            self._connection = sqlite3.connect(path, timeout=BUSY_TIMEOUT_S, isolation_level=None)
        try:
            for name, mode in zip(("journal_mode", "synchronous"), modes, strict=False):
                self.rows(f"PRAGMA {name} = {mode}")
        except BaseException:
            self.close()
            raise

    def rows(self, statement: str, values: Iterable[object] = ()) -> list[Row]:
        with self._translated():
            return self._connection.execute(statement, tuple(values)).fetchall()

    def many(self, statement: str, values: Iterable[Row]) -> None:
        with self._translated():
            self._connection.executemany(statement, values)

    @contextlib.contextmanager
    def transaction(self) -> Iterator[None]:
        """All or nothing, and no other writer meanwhile."""
        self.rows("BEGIN IMMEDIATE")
        try:
            yield
        except BaseException:
            with self._translated():
                self._connection.rollback()
            raise
        self.rows("COMMIT")

    def copy_over(self, other: Database) -> None:
        """Replace the content of ``other`` under SQLite's own locks, so that its readers and a
        crash see the old content or the new."""
        with other._translated():
            self._connection.backup(other._connection)

    def check(self) -> None:
        """SQLite's own examination of every page. Raises IndexDamaged."""
        found = [str(row[0]) for row in self.rows("PRAGMA integrity_check")]
        if found != ["ok"]:
            raise IndexDamaged(path=self.path, detail=found[0])

    def close(self) -> None:
        with self._translated():
            self._connection.close()

    @contextlib.contextmanager
    def _translated(self) -> Iterator[None]:
        try:
            yield
        except sqlite3.Error as error:
            code = getattr(error, "sqlite_errorcode", 0) & 0xFF
            if code in _BUSY:
                raise Busy(path=self.path) from error
            if code in _DAMAGED:
                raise IndexDamaged(path=self.path, detail=str(error)) from error
            if code in _NO_PLACE:
                raise HomeUnusable(path=self.path.parent, detail=str(error)) from error
            raise
