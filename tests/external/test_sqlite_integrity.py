"""The index judged by SQLite itself.

Sources: https://www.sqlite.org/pragma.html#pragma_integrity_check and
https://www.sqlite.org/fts5.html#the_integrity_check_command. Both are run here with the sqlite3
module alone, on the finished file, and are first shown a damaged copy.
"""

import shutil
import sqlite3
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.index.index import Index
from recorder.archive.jobs.record import dump
from tests.archive.sample_jobs import synthetic_job

JOBS = 300


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    home = Home.open(tmp_path_factory.mktemp("integrity") / "home")
    for number in range(JOBS):
        job = synthetic_job(number)
        (home.jobs / job.id).mkdir()
        (home.jobs / job.id / "job.json").write_bytes(dump(job))
    return home


def examine(path: Path) -> None:
    connection = sqlite3.connect(path)
    try:
        found = [row[0] for row in connection.execute("PRAGMA integrity_check")]
        connection.execute("INSERT INTO texts (texts, rank) VALUES ('integrity-check', 1)")
    finally:
        connection.close()
    if found != ["ok"]:
        raise sqlite3.DatabaseError(found[0])


def count(path: Path, query: str) -> int:
    connection = sqlite3.connect(path)
    try:
        return int(connection.execute(query).fetchone()[0])
    finally:
        connection.close()


def test_a_rebuilt_index_is_sound(home: Home) -> None:
    assert Index.rebuild(home).count == JOBS
    examine(home.index)
    assert count(home.index, "SELECT count(*) FROM jobs") == JOBS
    assert count(home.index, "SELECT count(*) FROM texts WHERE texts MATCH 'gasket'") > JOBS / 2


def test_an_index_is_sound_after_many_changes(home: Home) -> None:
    Index.rebuild(home)
    with Index.open(home) as index:
        for number in range(0, JOBS, 3):
            index.put(synthetic_job(number).model_copy(update={"notes": ()}))
    examine(home.index)
    assert count(home.index, "SELECT count(*) FROM texts") == JOBS


@pytest.mark.parametrize("statement", ["DELETE FROM texts_data WHERE id > 10", None])
def test_the_examination_sees_damage(home: Home, tmp_path: Path, statement: str | None) -> None:
    Index.rebuild(home)
    broken = tmp_path / "broken.sqlite"
    shutil.copy(home.index, broken)
    examine(broken)
    if statement:
        with sqlite3.connect(broken) as connection:
            connection.execute(statement)
        connection.close()
    else:
        pages = bytearray(broken.read_bytes())
        pages[4096 * 5 : 4096 * 7] = b"\xa5" * 8192
        broken.write_bytes(pages)
    with pytest.raises(sqlite3.DatabaseError):
        examine(broken)
