import json
import multiprocessing
import shutil
import sqlite3
from datetime import timedelta
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.index.index import Index, bring_up_to_date
from recorder.archive.index.rebuilding import RebuildReport
from recorder.archive.index.text import Phrase
from recorder.archive.jobs.folder import JobFolder
from recorder.errors import Busy
from tests.archive.finding.asking import search
from tests.archive.index.index_content import content, ids, jobs
from tests.archive.sample_jobs import BAKERY, NOW, add_job, reading, transcript


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
    (home.root / ".index.sqlite.new").write_bytes(b"left by a killed rebuild")
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


def test_the_making_anew_is_told(home: Home, source: Path) -> None:
    jobs(home, source, 2)
    seen: list[tuple[int, int]] = []
    Index.open(home, lambda done, of: seen.append((done, of))).close()
    Index.open(home, lambda done, of: seen.append((done, of))).close()
    assert seen == [(1, 2), (2, 2)]


def test_one_job_is_brought_in_without_a_look_at_the_others(home: Home, source: Path) -> None:
    first, second = jobs(home, source, 2)
    Index.rebuild(home)
    for job in (first, second):
        JobFolder(home.jobs / job.id).update(
            lambda known: known.model_copy(
                update={"readings": (*known.readings, reading("press", "Brontes"))}
            )
        )
    bring_up_to_date(home, first.id)
    with Index.open(home, scanned=False) as index:
        assert ids(index, "brontes") == [first.id]
        shutil.rmtree(home.jobs / first.id)
        assert index.bring(first.id).damaged == ()
        assert ids(index, "brontes") == []
        (home.jobs / second.id / "job.json").write_bytes(b"{")
        assert [path.name for path, _ in index.bring(second.id).damaged] == [second.id]
        assert ids(index) == [second.id]


def test_words_are_known_with_the_number_of_their_jobs(home: Home, source: Path) -> None:
    first, second = jobs(home, source, 2)
    with Index.open(home) as index:
        assert dict(index.terms(6, 6))["gasket"] == 2
        assert index.has(Phrase("gasket"))
        assert index.has(Phrase("new gas", prefix=True))
        assert not index.has(Phrase("gas"))
        index.put(first.model_copy(update={"transcripts": ()}))
        assert dict(index.terms(6, 6))["gasket"] == 1
        index.put(second.model_copy(update={"transcripts": (transcript("grüßt gasket2"),)}))
        assert dict(index.terms(4, 7)).keys() >= {"grußt", "bakery"}
        assert not {"gasket", "gasket2"} & dict(index.terms(4, 7)).keys()
        assert not index.has(Phrase("gasket"))


def test_an_index_that_says_something_else_than_the_record_is_found(
    home: Home, source: Path
) -> None:
    job = add_job(home, source)
    with Index.open(home) as index:
        assert index.differences(job) == ()
        assert index.differences(job.model_copy(update={"id": "another"})) == ("jobs",)
        assert index.differences(job.model_copy(update={"complete": False})) == ("jobs", "runs")
        for change, tables in (
            ("UPDATE jobs SET customer = 'Veldt'", ("jobs",)),
            ("UPDATE job_values SET high = 1 WHERE field = 'pressure'", ("job_values",)),
            ("DELETE FROM job_values WHERE field = 'pressure'", ("job_values",)),
            ("UPDATE passages SET start_s = 3 WHERE line = 9", ("passages",)),
            ("UPDATE runs SET top_temperature = 3 WHERE splice = 2", ("runs",)),
            ("DELETE FROM runs WHERE splice = 1", ("runs",)),
            ("UPDATE belts SET belt_width = 71", ("belts",)),
            ("DELETE FROM belts", ("belts",)),
            ("UPDATE texts SET body = body || ' more'", ("texts",)),
        ):
            index.put(job)
            index.database.rows(change)
            assert index.differences(job) == tables


def test_what_was_removed_leaves_no_trace_in_the_file(home: Home, source: Path) -> None:
    spoken = add_job(home, source, transcripts=(transcript("zanzibar hisses"),))
    add_job(home, source, NOW + timedelta(hours=1))
    Index.rebuild(home)
    files = [home.index, home.index.with_name("index.sqlite-wal")]
    with Index.open(home) as index:
        index.put(spoken)
        assert any(b"zanzibar" in file.read_bytes() for file in files if file.exists())
        index.put(spoken.model_copy(update={"transcripts": ()}))
        index.scrub()
        assert not any(b"zanzibar" in file.read_bytes() for file in files if file.exists())
        index.check()


def test_a_name_that_was_removed_leaves_no_trace_in_the_runs(home: Home, source: Path) -> None:
    named = (reading("customer", "Zanzibar Foods"), reading("belt_material", "Zanzibar TPU"))
    job = add_job(home, source, readings=(*BAKERY, *named))
    Index.rebuild(home)
    with Index.open(home) as index:
        assert "zanzibar" in str(index.database.rows("SELECT * FROM runs")).lower()
        assert "zanzibar" in str(index.database.rows("SELECT * FROM belts"))
        index.put(job.model_copy(update={"readings": BAKERY}))
        index.scrub()
    assert b"zanzibar" not in home.index.read_bytes().lower()


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


def test_a_locked_index_says_so(home: Home, source: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    job = add_job(home, source)
    Index.rebuild(home)
    monkeypatch.setattr("recorder.archive.index.database.BUSY_TIMEOUT_S", 0.1)
    with Index.open(home) as index:
        other = sqlite3.connect(home.index, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(Busy, match="another process"):
            index.put(job)
        assert ids(index) == [job.id]  # readers do not wait
        other.execute("ROLLBACK")
        other.close()
        index.put(job)


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
