"""Keys on disk: only their owner's, whole or not at all, and never another kind of key."""

import os
import stat
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.hazmat.primitives.serialization import pkcs12

from recorder.errors import (
    FileMissing,
    IdentityUnfit,
    IdentityUnusable,
    OutputUnwritable,
    PassphraseWrong,
)
from recorder.report.identity import keyfile
from tests.report.conftest import PASSPHRASE


def test_only_its_owner_can_read_a_key(key_file: Path) -> None:
    for path in (key_file, key_file.with_name("authority.p12")):
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE(key_file.parent.stat().st_mode) == 0o700


def test_wrong_passphrase(key_file: Path) -> None:
    with pytest.raises(PassphraseWrong):
        keyfile.read(key_file, "another")


def test_which_passphrase_opens_the_key(key_file: Path) -> None:
    assert keyfile.opens(key_file, PASSPHRASE)
    assert not keyfile.opens(key_file, "another")


@pytest.mark.parametrize("damage", ["cut", "empty", "text"])
def test_damaged_key_file(key_file: Path, tmp_path: Path, damage: str) -> None:
    whole = key_file.read_bytes()
    contents = {"cut": whole[:-20], "empty": b"", "text": b"not a key"}
    path = tmp_path / "signer.p12"
    path.write_bytes(contents[damage])
    with pytest.raises(IdentityUnusable, match="damaged"):
        keyfile.read(path, PASSPHRASE)


def test_every_flipped_byte_of_a_key_file_is_told(key_file: Path, tmp_path: Path) -> None:
    """The integrity code of the file covers the content, and its structure covers the rest."""
    whole = bytearray(key_file.read_bytes())
    path = tmp_path / "signer.p12"
    for position in range(0, len(whole), len(whole) // 12):
        whole[position] ^= 0x41
        path.write_bytes(whole)
        with pytest.raises((IdentityUnusable, PassphraseWrong)):
            keyfile.read(path, PASSPHRASE)
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
    monkeypatch.setattr(keyfile, "os", there)
    path = tmp_path / "k.pem"
    if system == "nt":
        keyfile.write_whole(path, b"content")
    else:
        with pytest.raises(OutputUnwritable, match="Permission denied"):
            keyfile.write_whole(path, b"content")
    assert path.read_bytes() == b"content"


def test_no_key_file(tmp_path: Path) -> None:
    with pytest.raises(FileMissing):
        keyfile.read(tmp_path / "signer.p12", PASSPHRASE)


def _foreign(path: Path, key: ec.EllipticCurvePrivateKey | rsa.RSAPrivateKey) -> None:
    """A PKCS#12 file as another program may write it."""
    name = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, "Imke Dorn")])
    now = datetime.now(UTC)
    signed = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(1)
        .not_valid_before(now)
        .not_valid_after(now + timedelta(days=1))
        .sign(key, hashes.SHA256())
    )
    encryption = serialization.BestAvailableEncryption(PASSPHRASE.encode())
    bundle = pkcs12.serialize_key_and_certificates(b"k", key, signed, None, encryption)
    path.write_bytes(bundle)


@pytest.mark.parametrize("kind", ["elliptic curve", "1024 bits"])
def test_other_kinds_of_keys_are_refused(tmp_path: Path, kind: str) -> None:
    path = tmp_path / "firm.p12"
    if kind == "1024 bits":
        _foreign(path, rsa.generate_private_key(65537, 1024))
    else:
        _foreign(path, ec.generate_private_key(ec.SECP256R1()))
    with pytest.raises(IdentityUnfit, match="no RSA key of 2048 bits"):
        keyfile.read(path, PASSPHRASE)
