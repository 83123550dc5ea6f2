"""The whole report is archival and accessible: before it is signed, after each signature, stamped.

veraPDF's rules for PDF/A-3a (ISO 19005-3) and PDF/UA-1 (ISO 14289-1), see ``verapdf.py``; and
``qpdf --check`` (https://qpdf.readthedocs.io) for the structure of the file.
"""

import functools
import subprocess
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from recorder.archive.jobs.record import dump
from recorder.model.fields import FIELDS, Kind
from recorder.model.job import Job
from recorder.report.content import code
from recorder.report.document.about import CUSTOMER, TECHNICIAN, About, Attachment
from recorder.report.document.assemble import assemble
from recorder.report.document.structure import alternative_texts
from recorder.report.identity import identity
from recorder.report.identity.identity import Identity
from recorder.report.page.render import render
from recorder.report.signing.approve import approve
from recorder.report.signing.certify import certify
from recorder.report.signing.stamp import stamped
from tests.external import verapdf
from tests.report import jobs, sample
from tests.report.signing import authority
from tests.report.signing.drawings import as_bytes, scribble

NOW = datetime.now(UTC)
DIGEST = 32 * "5e"
STAMP = b"060b2a864886f70d010910020e"  # id-aa-timeStampToken (RFC 3161, appendix A) in DER
HOSTILE = (
    "<script>x</script> & \u202eright to left\u202c שלום عربى 日本 🙂👩\u200d🔧"
    " \x00\x01\x1b\x7f \u00ad\u200b\ufeff \ue000\uf8ff\U000f0000 \ufffe \U000e0041 a\u0301\u0323"
)


def document(job: Job, folder: Path, **edition: object) -> bytes:
    wanted = sample.EDITION.model_copy(update={"digest": DIGEST, **edition})
    record = Attachment("job.json", dump(job), "application/json", "Source", "The record")
    about = About(
        title="Splice report",
        author="Quillback Belt Service",
        subject="Record of a splice",
        language="en",
        written_at=wanted.now,
        creator="Seamnote",
        labels={TECHNICIAN: "Signature of the technician", CUSTOMER: "Signature of the customer"},
    )
    return assemble(render(job, folder, sample.SETTINGS, wanted), [record], about)


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    folder = tmp_path_factory.mktemp("job")
    return document(sample.demo_job(folder), folder)


@pytest.fixture(scope="module")
def short(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    folder = tmp_path_factory.mktemp("job")
    return document(sample.demo_job(folder), folder, variant="short", paper="Letter")


@pytest.fixture(scope="module")
def key(tmp_path_factory: pytest.TempPathFactory) -> Identity:
    path = tmp_path_factory.mktemp("identity") / "signer.p12"
    return identity.create(path, "a passphrase", "Imke Dorn", "Quillback Belt Service")


@pytest.fixture(scope="module")
def tick(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of a time-stamp authority."""
    folder = tmp_path_factory.mktemp("tick")
    authority.make(folder)
    with authority.serving(authority.answering(folder)) as url:
        yield url


def faults(pdf: bytes, folder: Path) -> list[str]:
    """What the two standards and qpdf find wrong."""
    path = folder / "report.pdf"
    path.write_bytes(pdf)
    told = [
        f"{flavour} {fault}"
        for flavour in verapdf.FLAVOURS
        for fault in verapdf.failures(path, flavour)
    ]
    checked = subprocess.run(["qpdf", "--check", path], capture_output=True, text=True, check=False)
    if checked.returncode or "No syntax or stream encoding errors found" not in checked.stdout:
        told.append(checked.stdout + checked.stderr)
    return told


@pytest.mark.parametrize("variant", ["report", "short"])
def test_the_report_is_archival_and_accessible(
    variant: str, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    assert faults(request.getfixturevalue(variant), tmp_path) == []


def test_who_cannot_see_the_code_hears_what_it_holds(short: bytes) -> None:
    held = code.text("4817", "", sample.NOW, DIGEST)
    assert f"Code for verification: {held}" in alternative_texts(short, "report.pdf")


@pytest.mark.parametrize("with_stamps", [False, True], ids=["plain", "stamped"])
def test_it_stays_so_with_each_signature(
    short: bytes, key: Identity, tick: str, with_stamps: bool, tmp_path: Path
) -> None:
    stamp = functools.partial(stamped, tick) if with_stamps else None
    certified = certify(short, key, "Record of the splice job", "Larkfield", NOW, stamp)
    assert faults(certified, tmp_path) == []
    approved = approve(certified, key, as_bytes(scribble()), "Odile Marchetti", NOW, stamp)
    assert faults(approved, tmp_path) == []
    assert approved.count(b"/ByteRange") == 2
    assert (STAMP in approved.lower()) == with_stamps


def test_hostile_words_cannot_change_that(tmp_path: Path) -> None:
    job = jobs.no_photo(tmp_path)
    readings = tuple(
        reading.model_copy(update={"value": HOSTILE})
        if FIELDS[reading.field].kind is Kind.TEXT
        else reading
        for reading in job.readings
    )
    assert readings != job.readings
    hostile = job.model_copy(update={"readings": readings})
    assert faults(document(hostile, tmp_path), tmp_path) == []
