"""A report to the job in it: whole, not again, never over another, and nothing hostile.

The verification is scripted here: what it finds out is tested where it lives, and with real
signatures in ``tests/external/test_report_text.py``.
"""

import dataclasses
import hashlib
import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.index.index import Index
from recorder.archive.jobs import events
from recorder.archive.jobs.arriving import fill
from recorder.archive.jobs.changes import began
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.record import dump
from recorder.archive.jobs.reports import reports
from recorder.cli import main
from recorder.errors import (
    CannotImport,
    CannotRestore,
    FileMissing,
    JobTooNew,
    OriginalsElsewhere,
    VerificationFailed,
)
from recorder.flows import archive, evidence, verify
from recorder.flows.imported import Imported
from recorder.flows.importing import import_from
from recorder.flows.process import process
from recorder.model.event import What
from recorder.model.evidence import EventsDigest, Evidence
from recorder.model.evidence import dump as dump_evidence
from recorder.model.job import Job, to_confirm
from recorder.model.reading import Standing, Typed
from recorder.report.document.about import Attachment
from recorder.report.document.assemble import assemble
from recorder.report.verifying.facts import (
    Doubt,
    Fault,
    Finding,
    Role,
    SignatureFacts,
    Signer,
    Time,
    Verification,
)
from recorder.settings import Settings
from tests.archive.finding.asking import search
from tests.archive.sample_jobs import add_job, media_files, reading
from tests.flows.quiet import Quiet
from tests.report.document.conftest import ABOUT, page

NOW = datetime(2026, 11, 25, 21, 30, tzinfo=UTC)
SIGNER = Signer(
    name="Imke Dorn", organization="Quillback", fingerprint="", authority="", trusted=True,
    authority_fingerprint="", why_not="", in_time=True, fit=True, demo=False,
)  # fmt: skip
SIGNATURE = SignatureFacts(
    field="TechnicianSignature", role=Role.TECHNICIAN, intact=True, valid=True, signer=SIGNER,
    time=Time(claimed=NOW),
)  # fmt: skip


class Verdict:
    """What the scripted verification finds in every file."""

    faults: tuple[Finding, ...] = ()
    doubts: tuple[Finding, ...] = ()


@pytest.fixture
def verdict(monkeypatch: pytest.MonkeyPatch) -> Verdict:
    said = Verdict()

    def check(home: Home, path: Path) -> Verification:
        content = path.read_bytes()
        sha256 = hashlib.sha256(content).hexdigest()
        found = Verification(file=path.name, sha256=sha256, signatures=(SIGNATURE,))
        return dataclasses.replace(found, faults=said.faults, doubts=said.doubts)

    monkeypatch.setattr(verify, "check", check)
    return said


@pytest.fixture(scope="module")
def blank() -> bytes:
    return page()


EVENTS = EventsDigest(count=3, head="ab" * 32)

Write = Callable[..., Path]


@pytest.fixture
def write(tmp_path: Path, blank: bytes) -> Write:
    """Write a report that holds a job; ``record`` and ``manifest`` in place of the true ones."""

    def report(
        job: Job, name: str = "4817.pdf", record: bytes | None = None,
        manifest: Callable[[dict[str, Any]], object] | None = None, lacking: str = "",
    ) -> Path:  # fmt: skip
        content = dump(job) if record is None else record
        held = evidence.gather(job, content, EVENTS, NOW, "full")
        values = held.model_dump(mode="json")
        if manifest:
            manifest(values)
        files = {"job.json": content, "evidence.json": json.dumps(values).encode()}
        files.pop(lacking, None)
        path = tmp_path / name
        path.write_bytes(
            assemble(
                blank,
                [Attachment(n, c, "application/json", "Data", n) for n, c in files.items()],
                ABOUT,
            )
        )
        return path

    return report


@pytest.fixture
def job(tmp_path: Path) -> Job:
    """A job as another home holds it."""
    return add_job(Home.open(tmp_path / "other"), tmp_path / "camera")


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home.open(tmp_path / "home")


def take_in(
    home: Home, pdf: Path, originals: Path | None = None, from_unknown: bool = False
) -> Imported:
    (done,) = import_from(home, pdf, originals, from_unknown, Quiet())
    return done


def nothing_in(home: Home) -> bool:
    return not list(home.jobs.iterdir()) and {p.name for p in home.root.iterdir()} <= {
        "jobs", "identity", "index.sqlite",
    }  # fmt: skip


