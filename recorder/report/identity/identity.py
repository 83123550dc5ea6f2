"""The signing key: a PKCS#12 file under a passphrase, with its certificate in PEM beside it."""

from __future__ import annotations

import os
import tempfile
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from asn1crypto import pkcs12 as structure
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import rsa
from cryptography.hazmat.primitives.serialization import pkcs12
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from recorder.errors import (
    BadValue,
    FileMissing,
    IdentityUnusable,
    OutputUnwritable,
    PassphraseWrong,
)
from recorder.report.identity.certificates import (
    DEMO_MARK,
    Certificate,
    known_certificates,
    unreadable,
)

__all__ = [
    "Certificate",
    "Identity",
    "create",
    "known_certificates",
    "load",
    "opens",
    "unreadable",
]

# RSA with PKCS#1 v1.5 padding and not an elliptic curve: a signature has one valid encoding only,
# so that a changed byte inside it can never still verify. 3072 bits: NIST SP 800-57 part 1, table
# 2, 128 bits of security. Every PDF reader knows it.
KEY_BITS = 3072
VALID_FOR = timedelta(days=5 * 365)
CLOCK_SLACK = timedelta(days=1)  # a field laptop's clock may be corrected backwards
KDF_ROUNDS = 300_000
DEMO_ORGANIZATION = f"{DEMO_MARK}, not for real work"
LONGEST_NAME = 64  # bytes; RFC 5280, appendix A.1: ub-common-name, ub-organization-name
DOCUMENT_SIGNING = x509.ObjectIdentifier("1.3.6.1.5.5.7.3.36")  # RFC 9336


@dataclass(frozen=True)
class Identity:
    """An opened signing key.

    certificate: the public half. key_der: the private key, PKCS#8, never shown or logged.
    """

    certificate: Certificate
    key_der: bytes = field(repr=False)

    @property
    def common_name(self) -> str:
        return self.certificate.common_name

    @property
    def organization(self) -> str:
        return self.certificate.organization

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the certificate in hex."""
        return self.certificate.fingerprint

    @property
    def demo(self) -> bool:
        return self.certificate.demo


def create(
    path: Path, passphrase: str, common_name: str, organization: str, demo: bool = False
) -> Identity:
    """Make a key and write it to ``path`` (mode 0600), and its certificate in PEM beside it.

    The PEM is named after its fingerprint, so that those of earlier keys stay known.
    demo: the names then say DEMO, for all who look at the signature.
    Raises BadValue for an unusable name, OutputUnwritable when a key is there already or the
    place cannot be written.
    """
    if path.exists():
        raise OutputUnwritable(path=path, detail="a signing key is there already")
    subject = _subject(common_name, organization, demo)
    key = rsa.generate_private_key(public_exponent=65537, key_size=KEY_BITS)
    signed = _self_signed(key, subject)
    encryption = (
        serialization.PrivateFormat.PKCS12.encryption_builder()
        .kdf_rounds(KDF_ROUNDS)
        .key_cert_algorithm(pkcs12.PBES.PBESv2SHA256AndAES256CBC)
        .hmac_hash(hashes.SHA256())
        .build(passphrase.encode())
    )
    name = b"seamnote signing key"
    bundle = pkcs12.serialize_key_and_certificates(name, key, signed, None, encryption)
    identity = _identity(key, signed)
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        path.parent.chmod(0o700)
        beside = path.with_name(f"{path.stem}-{identity.fingerprint[:16]}.pem")
        _write_whole(beside, identity.certificate.pem)
        _write_whole(path, bundle)
    except OSError as error:
        raise OutputUnwritable(path=path, detail=error.strerror or str(error)) from error
    return identity


def load(path: Path, passphrase: str) -> Identity:
    """Open a key. Raises FileMissing, PassphraseWrong, or IdentityUnusable for a damaged file."""
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
        key, signed, _ = pkcs12.load_key_and_certificates(bundle, passphrase.encode())
    except ValueError as error:  # the one answer for a wrong passphrase and for a flipped byte
        raise PassphraseWrong(path=path) from error
    if not isinstance(key, rsa.RSAPrivateKey) or signed is None:
        raise IdentityUnusable(path=path, detail="it holds no RSA key with its certificate")
    return _identity(key, signed)


def opens(path: Path, passphrase: str) -> bool:
    """Whether a passphrase opens the key. Raises FileMissing or IdentityUnusable like ``load``."""
    try:
        load(path, passphrase)
    except PassphraseWrong:
        return False
    return True


def _identity(key: rsa.RSAPrivateKey, signed: x509.Certificate) -> Identity:
    return Identity(
        certificate=Certificate.from_der(signed.public_bytes(serialization.Encoding.DER)),
        key_der=key.private_bytes(
            serialization.Encoding.DER,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        ),
    )


def _subject(common_name: str, organization: str, demo: bool) -> x509.Name:
    person = _printable(common_name)
    if not person:
        raise BadValue(
            value=common_name, field="a signer's name", hint="set [report] technician in settings"
        )
    if demo:
        person = _cut(f"{DEMO_MARK} {person.removeprefix(f'{DEMO_MARK} ')}")
        organization = DEMO_ORGANIZATION
    parts = [(NameOID.ORGANIZATION_NAME, _printable(organization)), (NameOID.COMMON_NAME, person)]
    return x509.Name([x509.NameAttribute(oid, text) for oid, text in parts if text])


def _printable(name: str) -> str:
    visible = "".join(char if char.isprintable() else " " for char in name)
    return _cut(" ".join(visible.split()))


def _cut(name: str) -> str:
    return name.encode()[:LONGEST_NAME].decode(errors="ignore").strip()


def _self_signed(key: rsa.RSAPrivateKey, subject: x509.Name) -> x509.Certificate:
    """Key usage as ETSI EN 319 412-2, 4.3.2, wants it for signatures on documents."""
    now = datetime.now(UTC)
    usage = dict.fromkeys(
        (
            "key_encipherment",
            "data_encipherment",
            "key_agreement",
            "key_cert_sign",
            "crl_sign",
            "encipher_only",
            "decipher_only",
        ),
        False,
    )
    extended = [ExtendedKeyUsageOID.EMAIL_PROTECTION, DOCUMENT_SIGNING]
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - CLOCK_SLACK)
        .not_valid_after(now + VALID_FOR)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(
            x509.KeyUsage(digital_signature=True, content_commitment=True, **usage), critical=True
        )
        .add_extension(x509.ExtendedKeyUsage(extended), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )


def _write_whole(path: Path, content: bytes) -> None:
    """Write by a private temporary file and a rename, so that a crash leaves all or nothing.

    Like ``recorder.archive.atomic``, which a stage beside this one must not import.
    """
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
