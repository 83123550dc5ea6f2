"""Everything held against everything else: each fault with its path, and the rest goes on."""

import contextlib
import json
import shutil
import sqlite3
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from recorder.archive.disk import lock
from recorder.archive.disk.home import Home
from recorder.archive.firm.recipes import writing
from recorder.archive.index.index import Index
from recorder.archive.jobs import events
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.reports import keep_report, reports
from recorder.cli import main
from recorder.errors import OutputUnwritable
from recorder.flows import archive
from recorder.model.event import What
from tests.archive.finding.asking import search
from tests.archive.sample_jobs import NOW, add_job, reading
from tests.flows.quiet import Quiet
from tests.knowhow.recipes.past_runs import recipe


@pytest.fixture
def home(tmp_path: Path) -> Home:
    """Two jobs in the index, the first with a report."""
    home = Home.open(tmp_path / "home")
    for days in (0, 1):
        add_job(home, tmp_path / "from the camera", NOW + timedelta(days=days))
    folder = JobFolder(home.jobs / first(home).id)
    keep_report(
        folder, "4817", b"%PDF-1.7 invented", written_at=NOW, signer="Imke Dorn", signatures=1,
        document_digest="ab" * 32, variant="full",
    )  # fmt: skip
    Index.open(home).close()
    return home


def first(home: Home) -> JobFolder:
    return JobFolder(min(home.jobs.glob("2*")))


def a_file(folder: JobFolder, place: str) -> Path:
    return next(path for path in sorted(folder.path.glob(place)))


def cut(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:-20])


def edit(path: Path) -> None:
    content = path.read_bytes()
    path.write_bytes(content[:300] + bytes([content[300] ^ 1]) + content[301:])


def test_a_sound_home_has_no_fault_by_whatever_name_it_is_reached(
    home: Home, tmp_path: Path
) -> None:
    (tmp_path / "link").symlink_to(home.root)
    for root in (home.root, tmp_path / "link"):
        assert archive.check(Home(root), Quiet()) == archive.Looked(folders=2, jobs=2)


@pytest.mark.parametrize("damage", [cut, edit, Path.unlink])
@pytest.mark.parametrize(
    "place", ["job.json", "events.jsonl", "media/*_narration.flac", "reports/4817.json"]
)
def test_each_damaged_file_is_named_and_the_rest_stays_usable(
    home: Home, place: str, damage: Callable[[Path], None]
) -> None:
    path = a_file(first(home), place)
    damage(path)
    found = archive.check(home, Quiet())
    assert found.folders == 2
    assert found.faults
    # A report stands for its record too.
    named = [path, path.with_suffix(".pdf")] if place.startswith("reports") else [path, path.parent]
    assert all(any(str(name) in line for name in named) for line in found.faults), found.faults
    assert all("\n" not in line for line in found.faults)
    other = JobFolder(max(home.jobs.glob("2*")))
    told = (*other.load().readings, reading("press", "P2"))
    other.update(lambda job: job.model_copy(update={"readings": told}))
    with Index.open(home) as index:
        assert len(search(index)) == 2
    assert not [line for line in archive.check(home, Quiet()).faults if other.id in line]


def test_many_faults_are_all_told(home: Home) -> None:
    for folder in map(JobFolder, home.jobs.glob("2*")):
        edit(a_file(folder, "media/*_after.jpg"))
        cut(folder.events)
    (first(home).reports / "4817.pdf").write_bytes(b"another")
    home.index.write_bytes(b"SQLite format 3\0" + b"\xff" * 5000)
    found = archive.check(home, Quiet())
    assert found.jobs is None
    assert len([line for line in found.faults if str(home.index) in line]) == 1
    for word, count in (("after.jpg", 2), ("job.json", 1), ("4817.pdf", 1)):
        assert len([line for line in found.faults if word in line]) >= count, found.faults


def test_a_damaged_list_of_the_firm_is_told_once(home: Home) -> None:
    home.inventory.write_text("[[press]]\n")
    home.conveyors.write_text('[[conveyor]]\nname = "Weigher"\n')
    home.checks.write_text("{}\n")
    faults = archive.check(home, Quiet()).faults
    assert [Path(fault.split(" cannot")[0]).name for fault in faults] == [
        "inventory.toml", "conveyors.toml", "checks.jsonl",
    ]  # fmt: skip


def test_a_recipe_that_was_altered_is_told(home: Home) -> None:
    with writing(home) as keep:
        keep(recipe("Oven 70"))
    assert archive.check(home, Quiet()).faults == ()
    path = home.recipes / "oven-70.jsonl"
    path.write_bytes(path.read_bytes().replace(b"172.0", b"182.0"))
    (fault,) = archive.check(home, Quiet()).faults
    assert "version 1 of the recipe 'oven-70' is not as it was kept" in fault
    assert str(path) in fault