def test_the_job_is_here_byte_for_byte_and_is_found(
    home: Home, job: Job, write: Write, verdict: Verdict
) -> None:
    pdf = write(job)
    done = take_in(home, pdf)
    folder = JobFolder(home.jobs / job.id)
    assert (done.outcome, done.known, done.folder) == ("restored", True, folder.path)
    assert done.elsewhere == ("narration.flac", "after.jpg")
    assert folder.record.read_bytes() == dump(job)
    (record,) = reports(folder)
    assert (folder.path / record.path).read_bytes() == pdf.read_bytes()
    assert (record.path, record.signer) == ("reports/4817.pdf", "Imke Dorn")
    assert (record.written_at, record.variant, record.signatures) == (NOW, "full", 1)
    with Index.open(home) as index:
        assert [hit.id for hit in search(index, "larkfield")] == [job.id]


def test_that_its_originals_are_not_here_is_a_fact_and_no_fault(
    home: Home, job: Job, write: Write, verdict: Verdict, tmp_path: Path
) -> None:
    take_in(home, write(job))
    looked = archive.check(home, Quiet())
    assert looked.faults == ()
    assert looked.remarks == (
        f"job {job.id} came from elsewhere; 2 of its 2 original files are not here",
    )
    source = tmp_path / "again"
    media_files(source, f"{job.created_at.isoformat()} {tmp_path / 'camera'}")
    with pytest.raises(OriginalsElsewhere, match=r"archive import .*4817\.pdf --originals"):
        process(home, source, Settings(), Quiet())
    media = home.jobs / job.id / job.media[0].path
    media.write_bytes(b"something else")
    looked = archive.check(home, Quiet())
    assert looked.faults == (f"{media} is not the file that was recorded",)
    assert "1 of its 2" in looked.remarks[0]


def test_the_originals_come_back_by_their_bytes(
    home: Home, job: Job, write: Write, verdict: Verdict, tmp_path: Path
) -> None:
    pdf = write(job)
    assert take_in(home, pdf).brought == ()
    with pytest.raises(FileMissing):
        take_in(home, pdf, tmp_path / "nowhere")
    card = tmp_path / "card" / "DCIM"
    media_files(card, f"{job.created_at.isoformat()} {tmp_path / 'camera'}")
    (card / "after.jpg").rename(card / "IMG_0001.jpg")
    (card / "after.jpg").write_bytes(b"of another job")
    done = take_in(home, pdf, tmp_path / "card")
    assert (done.outcome, done.elsewhere) == ("already here", ())
    assert set(done.brought) == {"narration.flac", "after.jpg"}
    assert JobFolder(home.jobs / job.id).changed_originals(job) == []
    assert archive.check(home, Quiet()) == archive.Looked(folders=1, jobs=1)


def test_again_does_nothing_and_another_report_of_it_is_added(
    home: Home, job: Job, write: Write, verdict: Verdict
) -> None:
    pdf = write(job)
    take_in(home, pdf)
    folder = JobFolder(home.jobs / job.id)
    before = folder.stamp(), sorted(folder.reports.iterdir())
    assert take_in(home, pdf).outcome == "already here"
    assert (folder.stamp(), sorted(folder.reports.iterdir())) == before
    short = write(job, "4817.pdf", manifest=lambda values: values.update(variant="short"))
    assert take_in(home, short).outcome == "report added"
    assert [(r.path, r.variant) for r in reports(folder)] == [
        ("reports/4817.pdf", "full"), ("reports/4817-2.pdf", "short"),
    ]  # fmt: skip


def corrected(job: Job, value: float, minute: int) -> Job:
    """The job once a person has answered the question about the bottom platen."""
    answer = reading("bottom_temperature", value, splice=2, standing=Standing.CONFIRMED).model_copy(
        update={"evidence": Typed(at=NOW + timedelta(minutes=minute))}
    )
    return job.model_copy(update={"readings": (*job.readings, answer)})


def test_a_job_in_another_state_is_merged_and_its_report_added(
    home: Home, job: Job, write: Write, verdict: Verdict
) -> None:
    pdf = write(job)
    take_in(home, pdf)
    folder = JobFolder(home.jobs / job.id)
    folder.save(corrected(job, 165.0, 1))
    assert take_in(home, pdf).outcome == "already here"  # an earlier state
    later = write(corrected(job, 170.0, 2), "4817-later.pdf")
    done = take_in(home, later)
    assert (done.outcome, done.readings, done.questions, done.reports) == ("merged", 1, 1, 1)
    (doubt,) = to_confirm(folder.load())
    assert {doubt.value, *doubt.candidates} == {165.0, 170.0}
    (merged,) = [e for e in events.read(folder.events).events if e.what is What.MERGED]
    assert merged.data["report"] == hashlib.sha256(later.read_bytes()).hexdigest()
    before = folder.record.read_bytes(), folder.events.read_bytes()
    assert take_in(home, later).outcome == "already here"
    assert (folder.record.read_bytes(), folder.events.read_bytes()) == before
    assert archive.check(home, Quiet()).faults == ()


