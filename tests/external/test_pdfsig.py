"""Judges from outside: other people's programs look at a signed report.

pdfsig: poppler-utils, https://poppler.freedesktop.org (uses NSS for the cryptography).
qpdf: https://qpdf.readthedocs.io, ``--check`` for the structure of the file.
"""

import subprocess
from datetime import datetime
from pathlib import Path

import pytest

from recorder.report.identity import identity
from recorder.report.page.render import render
from recorder.report.signing.sign import sign
from tests.report import sample


@pytest.fixture(scope="module")
def signed(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    folder = tmp_path_factory.mktemp("report")
    key = identity.create(folder / "k.p12", "pw", "Imke Dorn", "Quillback Belt Service", demo=True)
    job = sample.demo_job(folder / "job")
    edition = sample.EDITION.model_copy(update={"signer": key.common_name})
    pdf = render(job, folder / "job", sample.SETTINGS, edition)
    return sign(pdf, key, "Record of the splice job", "Larkfield", datetime.now().astimezone())


def outside(*command: str | Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [str(part) for part in command], capture_output=True, text=True, check=False
    )


def test_pdfsig_calls_the_signature_valid(signed: bytes, tmp_path: Path) -> None:
    path = tmp_path / "report.pdf"
    path.write_bytes(signed)
    said = outside("pdfsig", path).stdout
    assert said.count("Signature #") == 1
    assert "Signature is Valid." in said
    assert "Total document signed" in said
    assert "ETSI.CAdES.detached" in said
    assert "SHA-256" in said
    assert "Signer Certificate Common Name: DEMO Imke Dorn" in said


@pytest.mark.parametrize("part", [0.1, 0.5, 0.9])
def test_pdfsig_rejects_a_flipped_byte(signed: bytes, tmp_path: Path, part: float) -> None:
    """Inside a picture, a font or a page: places where a PDF still opens."""
    end_of_original = signed.rindex(b"\nxref") if b"\nxref" in signed else len(signed)
    changed = bytearray(signed)
    changed[int(end_of_original * part)] ^= 0x01
    path = tmp_path / "report.pdf"
    path.write_bytes(changed)
    said = outside("pdfsig", path).stdout
    assert "Signature is Valid." not in said
    assert "Digest Mismatch" in said


def test_pdfsig_sees_an_addition(signed: bytes, tmp_path: Path) -> None:
    path = tmp_path / "report.pdf"
    path.write_bytes(signed + b"% more\n")
    assert "Not total document signed" in outside("pdfsig", path).stdout


def test_qpdf_finds_no_fault(signed: bytes, tmp_path: Path) -> None:
    path = tmp_path / "report.pdf"
    path.write_bytes(signed)
    done = outside("qpdf", "--check", path)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "No syntax or stream encoding errors found" in done.stdout


def test_pdffonts_knows_one_family_and_all_embedded(signed: bytes, tmp_path: Path) -> None:
    path = tmp_path / "report.pdf"
    path.write_bytes(signed)
    rows = outside("pdffonts", path).stdout.splitlines()[2:]
    assert rows
    assert all("+Seamnote" in row.split()[0] for row in rows), rows
    assert all(row.split()[-5:-2] == ["yes", "yes", "yes"] for row in rows), rows