def test_a_row_of_the_index_that_was_changed_is_told(home: Home) -> None:
    with contextlib.closing(sqlite3.connect(home.index)) as other_program, other_program:
        other_program.execute("UPDATE jobs SET customer = 'Crann Salt' WHERE customer IS NOT NULL")
    faults = archive.check(home, Quiet()).faults
    assert len(faults) == 2
    assert str(home.index) in faults[0]
    assert f"job {first(home).id} otherwise than its folder (jobs)" in faults[0]
    assert "archive rebuild" in faults[0]
    archive.rebuild(home, Quiet())
    assert archive.check(home, Quiet()).faults == ()


def test_a_saving_that_was_cut_off_is_no_fault(home: Home) -> None:
    folder = first(home)
    with folder.events.open("ab") as file:
        file.write(b'{"seq":')
    (folder.path / ".job.json.0badcafe.tmp").write_bytes(b"{")
    found = archive.check(home, Quiet())
    assert found.faults == ()
    (remark,) = found.remarks
    assert str(folder.path) in remark
    assert "cut off before it was acknowledged" in remark
    folder.note(What.CHANGED, {"parts": {}})
    assert archive.check(home, Quiet()).remarks == ()


def test_a_record_that_says_to_be_older_than_its_events_is_told(home: Home) -> None:
    """Without its events nobody can tell; so no job without any goes unmentioned."""
    folder = first(home)
    shutil.rmtree(folder.reports)
    folder.events.unlink()
    (fault,) = archive.check(home, Quiet()).faults
    assert "events.jsonl is missing" in fault
    record = folder.record.read_text()
    folder.record.write_text(record.replace('"schema_version": 5', '"schema_version": 2'))
    found = archive.check(home, Quiet())
    assert found.faults == ()
    (remark,) = found.remarks
    assert f"without events until they are changed: {folder.id}" in remark


@pytest.mark.parametrize("name", ["../../../x", "/etc/passwd", "a\0b", "\x1b[31mred", "a\nb", ""])
def test_events_of_a_stranger_lead_nowhere_and_steer_no_terminal(home: Home, name: str) -> None:
    folder = first(home)
    told = {**reports(folder)[0].model_dump(mode="json"), "path": f"reports/{name}.pdf"}
    folder.note(What.REPORTED, {"report": told | {"sha256": "cd" * 32}})
    folder.note(What.MERGED, {"chain": name, "chains": [name, 7, None]})
    folder.note(What.ADOPTED, {"chain": {}, "reports": name})
    (folder.reports / ".x.pdf.0badcafe.tmp").write_bytes(b"x")
    faults = archive.check(home, Quiet()).faults
    assert len(faults) >= 2
    assert all(line.isprintable() for line in faults)
    assert all(str(folder.path) in line for line in faults)
    folder.note(What.CHANGED, {})
    assert [path.name for path in sorted(folder.reports.iterdir())] == ["4817.json", "4817.pdf"]


def test_a_home_where_nothing_can_be_written_is_checked_all_the_same(
    home: Home, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The test may be run by root, whom no permission stops: so the lock file stands for all."""
    edit(a_file(first(home), "job.json"))
    home.index.unlink()

    def no_place(path: Path) -> int:
        raise OutputUnwritable(path=path.parent, detail="Read-only file system")

    monkeypatch.setattr(lock, "_try", no_place)
    monkeypatch.setattr("os.access", lambda *_: False)
    assert main(["archive", "check", "--home", str(home.root)]) == 4
    shown = capsys.readouterr()
    assert "2 job folders\n" in shown.out
    assert "Read-only file system" in shown.out
    assert "job.json is not the record that the last event left" in shown.err


def test_a_home_that_is_not_there_is_not_made_by_looking_for_it(tmp_path: Path) -> None:
    assert main(["archive", "check", "--home", str(tmp_path / "none")]) == 3
    assert not (tmp_path / "none").exists()


def test_a_changed_record_is_adopted_by_a_command(
    home: Home, capsys: pytest.CaptureFixture[str]
) -> None:
    folder, at_home = first(home), ["--home", str(home.root)]
    (home.root / "settings.toml").write_text('[report]\ntechnician = "Imke Dorn"\n')
    folder.record.write_bytes(folder.record.read_bytes().replace(b"frayed", b"torn"))
    for nothing in ("", " \n", "\x1b[2J"):
        assert main(["archive", "adopt", folder.id, "--reason", nothing, *at_home]) == 2
        assert "the reason of the adoption" in capsys.readouterr().err
    assert main(["archive", "adopt", folder.id, "--reason", "a word was wrong", *at_home]) == 0
    assert "was changed by other hands" in capsys.readouterr().out
    assert main(["archive", "check", *at_home]) == 0
    adopted = events.read(folder.events).events[-1]
    assert (adopted.what, adopted.data["reason"]) == (What.ADOPTED, "a word was wrong")
    assert adopted.who.person == "Imke Dorn"
    with Index.open(home) as index:
        assert [hit.id for hit in search(index, "torn")] == [folder.id]
    capsys.readouterr()
    assert main(["archive", "adopt", folder.id, "--json", *at_home]) == 0
    assert json.loads(capsys.readouterr().out) == {"job": folder.id, "adopted": [], "left": []}
    folder.record.write_bytes(b"{")
    assert main(["archive", "adopt", folder.id, *at_home]) == 3
    assert "restore it from a backup" in capsys.readouterr().err