def test_whom_nobody_knows_changes_no_job_that_is_here(
    home: Home, job: Job, write: Write, verdict: Verdict
) -> None:
    verdict.doubts = (Finding.of(Doubt.SIGNER_UNKNOWN, "Imke Dorn"),)
    take_in(home, write(job))
    folder = JobFolder(home.jobs / job.id)
    before = folder.record.read_bytes(), sorted(folder.path.rglob("*"))
    strange = write(corrected(job, 170.0, 2), "strange.pdf")
    with pytest.raises(CannotImport, match=r"Imke Dorn .* --from-unknown") as caught:
        take_in(home, strange)
    assert "\n" not in str(caught.value)
    assert (folder.record.read_bytes(), sorted(folder.path.rglob("*"))) == before
    short = write(job, "short.pdf", manifest=lambda values: values.update(variant="short"))
    assert take_in(home, short).outcome == "report added"
    done = take_in(home, strange, from_unknown=True)
    assert (done.outcome, done.known) == ("merged", False)
    assert folder.load().readings[-1].value == 170.0


def test_a_report_of_a_stranger_does_not_come_among_those_of_a_job_that_was_made_here(
    home: Home, job: Job, write: Write, verdict: Verdict
) -> None:
    staging = home.jobs / ".made"
    staging.mkdir()
    fill(staging, dump(job), [began(job)], job.created_at)
    folder = JobFolder(staging.rename(home.jobs / job.id))
    verdict.doubts = (Finding.of(Doubt.SIGNER_UNKNOWN, "Imke Dorn"),)
    before = folder.events.read_bytes()
    with pytest.raises(CannotImport, match=r"Imke Dorn .* --from-unknown"):
        take_in(home, write(job))
    assert (folder.events.read_bytes(), reports(folder)) == (before, ())
    assert take_in(home, write(job), from_unknown=True).outcome == "report added"


def test_another_job_with_the_same_id_is_refused(
    home: Home, job: Job, write: Write, verdict: Verdict
) -> None:
    take_in(home, write(job))
    media = tuple(m.model_copy(update={"sha256": m.sha256[::-1]}) for m in job.media)
    other = write(job.model_copy(update={"media": media}), "other.pdf")
    with pytest.raises(CannotImport, match="another job has its id here"):
        take_in(home, other)


def test_a_record_of_schema_1_brings_no_reports_that_were_never_here(
    home: Home, job: Job, write: Write, verdict: Verdict
) -> None:
    values = json.loads(dump(job)) | {"schema_version": 1}
    values["reports"] = [
        {"path": "reports/old.pdf", "sha256": "0" * 64, "signer": "x",
         "written_at": "2025-01-02T03:04:05+01:00"}
    ]  # fmt: skip
    record = json.dumps(values).encode()
    take_in(home, write(job, record=record))
    folder = JobFolder(home.jobs / job.id)
    assert folder.record.read_bytes() == record
    assert [known.path for known in reports(folder)] == ["reports/4817.pdf"]
    assert archive.check(home, Quiet()).faults == ()
    folder.save(job)
    assert [path.name for path in sorted(folder.reports.iterdir())] == ["4817.json", "4817.pdf"]


def test_a_broken_report_restores_nothing(
    home: Home, job: Job, write: Write, verdict: Verdict
) -> None:
    verdict.faults = (Finding.of(Fault.BYTES_CHANGED),)
    with pytest.raises(VerificationFailed, match="its content was changed after signing"):
        take_in(home, write(job))
    assert nothing_in(home)


