import sqlite3
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.index.index import Index
from recorder.errors import HomeUnusable, IndexDamaged
from tests.archive.index.index_content import content, ids, jobs
from tests.archive.sample_jobs import add_job


def test_damaged_folders_are_reported_and_the_rest_is_found(home: Home, source: Path) -> None:
    good, cut, missing, renamed = jobs(home, source, 4)
    record = home.jobs / cut.id / "job.json"
    record.write_bytes(record.read_bytes()[:-100])
    (home.jobs / missing.id / "job.json").unlink()
    (home.jobs / renamed.id).rename(home.jobs / "copy of it")
    (home.jobs / "stray file").write_text("not a folder")
    report = Index.rebuild(home)
    assert report.count == 1
    reasons = {path.name: reason for path, reason in report.damaged}
    assert set(reasons) == {cut.id, missing.id, "copy of it"}
    assert "EOF" in reasons[cut.id] or "json" in reasons[cut.id]
    assert reasons[missing.id] == "job.json is missing"
    assert renamed.id in reasons["copy of it"]
    with Index.open(home) as index:
        assert ids(index) == [good.id]
        assert {path.name for path, _ in index.damaged} == set(reasons)


def test_a_job_damaged_later_is_still_found(home: Home, source: Path) -> None:
    job = add_job(home, source)
    Index.rebuild(home)
    (home.jobs / job.id / "job.json").write_bytes(b"{")
    with Index.open(home) as index:
        assert ids(index, "gasket") == [job.id]
        assert [path.name for path, _ in index.damaged] == [job.id]


@pytest.mark.parametrize(
    "garbage", [b"this is no database, it is a text file " * 300, b"\0" * 9000]
)
def test_a_file_that_is_no_database(home: Home, source: Path, garbage: bytes) -> None:
    job = add_job(home, source)
    home.index.write_bytes(garbage)
    with pytest.raises(IndexDamaged, match="archive rebuild"):
        Index.open(home)
    assert home.index.read_bytes() == garbage
    Index.rebuild(home)
    with Index.open(home) as index:
        assert ids(index) == [job.id]


def test_damaged_pages_are_found_and_mended(home: Home, source: Path) -> None:
    made = jobs(home, source, 5)
    Index.rebuild(home)
    sound = content(home)
    pages = bytearray(home.index.read_bytes())
    for start in range(4096, len(pages), 8192):
        pages[start : start + 2000] = b"\xa5" * 2000
    home.index.write_bytes(pages)
    with pytest.raises(IndexDamaged, match="archive rebuild"), Index.open(home) as index:
        index.check()
    assert Index.rebuild(home).count == len(made)
    assert content(home) == sound
    with Index.open(home) as index:
        index.check()


def test_a_text_index_that_lost_a_row_is_found(home: Home, source: Path) -> None:
    add_job(home, source)
    Index.rebuild(home)
    with sqlite3.connect(home.index) as connection:
        connection.execute("UPDATE texts_content SET c0 = 'something else'")
    connection.close()
    with Index.open(home) as index, pytest.raises(IndexDamaged):
        index.check()


def test_the_database_of_another_program_is_left_alone(home: Home) -> None:
    with sqlite3.connect(home.index) as connection:
        connection.execute("CREATE TABLE jobs (recipe TEXT)")
    connection.close()
    before = home.index.read_bytes()
    with pytest.raises(IndexDamaged, match="another program"):
        Index.open(home)
    assert home.index.read_bytes() == before


def test_a_failed_rebuild_leaves_the_old_index(
    home: Home, source: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    jobs(home, source, 2)
    Index.rebuild(home)
    before = home.index.read_bytes()

    def stop(done: int, of: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        Index.rebuild(home, stop)
    assert home.index.read_bytes() == before
    assert sorted(path.name for path in home.root.iterdir()) == ["identity", "index.sqlite", "jobs"]


def test_an_index_that_cannot_be_written(home: Home) -> None:
    home.index.mkdir()
    with pytest.raises((HomeUnusable, IndexDamaged)):
        Index.open(home)


def test_damage_outside_the_text_is_found(home: Home, source: Path) -> None:
    add_job(home, source)
    Index.rebuild(home)
    with sqlite3.connect(home.index) as connection:
        query = "SELECT rootpage FROM sqlite_schema WHERE name = 'values_by_number'"
        (page,) = connection.execute(query).fetchone()
    connection.close()
    pages = bytearray(home.index.read_bytes())
    pages[page * 4096 - 20 : page * 4096] = b"\xa5" * 20
    home.index.write_bytes(pages)
    with Index.open(home) as index, pytest.raises(IndexDamaged, match="values_by_number"):
        index.check()


def test_a_failure_on_the_way_puts_nothing(
    home: Home, source: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = add_job(home, source)
    Index.rebuild(home)
    before = content(home)

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    with Index.open(home) as index:
        monkeypatch.setattr("recorder.archive.index.fts5.Fts5.put", stop)
        with pytest.raises(KeyboardInterrupt):
            index.put(job.model_copy(update={"readings": ()}))
        assert ids(index, "gasket") == [job.id]
    assert content(home) == before
