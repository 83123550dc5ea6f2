"""Reports and their records: beside each other, never replaced, and those of older homes too."""

import hashlib
import itertools
import json
import os
from datetime import timedelta
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.reports import faults, keep_report, reports, take_in
from recorder.errors import BadJobFolder, OutputUnwritable
from recorder.model.job import SCHEMA_VERSION
from recorder.model.report_record import ReportRecord
from tests.archive.sample_jobs import NOW, add_job, reading

PDF = b"%PDF-1.7 invented"


@pytest.fixture
def folder(home: Home, source: Path) -> JobFolder:
    return JobFolder(home.jobs / add_job(home, source).id)


def keep(folder: JobFolder, stem: str = "4817", pdf: bytes = PDF, after_s: int = 0) -> ReportRecord:
    return keep_report(
        folder, stem, pdf, written_at=NOW + timedelta(seconds=after_s), signer="Imke Dorn",
        signatures=1, document_digest="ab" * 32, variant="full",
    )  # fmt: skip


def old_record(folder: JobFolder, *paths: str) -> list[dict[str, str]]:
    """Make the job.json one of schema 1, which knew of reports with these paths."""
    known = [
        {
            "path": path,
            "sha256": hashlib.sha256(PDF).hexdigest(),
            "written_at": "2025-01-02T03:04:05+01:00",
            "signer": "Imke Dorn",
        }
        for path in paths
    ]
    values = json.loads(folder.record.read_bytes()) | {"schema_version": 1, "reports": known}
    del values["stages"], values["software"]
    folder.record.write_text(json.dumps(values))
    folder.events.unlink()
    for path in paths:
        (folder.path / path).write_bytes(PDF)
    return known


def test_a_report_stands_beside_its_record_and_the_job_is_untouched(folder: JobFolder) -> None:
    before = folder.record.read_bytes(), folder.stamp()
    record = keep(folder)
    assert (folder.record.read_bytes(), folder.stamp()) == before
    assert (folder.path / record.path).read_bytes() == PDF
    assert record.sha256 == hashlib.sha256(PDF).hexdigest()
    assert record.size_bytes == len(PDF)
    assert reports(folder) == (record,)
    beside = json.loads((folder.path / record.path).with_suffix(".json").read_bytes())
    assert beside["document_digest"] == "ab" * 32
    assert faults(folder) == ()


def test_nothing_signed_is_replaced(folder: JobFolder) -> None:
    kept = [keep(folder, pdf=f"{PDF!r} {n}".encode()) for n in range(11)]
    names = ["4817", *(f"4817-{n}" for n in range(2, 12))]
    assert [record.path for record in kept] == [f"reports/{name}.pdf" for name in names]
    assert reports(folder) == tuple(kept)
    (folder.reports / "5000.json").write_bytes(b"{}")
    (folder.reports / "6000.pdf").write_bytes(b"another's")
    assert keep(folder, "5000").path == "reports/5000-2.pdf"
    assert keep(folder, "6000").path == "reports/6000-2.pdf"
    assert (folder.reports / "6000.pdf").read_bytes() == b"another's"


def test_they_are_listed_by_their_time(folder: JobFolder) -> None:
    later, earlier = keep(folder, "a", after_s=60), keep(folder, "b")
    assert reports(folder) == (earlier, later)


def test_a_time_at_the_end_of_the_calendar_has_its_place(folder: JobFolder) -> None:
    """A stranger's record may say so; it has no such time in every zone."""
    known = keep(folder, "a")
    for stem, at in (("b", "0001-01-01T00:00:00+14:00"), ("c", "9999-12-31T23:59:59-12:00")):
        beside = folder.reports / f"{stem}.json"
        values = known.model_dump(mode="json") | {"path": f"reports/{stem}.pdf", "written_at": at}
        beside.write_text(json.dumps(values))
    assert [Path(record.path).stem for record in reports(folder)] == ["b", "a", "c"]


def test_a_report_of_another_device_gets_a_name_of_ours(folder: JobFolder) -> None:
    record = keep(folder).model_copy(update={"path": "reports/my (copy)\x1b[2J 4817.pdf"})
    taken = take_in(folder, PDF, record, arrived=True)
    assert taken.path == "reports/my_copy_2J_4817.pdf"
    assert faults(folder) == ()


def test_a_name_leads_nowhere_else(folder: JobFolder) -> None:
    record = keep(folder, "../../../x/ y\0z")
    assert (folder.path / record.path).parent == folder.reports
    assert (folder.path / record.path).read_bytes() == PDF


@pytest.mark.parametrize("step", range(4), ids=["PDF", "event", "record", "its name"])
def test_a_full_disk_leaves_no_half_report(
    folder: JobFolder, monkeypatch: pytest.MonkeyPatch, step: int
) -> None:
    before = folder.events.read_bytes()
    steps = itertools.count()

    def full(*_: object) -> None:
        if next(steps) == step:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputUnwritable):
        keep(folder)
    assert list(folder.reports.iterdir()) == []
    assert folder.events.read_bytes() == before


def test_what_is_not_as_recorded_is_told(folder: JobFolder) -> None:
    changed, lost = keep(folder, "changed"), keep(folder, "lost", after_s=1)
    (folder.path / changed.path).write_bytes(PDF + b" ")
    (folder.path / lost.path).unlink()
    (folder.reports / "stray.pdf").write_bytes(PDF)
    told = faults(folder)
    assert [line.rpartition("/")[2] for line in told] == [
        "changed.pdf is not the report that was written",
        "lost.pdf is missing",
        "stray.pdf has no record beside it",
    ]


def test_a_record_speaks_for_the_pdf_beside_it_alone(folder: JobFolder) -> None:
    record = keep(folder)
    beside = (folder.path / record.path).with_suffix(".json")
    beside.write_text(record.model_copy(update={"path": "../../other.pdf"}).model_dump_json())
    assert reports(folder) == (record,)


def test_a_damaged_record_is_told(folder: JobFolder) -> None:
    (folder.reports / "4817.json").write_bytes(b'{"path": ')
    with pytest.raises(BadJobFolder, match=r"bad record 4817\.json"):
        reports(folder)
    (told,) = faults(folder)
    assert "bad record 4817.json" in told


def test_reports_of_an_older_home_are_known_and_kept(folder: JobFolder) -> None:
    job = folder.load()
    (known,) = old_record(folder, "reports/4817.pdf")
    assert folder.load() == job
    (record,) = reports(folder)
    assert record.model_dump(mode="json", include=set(known)) == known
    assert faults(folder) == ()
    newer = keep(folder)
    assert newer.path == "reports/4817-2.pdf"
    folder.save(job.model_copy(update={"readings": (*job.readings, reading("press", "P2"))}))
    assert b'"reports"' not in folder.record.read_bytes()
    assert folder.load().schema_version == SCHEMA_VERSION
    assert reports(folder) == (record, newer)


def test_a_record_of_schema_1_is_read_as_strictly_as_before(folder: JobFolder) -> None:
    old_record(folder, "reports/4817.pdf")
    good = folder.record.read_bytes()
    folder.record.write_bytes(good.replace(b'"written_at": "2025', b'"written_at": "then'))
    with pytest.raises(BadJobFolder, match="written_at"):
        folder.load()
    folder.record.write_bytes(good.replace(b'"complete"', b'"incomplete"'))
    with pytest.raises(BadJobFolder, match="incomplete"):
        folder.load()
    folder.record.write_bytes(good.replace(b'"schema_version": 1', b'"schema_version": 2'))
    with pytest.raises(BadJobFolder, match="reports"):
        folder.load()
