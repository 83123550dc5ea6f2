"""The authority for the network, held against OpenSSL and a browser, which know nothing of us.

Sources: RFC 5280, 4.2.1.9 (path length), 4.2.1.10 (name constraints: "Restrictions apply only when
the specified name form is present", which is why both forms are constrained); CA/Browser Forum
baseline requirements 6.3.2, at most 398 days for a server; Apple HT211025 and HT210176 (from
memory) for what iOS takes of an authority that a user installs: SAN, serverAuth, at most 825 days.
"""

from __future__ import annotations

import os
import ssl
import subprocess
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from playwright.sync_api import Error, sync_playwright

from recorder.web.access.authority import Authority, open_or_make, server_certificate
from recorder.web.access.networks import host_name
from tests.web.browser import CHROMIUM, QUIET
from tests.web.foreign import foreign

NOW = datetime.now(UTC)


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("authority")


@pytest.fixture(scope="module")
def authority(home: Path) -> Authority:
    return open_or_make(home)


@pytest.fixture(scope="module")
def root(home: Path, authority: Authority) -> Path:
    path = home / "root.pem"
    path.write_text(ssl.DER_cert_to_PEM_cert(authority.certificate))
    return path


def openssl(*arguments: str | Path) -> tuple[int, str]:
    done = subprocess.run(
        ["openssl", *map(str, arguments)], capture_output=True, text=True, check=False
    )
    return done.returncode, done.stdout + done.stderr


def verify(root: Path, leaf: Path, *more: str) -> tuple[int, str]:
    return openssl("verify", "-x509_strict", "-purpose", "sslserver", "-CAfile", root, *more, leaf)


def forged(home: Path, authority: Authority, *names: str) -> Path:
    """What a thief of the key could make: any name."""
    path = home / f"{names[0].strip('[]').replace(':', '_')}.pem"
    path.write_bytes(authority.issue(names, NOW))
    return path


@pytest.mark.parametrize(
    ("name", "how"),
    [
        ("192.168.1.20", "-verify_ip"), ("10.200.3.4", "-verify_ip"), ("172.31.0.9", "-verify_ip"),
        ("169.254.7.7", "-verify_ip"), ("fd12:3456::9", "-verify_ip"),
        (host_name(), "-verify_hostname"),
    ],
)  # fmt: skip
def test_a_certificate_for_this_machine_is_valid(
    home: Path, root: Path, authority: Authority, name: str, how: str
) -> None:
    leaf = server_certificate(home, (name, host_name()))
    code, said = verify(root, leaf, how, name)
    assert code == 0, said


@pytest.mark.parametrize(
    "name",
    ["example.com", "8.8.8.8", "[2001:db8::1]", "172.32.0.1", "other.local", "local", "com",
     "fe80::1", "100.64.0.1", "192.169.0.1"],
)  # fmt: skip
def test_a_certificate_for_anything_else_is_refused(
    home: Path, root: Path, authority: Authority, name: str
) -> None:
    code, said = verify(root, forged(home, authority, name))
    assert code != 0
    assert "permitted subtree violation" in said
    assert authority.permitted([name]) == ()


def test_one_foreign_name_beside_own_ones_is_refused(
    home: Path, root: Path, authority: Authority
) -> None:
    code, said = verify(root, forged(home, authority, "10.0.0.1", "example.com"))
    assert code != 0
    assert "permitted subtree violation" in said


