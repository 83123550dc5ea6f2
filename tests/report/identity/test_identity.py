"""A technician's key and its certificate by the firm's authority."""

from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import padding, rsa

from recorder.errors import BadValue, OutputUnwritable
from recorder.report.identity import authority, identity
from tests.report.conftest import PASSPHRASE


def test_the_names_of_a_demo_key_say_so(key: identity.Identity) -> None:
    assert key.common_name == "DEMO Imke Dorn"
    assert key.organization == "DEMO, not for real work"
    assert key.demo


def test_an_authority_lies_above_the_key(key: identity.Identity) -> None:
    (above,) = (identity.Certificate.from_der(each) for each in key.chain)
    assert above.authority
    assert above.common_name.startswith("DEMO Quillback Belt Service authority 20")
    assert key.certificate.issuer == above.common_name
    assert not key.certificate.self_issued


def test_the_home_knows_its_own_without_the_passphrase(
    key_file: Path, key: identity.Identity
) -> None:
    known = identity.known_certificates(key_file.parent)
    assert {each.der for each in known} == {key.certificate.der, *key.chain}


def test_what_it_signs_is_of_its_certificate(key: identity.Identity) -> None:
    public = x509.load_der_x509_certificate(key.certificate.der).public_key()
    assert isinstance(public, rsa.RSAPublicKey)
    signature = key.sign(b"content")
    public.verify(signature, b"content", padding.PKCS1v15(), hashes.SHA256())
    assert len(signature) == key.signature_bytes


def test_a_key_is_never_overwritten(key_file: Path) -> None:
    before = key_file.read_bytes()
    with pytest.raises(OutputUnwritable, match="already"):
        identity.create(key_file, PASSPHRASE, "Somebody", "")
    assert key_file.read_bytes() == before


def test_unwritable_place(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(OutputUnwritable):
        identity.create(tmp_path / "file" / "signer.p12", PASSPHRASE, "Imke Dorn", "")


@pytest.mark.parametrize("name", ["", "  ", "\x00\n"])
def test_a_signer_needs_a_name(tmp_path: Path, name: str) -> None:
    with pytest.raises(BadValue):
        identity.create(tmp_path / "signer.p12", PASSPHRASE, name, "")
    assert not list(tmp_path.iterdir())


def test_the_private_key_is_not_shown(key_file: Path, key: identity.Identity) -> None:
    above = authority.load(key_file.with_name(authority.FILE), PASSPHRASE)
    for shown in (repr(key), repr(above)):
        assert "certificate=" in shown
        assert "RSA" not in shown
        assert "function" not in shown


def test_known_certificates_of_no_folder(tmp_path: Path) -> None:
    assert identity.known_certificates(tmp_path / "none") == ()


@pytest.mark.parametrize("content", [b"nothing of the kind", b"", b"\xff\xfe", None])
def test_a_file_without_certificate_hides_no_other(
    tmp_path: Path, key: identity.Identity, content: bytes | None
) -> None:
    bad = tmp_path / "plant.crt"
    if content is None:
        bad.mkdir()
    else:
        bad.write_bytes(content)
    (tmp_path / "signer.pem").write_bytes(key.certificate.pem)
    assert identity.known_certificates(tmp_path) == (key.certificate,)
    assert identity.unreadable(tmp_path) == (bad,)
