"""The signing key on disk."""

import os
import stat
from pathlib import Path
from types import SimpleNamespace

import pytest
from cryptography import x509
from cryptography.x509.oid import ExtendedKeyUsageOID

from recorder.errors import (
    BadValue,
    FileMissing,
    IdentityUnusable,
    OutputUnwritable,
    PassphraseWrong,
)
from recorder.report.identity import identity
from tests.report.conftest import PASSPHRASE


def test_only_its_owner_can_read_the_key(key_file: Path) -> None:
    assert stat.S_IMODE(key_file.stat().st_mode) == 0o600
    assert stat.S_IMODE(key_file.parent.stat().st_mode) == 0o700
    assert sorted(path.suffix for path in key_file.parent.iterdir()) == [".p12", ".pem"]


def test_the_names_of_a_demo_key_say_so(key: identity.Identity) -> None:
    assert key.common_name == "DEMO Imke Dorn"
    assert key.organization == "DEMO, not for real work"
    assert key.demo


def test_demo_is_not_said_twice() -> None:
    subject = identity._subject("DEMO Imke Dorn", "", demo=True)
    assert subject.rfc4514_string().startswith("CN=DEMO Imke Dorn,")


def test_a_name_that_only_begins_like_demo_is_none() -> None:
    subject = identity._subject("DEMOSTHENES Pell", "Firm", demo=False)
    assert subject.rfc4514_string() == "CN=DEMOSTHENES Pell,O=Firm"


def test_the_home_knows_its_own_signer_without_the_passphrase(
    key_file: Path, key: identity.Identity
) -> None:
    (known,) = identity.known_certificates(key_file.parent)
    assert known == key.certificate
    assert len(known.fingerprint) == 64


def test_key_usage_is_that_of_document_signing(key: identity.Identity) -> None:
    certificate = x509.load_der_x509_certificate(key.certificate.der)
    usage = certificate.extensions.get_extension_for_class(x509.KeyUsage)
    assert usage.critical
    assert usage.value.digital_signature
    assert usage.value.content_commitment
    assert not usage.value.key_cert_sign
    extended = certificate.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert ExtendedKeyUsageOID.EMAIL_PROTECTION in extended
    assert identity.DOCUMENT_SIGNING in extended


def test_wrong_passphrase(key_file: Path) -> None:
    with pytest.raises(PassphraseWrong):
        identity.load(key_file, "another")


def test_which_passphrase_opens_the_key(key_file: Path) -> None:
    assert identity.opens(key_file, PASSPHRASE)
    assert not identity.opens(key_file, "another")


@pytest.mark.parametrize("damage", ["cut", "empty", "text"])
def test_damaged_key_file(key_file: Path, tmp_path: Path, damage: str) -> None:
    whole = key_file.read_bytes()
    contents = {"cut": whole[:-20], "empty": b"", "text": b"not a key"}
    path = tmp_path / "signer.p12"
    path.write_bytes(contents[damage])
    with pytest.raises(IdentityUnusable, match="damaged"):
        identity.load(path, PASSPHRASE)


def test_every_flipped_byte_of_a_key_file_is_told(key_file: Path, tmp_path: Path) -> None:
    """The integrity code of the file covers the content, and its structure covers the rest."""
    whole = bytearray(key_file.read_bytes())
    path = tmp_path / "signer.p12"
    for position in range(0, len(whole), len(whole) // 12):
        whole[position] ^= 0x41
        path.write_bytes(whole)
        with pytest.raises((IdentityUnusable, PassphraseWrong)):
            identity.load(path, PASSPHRASE)
        whole[position] ^= 0x41


@pytest.mark.parametrize("system", ["nt", "posix"])
def test_no_folder_is_opened_on_windows(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, system: str
) -> None:
    """There, opening one is not permitted; the file is written all the same."""

    def refused(path: Path, flags: int) -> int:
        raise PermissionError(13, "Permission denied")

    there = SimpleNamespace(
        name=system, open=refused, O_RDONLY=os.O_RDONLY, fdopen=os.fdopen, fsync=os.fsync
    )
    monkeypatch.setattr(identity, "os", there)
    path = tmp_path / "k.pem"
    if system == "nt":
        identity._write_whole(path, b"content")
    else:
        with pytest.raises(PermissionError):
            identity._write_whole(path, b"content")
    assert path.read_bytes() == b"content"


def test_no_key_file(tmp_path: Path) -> None:
    with pytest.raises(FileMissing):
        identity.load(tmp_path / "signer.p12", PASSPHRASE)


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


def test_long_and_hostile_names_fit_a_certificate(tmp_path: Path) -> None:
    made = identity.create(tmp_path / "k.p12", PASSPHRASE, "Ö" * 200, "Firm\n<b>/CN=evil")
    assert made.common_name == "Ö" * 32
    assert made.organization == "Firm <b>/CN=evil"
    assert not made.demo


def test_the_private_key_is_not_shown(key: identity.Identity) -> None:
    assert "key_der" not in repr(key)


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
