import json
import multiprocessing
import shutil
import sqlite3
from datetime import timedelta
from pathlib import Path

import pytest

from recorder.archive.folder import JobFolder
from recorder.archive.home import Home
from recorder.archive.index import Index, RebuildReport
from recorder.archive.search import search
from recorder.errors import Busy, HomeUnusable, IndexDamaged
from recorder.model.job import Job
from tests.archive.sample_jobs import NOW, add_job, reading

CONTENT = (
    "SELECT id, created_at, title, customer, outcome, complete, main, stamp FROM jobs ORDER BY id",
    "SELECT id, v.field, splice, run, role, low, high, word, standing FROM job_values v"
    " JOIN jobs ON key = job ORDER BY id, v.rowid",
    "SELECT id, line, label, file, start_s FROM passages JOIN jobs ON key = job ORDER BY id, line",
    "SELECT id, body FROM texts JOIN jobs ON key = texts.rowid ORDER BY id",
)


def content(home: Home) -> list[list[tuple[object, ...]]]:
    """All that the index says, without its internal keys; read with SQLite alone."""
    connection = sqlite3.connect(home.index)
    try:
        return [connection.execute(query).fetchall() for query in CONTENT]
    finally:
        connection.close()


def jobs(home: Home, source: Path, count: int = 5) -> list[Job]:
    return [add_job(home, source, NOW + timedelta(hours=hour)) for hour in range(count)]


def ids(index: Index, words: str = "") -> list[str]:
    return [hit.id for hit in search(index, words)]


def test_an_empty_home_has_an_empty_index(home: Home) -> None:
    with Index.open(home) as index:
        assert search(index, "anything") == ()
        index.check()
    assert sorted(path.name for path in home.root.iterdir()) == ["identity", "index.sqlite", "jobs"]


def test_a_missing_index_is_made_from_the_folders(home: Home, source: Path) -> None:
    made = jobs(home, source, 3)
    assert not home.index.exists()
    with Index.open(home) as index:
        assert ids(index) == [job.id for job in reversed(made)]


def test_rebuilding_gives_what_putting_gave(home: Home, source: Path) -> None:
    with Index.open(home) as index:
        for job in jobs(home, source):
            index.put(job)
        changed = job.model_copy(update={"readings": (*job.readings, reading("press", "P2"))})
        JobFolder(home.jobs / job.id).save(changed)
        index.put(changed)
    put = content(home)
    assert len(put[0]) == 5
    assert all(table for table in put)
    seen: list[tuple[int, int]] = []
    report = Index.rebuild(home, lambda done, of: seen.append((done, of)))
    assert report == RebuildReport(5)
    assert seen == [(n, 5) for n in range(1, 6)]
    assert content(home) == put
    home.index.unlink()
    Index.rebuild(home)
    assert content(home) == put
    assert sorted(path.name for path in home.root.iterdir()) == ["identity", "index.sqlite", "jobs"]


def test_putting_a_job_again_replaces_it(home: Home, source: Path) -> None:
    job = add_job(home, source)
    with Index.open(home) as index:
        index.put(job)
        once = content(home)
        index.put(job)
        assert content(home) == once
        assert ids(index, "gasket") == [job.id]
        index.put(job.model_copy(update={"transcripts": ()}))
        assert ids(index, "gasket") == []


def test_a_crash_between_saving_and_indexing_is_mended(home: Home, source: Path) -> None:
    job = add_job(home, source)
    Index.rebuild(home)
    JobFolder(home.jobs / job.id).update(
        lambda known: known.model_copy(
            update={"readings": (*known.readings, reading("press", "Brontes"))}
        )
    )
    with Index.open(home) as index:
        assert ids(index, "brontes") == [job.id]


def test_putting_an_older_record_than_the_saved_one_is_mended(home: Home, source: Path) -> None:
    job = add_job(home, source)
    with Index.open(home) as index:
        index.put(job.model_copy(update={"transcripts": ()}))
    with Index.open(home) as index:
        assert ids(index, "gasket") == [job.id]
        assert index.refresh() == RebuildReport(0)


