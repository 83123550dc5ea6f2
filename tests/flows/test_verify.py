"""What a home adds to a report: whom it knows, what it has on record, and its originals."""

import json
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.record import dump
from recorder.archive.jobs.reports import keep_report
from recorder.cli import main
from recorder.flows.verify import check, unreadable
from recorder.model.evidence import digest
from recorder.model.job import Removal
from recorder.report.verifying.reasons import Doubt, Fault
from tests.report.verifying import reports


@pytest.fixture
def home(tmp_path: Path) -> Home:
    """Of the firm: it knows its authority and holds the job, but no report yet."""
    home = Home.open(tmp_path / "home")
    (authority,) = reports.known().signers
    (home.identity / "authority.pem").write_bytes(authority.pem)
    folder = home.jobs / reports.JOB_ID
    (folder / "media").mkdir(parents=True)
    (folder / "reports").mkdir()
    (folder / "media/photo.jpg").write_bytes(reports.PHOTO)
    (folder / "job.json").write_bytes(dump(reports.job()))
    JobFolder(folder).adopt("made by hand")
    return home


def keep(home: Home, pdf: bytes, signatures: int) -> Path:
    folder = JobFolder(home.jobs / reports.JOB_ID)
    record = keep_report(
        folder, "4817", pdf, written_at=reports.NOW, signer="Imke Dorn", signatures=signatures,
        document_digest=digest(reports.manifest(dump(reports.job()))), variant="full",
    )  # fmt: skip
    return folder.path_of(record.path)


def test_a_report_on_record(home: Home) -> None:
    found = check(home, keep(home, reports.certified(), 1))
    assert found.faults == ()
    assert found.doubts == ()
    assert found.expected.number == 1
    assert found.archive.job == reports.JOB_ID
    assert found.archive.recorded
    assert found.archive.originals == 1
    assert found.archive.changed == ()
    assert found.archive.missing == ()


def test_an_approved_report_on_record(home: Home) -> None:
    keep(home, reports.certified(), 1)
    found = check(home, keep(home, reports.approved(), 2))
    assert found.faults == ()
    assert found.doubts == ()
    assert found.expected.number == 2


def test_a_rolled_back_approval_is_seen_by_the_record(home: Home, tmp_path: Path) -> None:
    keep(home, reports.certified(), 1)
    approved = keep(home, reports.approved(), 2)
    path = tmp_path / "rolled_back.pdf"
    path.write_bytes(reports.approved()[: len(reports.certified())])
    found = check(home, path)
    assert [each.reason for each in found.faults] == [Fault.NUMBER_OF_SIGNATURES]
    assert approved.name in found.failed
    assert "the customer's signature is missing" in found.failed


def test_the_option_comes_before_the_record(home: Home) -> None:
    path = keep(home, reports.certified(), 1)
    assert check(home, path, signatures=2).failed
    keep(home, reports.approved(), 2)
    assert check(home, path, signatures=1).failed == ""


def test_a_report_that_is_not_on_record(home: Home, tmp_path: Path) -> None:
    path = tmp_path / "unknown.pdf"
    path.write_bytes(reports.certified())
    found = check(home, path)
    assert found.faults == ()
    assert [each.reason for each in found.doubts] == [Doubt.NOT_IN_ARCHIVE]
    assert found.archive.recorded is False


def test_an_original_that_was_changed(home: Home) -> None:
    path = keep(home, reports.certified(), 1)
    (home.jobs / reports.JOB_ID / "media/photo.jpg").write_bytes(b"another photo")
    found = check(home, path)
    assert [each.reason for each in found.faults] == [Fault.ORIGINAL_DIFFERS]
    assert found.archive.changed == ("photo.jpg",)
    assert "photo.jpg" in found.failed


def test_an_original_that_is_elsewhere(home: Home) -> None:
    """As after restoring a job from its report alone: no reason to doubt the report."""
    path = keep(home, reports.certified(), 1)
    (home.jobs / reports.JOB_ID / "media/photo.jpg").unlink()
    found = check(home, path)
    assert found.faults == ()
    assert found.archive.missing == ("photo.jpg",)


def test_an_original_that_was_removed_on_request(
    home: Home, capsys: pytest.CaptureFixture[str]
) -> None:
    """No fault and no doubt, and not "not here": the record of the home says who took it, why."""
    path = keep(home, reports.certified(), 1)
    folder = JobFolder(home.jobs / reports.JOB_ID)
    removal = Removal(at=reports.NOW, by="Imke Dorn", reason="asked by letter")
    (photo,) = reports.job().media
    gone = photo.model_copy(update={"removed": removal})
    folder.update(lambda known: known.model_copy(update={"media": (gone,)}))
    folder.media.remove([photo.path])
    found = check(home, path)
    assert (found.faults, found.doubts) == ((), ())
    assert (found.archive.removed, found.archive.missing) == (("photo.jpg",), ())
    code, out, _ = ran(capsys, home, str(path))
    assert code == 0
    at = reports.NOW.isoformat(sep=" ")
    assert f"1 original file was removed on request at {at} by Imke Dorn: asked by letter" in out
    assert "0 of 1 original files" in out
    assert "not here" not in out


