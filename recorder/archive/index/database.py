"""The one door to the database: SQLite by SQLAlchemy, whose failures become errors of ours."""

from __future__ import annotations

import contextlib
import functools
import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, Executable, Table, create_engine, insert
from sqlalchemy.dialects import sqlite
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import NullPool

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

# Journal mode, synchronous, secure_delete. NORMAL with WAL could lose what was acknowledged:
# https://www.sqlite.org/pragma.html#pragma_synchronous. What is removed is overwritten,
# also while an index is made: its free pages would keep words that are removed later.
DURABLE = ("WAL", "FULL", "ON")
SCRATCH = ("OFF", "OFF", "ON")  # for a file that is thrown away after a crash
AS_IT_IS = ()  # to look at a file that may be another program's
_MODES = ("journal_mode", "synchronous", "secure_delete")


class Database:
    """An open database. Statements stand alone unless they run inside ``transaction``."""

    def __init__(self, path: Path, modes: tuple[str, ...] = DURABLE) -> None:
        """Open or make the file. Raises Busy, HomeUnusable, IndexDamaged; so do all methods."""
        self.path = path
        with self._translated():
            connection = _engine(path).connect()
            self._connection = connection.execution_options(isolation_level="AUTOCOMMIT")
        try:
            self.set_modes(modes)
        except BaseException:
            self.close()
            raise

    def set_modes(self, modes: tuple[str, ...]) -> None:
        """DURABLE, SCRATCH or AS_IT_IS."""
        for name, mode in zip(_MODES, modes, strict=False):
            self.rows(f"PRAGMA {name} = {mode}")

    def rows(self, statement: Executable | str, values: Iterable[object] = ()) -> list[Row]:
        """The rows of a query. values: of a statement in SQLite's own words."""
        with self._translated():
            if isinstance(statement, str):
                return self._driver.execute(statement, tuple(values)).fetchall()
            cursor = self._connection.execute(statement).cursor
            return list(cursor.fetchall()) if cursor else []

    def stream(self, statement: str) -> Iterator[Row]:
        """The rows of a query one after another, for those that are too many to hold."""
        with self._translated():
            yield from self._driver.execute(statement)

    def run(self, statement: Executable, values: Sequence[Mapping[str, object]] = ()) -> None:
        """A statement that changes rows. values: it is done once with each of them."""
        with self._translated():
            self._connection.execute(statement, values or None)

    def many(self, statement: Executable, values: Sequence[Mapping[str, object]]) -> None:
        """As ``run``, but not at all where there are no values."""
        if values:
            self.run(statement, values)

    def fill(self, table: Table, rows: Sequence[Row]) -> None:
        """Insert rows, their values in the order of the columns."""
        with self._translated():
            self._driver.executemany(_insertion(table), rows)

    @contextlib.contextmanager
    def transaction(self) -> Iterator[None]:
        """All or nothing, and no other writer meanwhile."""
        self.rows("BEGIN IMMEDIATE")
        try:
            yield
        except BaseException:
            with self._translated():
                self._driver.rollback()
            raise
        self.rows("COMMIT")

    def copy_over(self, other: Database) -> None:
        """Replace the content of ``other`` under SQLite's own locks, so that its readers and a
        crash see the old content or the new."""
        with other._translated():
            self._driver.backup(other._driver)

    def check(self) -> None:
        """SQLite's own examination of every page. Raises IndexDamaged."""
        found = [str(row[0]) for row in self.rows("PRAGMA integrity_check")]
        if found != ["ok"]:
            raise IndexDamaged(path=self.path, detail=found[0])

    def close(self) -> None:
        with self._translated():
            self._connection.close()

    @property
    def _driver(self) -> sqlite3.Connection:
        found = self._connection.connection.driver_connection
        assert isinstance(found, sqlite3.Connection)
        return found

    @contextlib.contextmanager
    def _translated(self) -> Iterator[None]:
        try:
            yield
        except (sqlite3.Error, DBAPIError) as error:
            told = error.orig if isinstance(error, DBAPIError) else error
            code = getattr(told, "sqlite_errorcode", 0) & 0xFF
            if code in _BUSY:
                raise Busy(path=self.path) from error
            if code in _DAMAGED:
                raise IndexDamaged(path=self.path, detail=str(told)) from error
            if code in _NO_PLACE:
                raise HomeUnusable(path=self.path.parent, detail=str(told)) from error
            raise


@functools.lru_cache(maxsize=8)
def _engine(path: Path) -> Engine:
    """It holds no connection, but the statements that it knows already."""

    def connect() -> sqlite3.Connection:
        return sqlite3.connect(path, timeout=BUSY_TIMEOUT_S, isolation_level=None)

    return create_engine("sqlite://", creator=connect, poolclass=NullPool)


@functools.cache
def _insertion(table: Table) -> str:
    return str(insert(table).compile(dialect=sqlite.dialect()))
