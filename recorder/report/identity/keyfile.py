"""Keys on disk: PKCS#12 files under a passphrase, written whole, readable by their owner alone."""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Iterable
from pathlib import Path

from asn1crypto import pkcs12 as structure
from cryptography import x509
from cryptography.exceptions import UnsupportedAlgorithm
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import rsa
from cryptography.hazmat.primitives.serialization import pkcs12

from recorder.errors import (
    FileMissing,
    IdentityUnfit,
    IdentityUnusable,
    OutputUnwritable,
    PassphraseWrong,
)

KDF_ROUNDS = 300_000
FEWEST_BITS = 2048  # of a key that others made; NIST SP 800-57 part 1, 112 bits of security
MEND_KEY = f"give an RSA key of at least {FEWEST_BITS} bits"

Held = tuple[rsa.RSAPrivateKey, x509.Certificate | None, tuple[x509.Certificate, ...]]


def write(
    path: Path,
    passphrase: str,
    key: rsa.RSAPrivateKey,
    certificate: x509.Certificate | None,
    chain: Iterable[x509.Certificate] = (),
) -> None:
    """Write a key with its certificates (mode 0600). Raises OutputUnwritable."""
    encryption = (
        serialization.PrivateFormat.PKCS12.encryption_builder()
        .kdf_rounds(KDF_ROUNDS)
        .key_cert_algorithm(pkcs12.PBES.PBESv2SHA256AndAES256CBC)
        .hmac_hash(hashes.SHA256())
        .build(passphrase.encode())
    )
    name = b"seamnote signing key"
    bundle = pkcs12.serialize_key_and_certificates(
        name, key, certificate, list(chain) or None, encryption
    )
    write_whole(path, bundle)


def read(path: Path, passphrase: str) -> Held:
    """The RSA key, its certificate (None if there is none) and all other certificates.

    Raises FileMissing, PassphraseWrong, IdentityUnusable for a damaged file and IdentityUnfit for
    another kind of key.
    """
    try:
        bundle = path.read_bytes()
    except FileNotFoundError as error:
        raise FileMissing(path=path) from error
    except OSError as error:
        raise IdentityUnusable(path=path, detail=error.strerror or str(error)) from error
    try:
        structure.Pfx.load(bundle, strict=True).native  # noqa: B018 (parses every part)
    except (ValueError, TypeError) as error:
        raise IdentityUnusable(path=path, detail="the file is damaged") from error
    try:
        key, certificate, others = pkcs12.load_key_and_certificates(bundle, passphrase.encode())
    except ValueError as error:  # the one answer for a wrong passphrase and for a flipped byte
        raise PassphraseWrong(path=path) from error
    except UnsupportedAlgorithm as error:
        raise IdentityUnfit(path=path, detail=str(error), mend=MEND_KEY) from error
    if key is None:
        raise IdentityUnfit(path=path, detail="it holds no key", mend="export it with its key")
    if not isinstance(key, rsa.RSAPrivateKey) or key.key_size < FEWEST_BITS:
        detail = f"it holds no RSA key of {FEWEST_BITS} bits or more"
        raise IdentityUnfit(path=path, detail=detail, mend=MEND_KEY)
    return key, certificate, tuple(others)


def opens(path: Path, passphrase: str) -> bool:
    """Whether a passphrase opens the key. Raises like ``read`` for all but a wrong one."""
    try:
        read(path, passphrase)
    except PassphraseWrong:
        return False
    return True


def set_aside(path: Path) -> None:
    """Keep a copy of a key under the digest of its file. Raises OutputUnwritable."""
    content = path.read_bytes()
    digest = hashlib.sha256(content).hexdigest()
    write_whole(path.with_name(f"{path.stem}-{digest[:16]}.p12"), content)


def write_whole(path: Path, content: bytes) -> None:
    """Write by a private temporary file and a rename, so that a crash leaves all or nothing.

    The folder is made when absent. Raises OutputUnwritable. Like ``recorder.archive.disk.atomic``,
    which a stage beside this one must not import.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        _replace(path, content)
    except OSError as error:
        raise OutputUnwritable(path=path, detail=error.strerror or str(error)) from error


def _replace(path: Path, content: bytes) -> None:
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")  # mode 0600
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        temporary.replace(path)
    finally:
        temporary.unlink(missing_ok=True)
    if os.name == "nt":
        return  # Windows opens no folder, and keeps its names in a journal
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)
