"""Judges from outside: other people's programs look at both signatures of a report.

pdfsig: poppler-utils, https://poppler.freedesktop.org (NSS does its cryptography; certutil of
libnss3-tools tells it whom to trust). openssl: https://docs.openssl.org, ``cms -verify -cades`` for
the container and the attribute that names the signer (ETSI EN 319 122-1, 5.2.2), ``ts -verify`` for
a time stamp. qpdf: https://qpdf.readthedocs.io, ``--check`` for the structure of the file.
"""

import re
import subprocess
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import pytest
from asn1crypto import cms

from recorder.model.job import Job
from recorder.report.document.about import CUSTOMER, TECHNICIAN, About
from recorder.report.document.assemble import assemble
from recorder.report.identity import identity
from recorder.report.identity.certificates import Certificate
from recorder.report.identity.identity import Identity
from recorder.report.page.render import render
from recorder.report.signing.approve import approve
from recorder.report.signing.certify import certify
from recorder.report.signing.stamp import stamped
from tests.report import sample
from tests.report.signing import authority
from tests.report.signing.drawings import as_bytes, scribble

NOW = datetime.now().astimezone().replace(microsecond=0)
DRAWING = as_bytes(scribble())


@dataclass(frozen=True)
class Signed:
    """The same report at its stages. certificate: of its authority, as customers get it. folder:
    with the keys of the time-stamp authority.
    """

    certified: bytes
    approved: bytes
    stamped: bytes
    certificate: bytes
    folder: Path


@pytest.fixture(scope="module")
def key_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("identity") / "signer.p12"


@pytest.fixture(scope="module")
def key(key_file: Path) -> Identity:
    return identity.create(key_file, "pw", "Imke Dorn", "Quillback Belt Service")


@pytest.fixture(scope="module")
def signed(tmp_path_factory: pytest.TempPathFactory, key: Identity) -> Signed:
    folder = tmp_path_factory.mktemp("report")
    authority.make(folder)
    document = complete(sample.demo_job(folder / "job"), folder / "job")
    certified = certify(document, key, "Record of the splice job", "Larkfield", NOW)
    with authority.serving(authority.answering(folder)) as url:

        def stamp(value: bytes) -> bytes:
            return stamped(url, value, patience_s=60)

        first = certify(document, key, "Record of the splice job", "Larkfield", NOW, stamp)
        both_stamped = approve(first, key, DRAWING, "Tilda Brannock", NOW, stamp)
    return Signed(
        certified=certified,
        approved=approve(certified, key, DRAWING, "Tilda Brannock", NOW),
        stamped=both_stamped,
        certificate=Certificate.from_der(key.chain[-1]).pem,
        folder=folder,
    )


def complete(job: Job, folder: Path) -> bytes:
    about = About(
        title="Splice report 4817",
        author="Quillback Belt Service",
        subject="Record of the splice job",
        language="en",
        written_at=sample.NOW,
        creator="Seamnote",
        labels={TECHNICIAN: "Signature of the technician", CUSTOMER: "Signature of the customer"},
    )
    return assemble(render(job, folder, sample.SETTINGS, sample.EDITION), [], about)


def outside(*command: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [str(part) for part in command], capture_output=True, text=True, check=False
    )


def blocks(said: str) -> list[str]:
    """What pdfsig says of each signature; it lists empty fields too."""
    return [part for part in said.split("Signature #")[1:] if "Signing Time" in part]


@pytest.fixture
def pdfsig(tmp_path: Path, signed: Signed) -> Callable[..., str]:
    def judged(pdf: bytes, trusting: bool = True) -> str:
        base = tmp_path / "nss"
        base.mkdir(exist_ok=True)
        made = outside("certutil", "-N", "-d", f"sql:{base}", "--empty-password")
        assert made.returncode == 0, made.stderr
        if trusting:
            (tmp_path / "authority.pem").write_bytes(signed.certificate)
            added = outside(
                "certutil", "-A", "-d", f"sql:{base}", "-n", "firm", "-t", ",C,", "-a",
                "-i", tmp_path / "authority.pem",
            )  # fmt: skip
            assert added.returncode == 0, added.stderr
        (tmp_path / "report.pdf").write_bytes(pdf)
        return outside("pdfsig", "-nssdir", f"sql:{base}", tmp_path / "report.pdf").stdout

    return judged


def test_pdfsig_trusts_the_technician_by_the_authority_of_the_firm(
    signed: Signed, pdfsig: Callable[..., str]
) -> None:
    (said,) = blocks(pdfsig(signed.certified))
    assert f"Signature Field Name: {TECHNICIAN}" in said
    assert "Signer Certificate Common Name: Imke Dorn" in said
    assert "Signature is Valid." in said
    assert "Certificate is Trusted." in said
    assert "Total document signed" in said
    assert "ETSI.CAdES.detached" in said
    assert "SHA-256" in said


@pytest.mark.parametrize("stage", ["approved", "stamped"])
def test_pdfsig_calls_both_signatures_valid_once_the_customer_has_signed(
    signed: Signed, pdfsig: Callable[..., str], stage: str
) -> None:
    first, second = blocks(pdfsig(getattr(signed, stage)))
    assert "Not total document signed" in first
    assert "Certificate is Trusted." in first
    assert f"Signature Field Name: {CUSTOMER}" in second
    assert "Total document signed" in second
    for said in (first, second):
        assert "Signature is Valid." in said