def test_that_it_was_removed_does_not_excuse_another_file_in_its_place(home: Home) -> None:
    path = keep(home, reports.certified(), 1)
    folder = JobFolder(home.jobs / reports.JOB_ID)
    removal = Removal(at=reports.NOW, by="Imke Dorn", reason="asked by letter")
    (photo,) = reports.job().media
    gone = photo.model_copy(update={"removed": removal})
    folder.update(lambda known: known.model_copy(update={"media": (gone,)}))
    folder.path_of(photo.path).write_bytes(b"another photo")
    assert [each.reason for each in check(home, path).faults] == [Fault.ORIGINAL_DIFFERS]


def test_damaged_records_do_not_keep_a_report_from_being_judged(home: Home) -> None:
    path = keep(home, reports.certified(), 1)
    path.with_suffix(".json").write_text("{}")
    found = check(home, path)
    assert found.faults == ()
    assert found.expected.number is None


def test_a_home_that_does_not_exist_knows_nobody(tmp_path: Path) -> None:
    path = tmp_path / "report.pdf"
    path.write_bytes(reports.approved())
    found = check(Home(tmp_path / "none"), path)
    assert found.faults == ()
    assert [each.reason for each in found.doubts] == [Doubt.SIGNER_UNKNOWN]
    assert found.archive.job == ""


def test_files_without_a_certificate_are_named(home: Home) -> None:
    (home.identity / "bad.pem").write_text("no certificate")
    assert unreadable(home) == ("bad.pem",)


def ran(capsys: pytest.CaptureFixture[str], home: Home, *arguments: str) -> tuple[int, str, str]:
    code = main(["verify", "--home", str(home.root), *arguments])
    told = capsys.readouterr()
    lines = told.err.splitlines(keepends=True)
    return code, told.out, "".join(line for line in lines if not line.startswith("  ✓ "))


def test_the_command_tells_each_fact(home: Home, capsys: pytest.CaptureFixture[str]) -> None:
    path = keep(home, reports.certified(), 1)
    code, out, err = ran(capsys, home, str(path))
    assert (code, err) == (0, "")
    assert "the customer has not signed this file" in out
    assert "by Imke Dorn, Quillback Belt Service" in out
    assert "known to this home" in out
    assert "as the clock of the device claimed; no authority stamped it" in out
    assert "it is the one that the first page names: yes" in out
    assert "this very file is on record: yes" in out
    assert "1 of 1 original files" in out


def test_the_command_on_an_approved_report(home: Home, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = ran(capsys, home, str(keep(home, reports.approved(), 2)))
    assert (code, err) == (0, "")
    assert "the customer's drawing, witnessed by the technician" in out
    assert "since then: the customer's signature was filled in" in out
    assert "has not signed" not in out
    assert "2 of 2 expected by the record of 4817.pdf in this home" in out


def test_the_command_on_a_stranger(
    home: Home, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = keep(home, reports.approved(), 2)
    code, out, err = ran(capsys, Home(tmp_path / "none"), str(path))
    assert code == 4
    assert "not trusted: " in out
    assert "nothing here says how many there should be" in out
    assert err.count("\n") == 1
    assert "fingerprint" in err


def test_the_command_on_a_forgery(
    home: Home, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "forged.pdf"
    path.write_bytes(reports.approved() + b"\n")
    code, out, err = ran(capsys, home, str(path))
    assert code == 5
    assert "WRONG" in out
    assert err.startswith(f"seamnote: {path} is not the report that was signed (what means nothing")
    assert err.count("\n") == 1


def test_the_command_where_only_the_archive_differs(
    home: Home, capsys: pytest.CaptureFixture[str]
) -> None:
    path = keep(home, reports.certified(), 1)
    (home.jobs / reports.JOB_ID / "media/photo.jpg").write_bytes(b"another photo")
    code, _, err = ran(capsys, home, str(path))
    assert code == 5
    assert "is as it was signed, but the archive of this home holds other files" in err


def test_the_command_as_json(home: Home, capsys: pytest.CaptureFixture[str]) -> None:
    path = keep(home, reports.certified(), 1)
    code, out, _ = ran(capsys, home, str(path), "--json", "--signatures", "2")
    told = json.loads(out)
    assert code == 5
    assert told["file"] == str(path)
    assert told["covers_whole_file"]
    assert told["expected"] == {"number": 2, "by": "the option --signatures"}
    assert told["trusted"]
    assert not told["customer_signed"]
    (signature,) = told["signatures"]
    assert signature["role"] == "technician"
    assert signature["intact"]
    assert signature["signer"]["trusted"]
    assert signature["time"]["claimed"] == reports.NOW.isoformat()
    assert signature["time"]["stamped"] is None
    assert told["evidence"]["page_matches"]
    assert told["archive"]["recorded"]
    assert told["metadata_consistent"]
    assert [each["reason"] for each in told["faults"]] == ["number_of_signatures"]
    assert told["failed"] == told["faults"][0]["words"]


@pytest.mark.parametrize("number", ["0", "-1", "two"])
def test_a_number_that_is_none(home: Home, capsys: pytest.CaptureFixture[str], number: str) -> None:
    path = keep(home, reports.certified(), 1)
    code, _, err = ran(capsys, home, str(path), "--signatures", number)
    assert code == 2
    assert err.count("\n") == 1