def bad_path(values: dict[str, Any]) -> None:
    values["media"][0]["path"] = "../../../identity/signer.p12"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (bad_path, r"'\.\./\.\./\.\./identity/signer\.p12' is no place in a job folder"),
        (lambda values: values.update(id="../x"), "belongs to job ../x"),
        (lambda values: values.update(complete=False), "not finished"),
        (lambda values: values.pop("media"), "its job.json is not the one of its evidence.json"),
        (lambda values: values.update(readings=3), "readings"),
        (lambda values: values.clear(), "id"),
    ],
)
def test_a_hostile_record_is_refused_in_one_line(
    home: Home, job: Job, write: Write, verdict: Verdict,
    change: Callable[[dict[str, Any]], object], words: str,
) -> None:  # fmt: skip
    values = json.loads(dump(job))
    change(values)
    with pytest.raises(CannotRestore, match=words) as caught:
        take_in(home, write(job, record=json.dumps(values).encode()))
    assert "\n" not in str(caught.value)
    assert nothing_in(home)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda values: values.update(job_id="../../x"), "cannot be the id of a job"),
        (lambda values: values.update(job_id="x" * 5000), "cannot be the id of a job"),
        (lambda values: values.update(job_id="20260101-000000-ffff"), "belongs to job"),
        (lambda values: values["record"].update(sha256="0" * 64), "not the one of its evidence"),
        (lambda values: values["originals"].pop(), "not the one of its evidence"),
        (lambda values: values.update(schema_version=9), "evidence.json is not one of ours"),
    ],
)
def test_a_hostile_manifest_is_refused_in_one_line(
    home: Home, job: Job, write: Write, verdict: Verdict,
    change: Callable[[dict[str, Any]], object], words: str,
) -> None:  # fmt: skip
    with pytest.raises(CannotRestore, match=words) as caught:
        take_in(home, write(job, manifest=change))
    assert len(str(caught.value)) < 500
    assert nothing_in(home)


def test_a_report_of_a_newer_program_asks_for_an_update(
    home: Home, job: Job, write: Write, verdict: Verdict
) -> None:
    newer = json.dumps(json.loads(dump(job)) | {"schema_version": 99, "unheard_of": 1}).encode()
    with pytest.raises(JobTooNew, match=r"4817\.pdf .* schema 99\); update Seamnote"):
        take_in(home, write(job, record=newer))
    assert nothing_in(home)


@pytest.mark.parametrize("lacking", ["job.json", "evidence.json"])
def test_a_report_without_attachments_is_refused(
    home: Home, job: Job, write: Write, verdict: Verdict, lacking: str
) -> None:
    with pytest.raises(CannotRestore, match=f"no {lacking} is attached"):
        take_in(home, write(job, lacking=lacking))
    assert nothing_in(home)


def test_several_by_the_command_one_line_each(
    home: Home, job: Job, write: Write, verdict: Verdict, capsys: pytest.CaptureFixture[str]
) -> None:
    good, bad = write(job), write(job, "bad.pdf", lacking="job.json")
    verdict.doubts = (Finding.of(Doubt.SIGNER_UNKNOWN, "Imke Dorn"),)
    command = ["archive", "import", "--home", str(home.root)]
    assert main([*command, str(good)]) == 4
    told = capsys.readouterr()
    assert (
        told.out == f"restored     4817, Larkfield Bakery   [{job.id}], 2 original files not here\n"
    )
    assert told.err.count("\n") == 1
    assert "not known to this home" in told.err
    verdict.doubts = ()
    assert main([*command, str(good)]) == 0
    assert capsys.readouterr().out.startswith("already here ")
    assert main([*command, "--json", str(good), str(bad)]) == 3
    told = capsys.readouterr()
    (line,) = told.out.splitlines()
    assert json.loads(line)["outcome"] == "already here"
    assert told.err.count("\n") == 1
    verdict.faults = (Finding.of(Fault.BYTES_CHANGED),)
    assert main([*command, str(good), str(bad)]) == 5
    assert main(command) == 2
    assert main(["archive", "check", "--home", str(home.root), str(good)]) == 2


def test_the_command_shows_what_is_not_here(
    home: Home, job: Job, write: Write, verdict: Verdict, capsys: pytest.CaptureFixture[str]
) -> None:
    take_in(home, write(job))
    at_home = ["--home", str(home.root)]
    assert main(["show", *at_home, "4817"]) == 0
    shown = capsys.readouterr().out
    assert "2 original files are not here" in shown
    assert shown.count("   not here") == 2
    assert "signed by Imke Dorn  reports/4817.pdf" in shown
    assert main(["show", "--json", *at_home, "4817"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["originals_elsewhere"] == ["narration.flac", "after.jpg"]
    assert [record["path"] for record in told["reports"]] == ["reports/4817.pdf"]
    assert main(["archive", "check", *at_home]) == 0
    assert "2 of its 2 original files are not here" in capsys.readouterr().out


def test_the_manifest_holds_what_the_job_and_its_software_are(job: Job) -> None:
    held = evidence.gather(job, dump(job), EVENTS, NOW, "full")
    assert held == Evidence.model_validate_json(dump_evidence(held))
    assert held.record.sha256 == hashlib.sha256(dump(job)).hexdigest()
    assert (held.job_id, held.job_number) == (job.id, "4817")
    assert [o.sha256 for o in held.originals] == [media.sha256 for media in job.media]
    assert {s.name: bool(s.version) for s in held.software} == {
        "Seamnote": True, "Python": True, "WeasyPrint": True, "pyHanko": True,
    }  # fmt: skip