def test_folders_that_come_and_go_by_hand(home: Home, source: Path, tmp_path: Path) -> None:
    first, second = jobs(home, source, 2)
    Index.rebuild(home)
    shutil.move(home.jobs / first.id, tmp_path / first.id)
    with Index.open(home) as index:
        assert ids(index) == [second.id]
    shutil.copytree(tmp_path / first.id, home.jobs / first.id)
    with Index.open(home) as index:
        assert ids(index) == [second.id, first.id]
        index.check()


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


@pytest.mark.parametrize("change", ["PRAGMA user_version = 99", "DROP TABLE passages"])
def test_an_index_of_another_version_is_made_anew(home: Home, source: Path, change: str) -> None:
    job = add_job(home, source)
    Index.rebuild(home)
    sound = content(home)
    with sqlite3.connect(home.index) as connection:
        connection.execute(change)
    connection.close()
    with Index.open(home) as index:
        assert ids(index, "gasket") == [job.id]
    assert content(home) == sound


def test_an_empty_file_is_made_an_index(home: Home, source: Path) -> None:
    job = add_job(home, source)
    home.index.touch()
    with Index.open(home) as index:
        assert ids(index) == [job.id]


def test_a_rebuild_does_not_disturb_one_who_is_searching(home: Home, source: Path) -> None:
    first, second = jobs(home, source, 2)
    with Index.open(home) as open_elsewhere:
        assert ids(open_elsewhere) == [second.id, first.id]
        third = add_job(home, source, NOW + timedelta(days=9))
        Index.rebuild(home)
        assert ids(open_elsewhere, "gasket") == [third.id, second.id, first.id]
        open_elsewhere.put(first.model_copy(update={"transcripts": ()}))
        with Index.open(home) as index:
            index.check()


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


def test_a_locked_index_says_so(home: Home, source: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    job = add_job(home, source)
    Index.rebuild(home)
    monkeypatch.setattr("recorder.archive.database.BUSY_TIMEOUT_S", 0.1)
    with Index.open(home) as index:
        other = sqlite3.connect(home.index, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(Busy, match="another process"):
            index.put(job)
        assert ids(index) == [job.id]  # readers do not wait
        other.execute("ROLLBACK")
        other.close()
        index.put(job)


def test_an_index_that_cannot_be_written(home: Home) -> None:
    home.index.mkdir()
    with pytest.raises((HomeUnusable, IndexDamaged)):
        Index.open(home)


def test_every_write_is_durable(home: Home) -> None:
    with Index.open(home) as index:
        assert index.database.rows("PRAGMA journal_mode") == [("wal",)]
        assert index.database.rows("PRAGMA synchronous") == [(2,)]  # FULL


def test_a_copied_home_is_indexed_where_it_is(home: Home, source: Path, tmp_path: Path) -> None:
    job = add_job(home, source)
    Index.rebuild(home)
    shutil.copytree(home.root, tmp_path / "usb")
    shutil.rmtree(home.root)
    with Index.open(Home.open(tmp_path / "usb")) as index:
        (hit,) = search(index, "gasket")
    assert hit.path == tmp_path / "usb" / "jobs" / job.id
    assert json.loads((hit.path / "job.json").read_bytes())["id"] == job.id


def _put_all(root: Path, times: int) -> None:
    home = Home(root)
    for _ in range(times):
        with Index.open(home) as index:
            for folder in sorted(home.jobs.iterdir()):
                index.put(JobFolder(folder).load())


def test_two_processes_keep_the_index_whole(home: Home, source: Path) -> None:
    made = jobs(home, source, 3)
    Index.rebuild(home)
    before = content(home)
    spawn = multiprocessing.get_context("spawn")
    writers = [spawn.Process(target=_put_all, args=(home.root, 10)) for _ in range(2)]
    for writer in writers:
        writer.start()
    for _ in range(3):
        Index.rebuild(home)
    for writer in writers:
        writer.join()
        assert writer.exitcode == 0
    with Index.open(home) as index:
        index.check()
        assert len(ids(index)) == len(made)
    assert content(home) == before