def test_pdfsig_trusts_the_approval_that_a_colleague_witnesses(
    signed: Signed, pdfsig: Callable[..., str], key_file: Path
) -> None:
    """By another key of the same authority, because pdfsig 22.12 trips over a second signature by
    the same one in any file whose signatures bring their chain along: the second look at that
    certificate in one process ends in NSS's SEC_ERROR_REUSED_ISSUER_AND_SERIAL.
    """
    colleague = identity.create(key_file.with_name("colleague.p12"), "pw", "Bo Hart", "Quillback")
    approved = approve(signed.certified, colleague, DRAWING, "Tilda Brannock", NOW)
    first, second = blocks(pdfsig(approved))
    assert "Signer Certificate Common Name: Bo Hart" in second
    for said in (first, second):
        assert "Signature is Valid." in said
        assert "Certificate is Trusted." in said


def test_pdfsig_does_not_trust_without_the_authority(
    signed: Signed, pdfsig: Callable[..., str]
) -> None:
    (said,) = blocks(pdfsig(signed.certified, trusting=False))
    assert "Signature is Valid." in said
    assert "Certificate is Trusted." not in said


@pytest.mark.parametrize("part", [0.1, 0.5, 0.9])
def test_pdfsig_rejects_a_flipped_byte(
    signed: Signed, pdfsig: Callable[..., str], part: float
) -> None:
    """Inside a picture, a font or a page: places where a PDF still opens."""
    end_of_document = re.search(rb"/ByteRange \[0 (\d+) ", signed.certified)
    assert end_of_document
    changed = bytearray(signed.approved)
    changed[int(int(end_of_document[1]) * part)] ^= 0x01
    said = pdfsig(bytes(changed))
    assert "Signature is Valid." not in said
    assert "Digest Mismatch" in said


def test_pdfsig_sees_an_addition(signed: Signed, pdfsig: Callable[..., str]) -> None:
    said = pdfsig(signed.approved + b"% more\n")
    assert said.count("Not total document signed") == 2


def parts(pdf: bytes) -> list[tuple[bytes, bytes]]:
    """Of each signature: its container in DER, and the bytes that it covers."""
    found = []
    for match in re.finditer(rb"/ByteRange \[0 (\d+) (\d+) (\d+)\]", pdf):
        start, end, rest = (int(number) for number in match.groups())
        padded = bytes.fromhex(pdf[start + 1 : end - 1].decode())
        container = cms.ContentInfo.load(padded).dump()
        found.append((bytes(container), pdf[:start] + pdf[end : end + rest]))
    return found


def verified(der: bytes, covered: bytes, trusted: bytes, folder: Path) -> str:
    (folder / "signature.der").write_bytes(der)
    (folder / "covered").write_bytes(covered)
    (folder / "trusted.pem").write_bytes(trusted)
    return outside(
        "openssl", "cms", "-verify", "-cades", "-binary", "-inform", "DER",
        "-in", folder / "signature.der", "-content", folder / "covered",
        "-CAfile", folder / "trusted.pem", "-no-CApath", "-out", folder / "same",
    ).stderr  # fmt: skip


@pytest.mark.parametrize("stage", ["approved", "stamped"])
def test_openssl_verifies_both_containers_as_cades(
    signed: Signed, tmp_path: Path, stage: str
) -> None:
    found = parts(getattr(signed, stage))
    assert len(found) == 2
    for der, covered in found:
        assert "CAdES Verification successful" in verified(
            der, covered, signed.certificate, tmp_path
        )
        assert (tmp_path / "same").read_bytes() == covered


def test_openssl_rejects_other_bytes_and_another_authority(signed: Signed, tmp_path: Path) -> None:
    der, covered = parts(signed.approved)[1]
    changed = covered[:5000] + b"x" + covered[5001:]
    assert "Verification failure" in verified(der, changed, signed.certificate, tmp_path)
    stranger = (signed.folder / "tick-root.pem").read_bytes()
    assert "Verification failure" in verified(der, covered, stranger, tmp_path)


def test_openssl_verifies_the_time_stamp_over_each_signature(
    signed: Signed, tmp_path: Path
) -> None:
    for der, _ in parts(signed.stamped):
        (info,) = cms.ContentInfo.load(der)["content"]["signer_infos"]
        (attribute,) = info["unsigned_attrs"]
        assert attribute["type"].native == "signature_time_stamp_token"
        (tmp_path / "token.der").write_bytes(attribute["values"][0].dump())
        (tmp_path / "value").write_bytes(info["signature"].native)
        done = outside(
            "openssl", "ts", "-verify", "-token_in", "-in", tmp_path / "token.der",
            "-data", tmp_path / "value", "-CAfile", signed.folder / "tick-root.pem",
        )  # fmt: skip
        assert "Verification: OK" in done.stdout + done.stderr


@pytest.mark.parametrize("stage", ["certified", "approved", "stamped"])
def test_qpdf_finds_no_fault(signed: Signed, tmp_path: Path, stage: str) -> None:
    path = tmp_path / "report.pdf"
    path.write_bytes(getattr(signed, stage))
    done = outside("qpdf", "--check", path)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "No syntax or stream encoding errors found" in done.stdout


def test_pdffonts_knows_one_family_and_all_embedded(signed: Signed, tmp_path: Path) -> None:
    path = tmp_path / "report.pdf"
    path.write_bytes(signed.approved)
    rows = outside("pdffonts", path).stdout.splitlines()[2:]
    assert rows
    assert all(row.split()[-5:-2] == ["yes", "yes", "yes"] for row in rows), rows
    assert all("+Seamnote" in row.split()[0] for row in rows), rows


def test_pdftotext_reads_how_the_customer_signed(signed: Signed, tmp_path: Path) -> None:
    path = tmp_path / "report.pdf"
    path.write_bytes(signed.approved)
    text = " ".join(outside("pdftotext", path, "-").stdout.split())
    said = f"Tilda Brannock, {NOW.isoformat()} drawn on the device and witnessed by the technician"
    assert said in text
