"""Judges from outside: other people's programs look at an authority and whom it vouches for.

openssl: https://docs.openssl.org/3.0/man1/openssl-verification-options/ (``-purpose smimesign``).
certutil, pdfsig: NSS (https://firefox-source-docs.mozilla.org/security/nss), which Firefox and
poppler judge certificates by; an NSS database holds the authorities that its owner trusts.
"""

import re
import shutil
import subprocess
from datetime import datetime
from pathlib import Path

import pytest

from recorder.report.identity import authority, identity
from recorder.report.identity.certificates import Certificate
from recorder.report.identity.identity import Identity
from recorder.report.signing.certify import certify
from tests.report.document.conftest import document as document

PASSPHRASE = "pw"


@pytest.fixture(scope="module")
def key(tmp_path_factory: pytest.TempPathFactory) -> Identity:
    path = tmp_path_factory.mktemp("keys") / "signer.p12"
    firm, mail = "Quillback Belt Service", "imke.dorn@quillback.example"
    return identity.create(path, PASSPHRASE, "Imke Dorn", firm, email=mail)


@pytest.fixture(scope="module")
def files(key: Identity, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """leaf.pem, authority.pem, and other.pem: of another authority with the same name."""
    folder = tmp_path_factory.mktemp("pem")
    other = authority.create(folder / "other.p12", PASSPHRASE, "Quillback Belt Service")
    above = Certificate.from_der(key.chain[0])
    assert other.certificate.common_name == above.common_name
    named = {"leaf": key.certificate, "authority": above, "other": other.certificate}
    for name, certificate in named.items():
        (folder / f"{name}.pem").write_bytes(certificate.pem)
    return folder


@pytest.fixture(scope="module")
def report(document: bytes, key: Identity, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("report") / "report.pdf"
    now = datetime.now().astimezone()
    path.write_bytes(certify(document, key, "Record of the splice job", "Larkfield", now))
    return path


def outside(*command: str | Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [str(part) for part in command], capture_output=True, text=True, check=False
    )


@pytest.mark.parametrize("purpose", ["smimesign", "any"])
def test_openssl_trusts_the_technician_by_the_authority(files: Path, purpose: str) -> None:
    done = outside(
        "openssl", "verify", "-x509_strict", "-purpose", purpose, "-CAfile",
        files / "authority.pem", files / "leaf.pem",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert done.stdout.endswith("leaf.pem: OK\n")


def test_openssl_does_not_trust_by_another_authority_of_the_same_name(files: Path) -> None:
    done = outside("openssl", "verify", "-CAfile", files / "other.pem", files / "leaf.pem")
    assert done.returncode != 0
    assert "unable to get local issuer certificate" in done.stderr


@pytest.mark.parametrize("purpose", ["sslserver", "sslclient", "timestampsign"])
def test_openssl_takes_the_technician_for_nothing_else(files: Path, purpose: str) -> None:
    done = outside(
        "openssl", "verify", "-purpose", purpose, "-CAfile",
        files / "authority.pem", files / "leaf.pem",
    )  # fmt: skip
    assert done.returncode != 0
    assert re.search(r"unsupported certificate purpose|unsuitable certificate purpose", done.stderr)


def _extensions(path: Path) -> dict[str, list[str]]:
    """What openssl prints of a certificate: the lines below each extension, by its heading."""
    shown = outside("openssl", "x509", "-in", path, "-noout", "-text").stdout
    found: dict[str, list[str]] = {}
    for line in shown.partition("X509v3 extensions:\n")[2].splitlines():
        indent = len(line) - len(line.lstrip())
        if indent == 12:
            heading = line.strip()
            found[heading] = []
        elif indent == 16:
            found[heading].append(line.strip())
    return found


def test_the_profile_of_the_technician(files: Path) -> None:
    shown = _extensions(files / "leaf.pem")
    above = _extensions(files / "authority.pem")
    assert shown["X509v3 Basic Constraints: critical"] == ["CA:FALSE"]
    assert shown["X509v3 Key Usage: critical"] == ["Digital Signature, Non Repudiation"]
    assert shown["X509v3 Extended Key Usage:"] == ["E-mail Protection, 1.3.6.1.5.5.7.3.36"]
    assert shown["X509v3 Subject Alternative Name:"] == ["email:imke.dorn@quillback.example"]
    assert shown["X509v3 Authority Key Identifier:"] == above["X509v3 Subject Key Identifier:"]
    text = outside("openssl", "x509", "-in", files / "leaf.pem", "-noout", "-text").stdout
    assert "Public-Key: (3072 bit)" in text
    assert "Signature Algorithm: sha256WithRSAEncryption" in text


def test_the_profile_of_the_authority(files: Path) -> None:
    shown = _extensions(files / "authority.pem")
    assert shown["X509v3 Basic Constraints: critical"] == ["CA:TRUE, pathlen:0"]
    assert shown["X509v3 Key Usage: critical"] == ["Certificate Sign, CRL Sign"]
    own = shown["X509v3 Subject Key Identifier:"]
    assert shown["X509v3 Authority Key Identifier:"] == own
    text = outside("openssl", "x509", "-in", files / "authority.pem", "-noout", "-text").stdout
    assert "Public-Key: (3072 bit)" in text


def _trusting(folder: Path, pem: Path | None) -> Path:
    """An NSS database whose owner trusts an authority for signatures, or nobody."""
    assert outside("certutil", "-N", "-d", f"sql:{folder}", "--empty-password").returncode == 0
    if pem:
        done = outside(
            "certutil", "-A", "-d", f"sql:{folder}", "-n", "firm", "-t", ",C,", "-a", "-i", pem
        )
        assert done.returncode == 0, done.stderr
    return folder


def test_nss_trusts_the_technician_for_email_and_nothing_else(files: Path, tmp_path: Path) -> None:
    folder = _trusting(tmp_path, files / "authority.pem")
    leaf = ("certutil", "-A", "-d", f"sql:{folder}", "-n", "leaf", "-t", ",,", "-a", "-i")
    assert outside(*leaf, files / "leaf.pem").returncode == 0

    def judged(usage: str) -> str:
        return outside("certutil", "-V", "-d", f"sql:{folder}", "-n", "leaf", "-u", usage).stdout

    assert "certificate is valid" in judged("S")
    assert "certificate is invalid" in judged("V"), "no server"


@pytest.mark.parametrize(
    ("trusted", "said"),
    [
        ("authority", "Certificate is Trusted."),
        ("other", "Certificate issuer isn't Trusted."),
        (None, "Certificate issuer isn't Trusted."),
    ],
)
def test_pdfsig_trusts_the_signer_by_the_authority_alone(
    files: Path, report: Path, tmp_path: Path, trusted: str | None, said: str
) -> None:
    folder = _trusting(tmp_path, files / f"{trusted}.pem" if trusted else None)
    shown = outside("pdfsig", "-nssdir", folder, report).stdout
    assert "Signature is Valid." in shown
    assert f"Certificate Validation: {said}" in shown


def test_openssl_opens_the_key_file(files: Path, tmp_path: Path) -> None:
    """The PKCS#12 file is one that other programs read, too: a key is not locked in."""
    path = tmp_path / "signer.p12"
    shutil.copy(files / "other.p12", path)
    done = outside("openssl", "pkcs12", "-in", path, "-passin", f"pass:{PASSPHRASE}", "-nokeys")
    assert done.returncode == 0, done.stderr
    assert "Quillback Belt Service authority" in done.stdout
    wrong = outside("openssl", "pkcs12", "-in", path, "-passin", "pass:wrong", "-nokeys")
    assert wrong.returncode != 0