def test_no_authority_below_it_is_taken(home: Path, root: Path, authority: Authority) -> None:
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, "Below")])
    own = x509.SubjectKeyIdentifier.from_public_key(key.public_key())
    above = x509.AuthorityKeyIdentifier.from_issuer_public_key(authority._key.public_key())
    usage = x509.KeyUsage(
        digital_signature=False, key_cert_sign=True, content_commitment=False, crl_sign=False,
        key_encipherment=False, data_encipherment=False, key_agreement=False,
        encipher_only=False, decipher_only=False,
    )  # fmt: skip
    below = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(authority._signed.subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(NOW - timedelta(days=1))
        .not_valid_after(NOW + timedelta(days=30))
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(own, critical=False)
        .add_extension(above, critical=False)
        .sign(authority._key, hashes.SHA256())
    )
    middle = home / "below.pem"
    middle.write_bytes(below.public_bytes(serialization.Encoding.PEM))
    leaf = home / "leaf.pem"
    leaf.write_bytes(
        Authority(below.public_bytes(serialization.Encoding.DER), below, key).issue(
            ("10.0.0.1",), NOW
        )
    )
    code, said = verify(root, leaf, "-untrusted", str(middle))
    assert code != 0
    assert "path length constraint exceeded" in said


def test_what_stands_in_the_two_certificates(home: Path, root: Path) -> None:
    _, above = openssl("x509", "-in", root, "-noout", "-text")
    for expected in (
        "Public Key Algorithm: id-ecPublicKey", "NIST CURVE: P-256",
        "X509v3 Basic Constraints: critical\n                CA:TRUE, pathlen:0",
        "X509v3 Key Usage: critical\n                Certificate Sign\n",
        "X509v3 Name Constraints: critical",
        f"DNS:{host_name()}",
        "IP:10.0.0.0/255.0.0.0",
        "TLS Web Server Authentication",
    ):  # fmt: skip
        assert expected in above
    assert "Excluded" not in above
    leaf = server_certificate(home, ("10.0.0.1", "[fd00::1]", host_name()))
    _, below = openssl("x509", "-in", leaf, "-noout", "-text")
    for expected in (
        "X509v3 Basic Constraints: critical\n                CA:FALSE",
        "X509v3 Key Usage: critical\n                Digital Signature\n",
        "TLS Web Server Authentication",
        f"IP Address:10.0.0.1, IP Address:FD00:0:0:0:0:0:0:1, DNS:{host_name()}",
    ):  # fmt: skip
        assert expected in below


def test_neither_lives_longer_than_it_may(home: Path, authority: Authority) -> None:
    signed = authority._signed
    assert signed.not_valid_after_utc - signed.not_valid_before_utc <= timedelta(days=3650)
    leaf = x509.load_pem_x509_certificate(server_certificate(home, ("10.0.0.1",)).read_bytes())
    assert leaf.not_valid_after_utc - leaf.not_valid_before_utc <= timedelta(days=397)


def test_the_fingerprint_is_that_which_others_show(root: Path, authority: Authority) -> None:
    _, said = openssl("x509", "-in", root, "-noout", "-fingerprint", "-sha256")
    assert said.strip().partition("=")[2].replace(":", "").lower() == authority.fingerprint


def test_a_browser_that_trusts_it_trusts_it_for_this_machine_alone(
    tmp_path: Path, home: Path, root: Path, authority: Authority
) -> None:
    """Chromium on Linux takes what a user installed from the NSS database of that user."""
    store = tmp_path / ".pki" / "nssdb"
    store.mkdir(parents=True)
    for arguments in (("-N", "--empty-password"), ("-A", "-n", "own", "-t", "C,,", "-i", root)):
        subprocess.run(["certutil", "-d", f"sql:{store}", *arguments], check=True)
    own, wrong = server_certificate(home, ("10.1.2.3",)), forged(home, authority, "example.com")
    rules = "MAP 10.1.2.3 127.0.0.1, MAP example.com 127.0.0.1"
    page = b"reached"
    with (
        foreign(page, own) as here,
        foreign(page, wrong) as elsewhere,
        sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(
            executable_path=CHROMIUM, args=[*QUIET, f"--host-resolver-rules={rules}"],
            env={**os.environ, "HOME": str(tmp_path)},
        )  # fmt: skip
        page = browser.new_page()
        page.goto(f"https://10.1.2.3:{here}/")
        assert page.text_content("body") == "reached"
        assert page.evaluate("isSecureContext")
        with pytest.raises(Error, match="ERR_CERT"):
            page.goto(f"https://example.com:{elsewhere}/")
        browser.close()
