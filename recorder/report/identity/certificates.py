"""Certificates of signers and authorities: reading them, and which of them this home knows."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TypeVar

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.x509.oid import NameOID

DEMO_MARK = "DEMO"  # first word of the common name of a key that signs nothing real
_DER = serialization.Encoding.DER

TIME_FOLDER = "time"  # beside the certificates of signers: authorities that may stamp times alone

Extension = TypeVar("Extension", bound=x509.ExtensionType)


@dataclass(frozen=True)
class Certificate:
    """The public half of a key.

    der: as in the signature. common_name, organization: of the subject. email: the first of the
    subject's alternative names, empty if none. issuer: common name of who issued it.
    fingerprint: SHA-256 of ``der`` in hex. not_before, not_after: when it may sign, in UTC.
    authority: it may issue others (CA). self_issued: its issuer is its subject.
    """

    der: bytes
    common_name: str
    organization: str
    email: str
    issuer: str
    fingerprint: str
    not_before: datetime
    not_after: datetime
    authority: bool
    self_issued: bool

    @property
    def demo(self) -> bool:
        return self.common_name.split(" ")[0] == DEMO_MARK

    @property
    def pem(self) -> bytes:
        return load(self.der).public_bytes(serialization.Encoding.PEM)

    @classmethod
    def from_der(cls, der: bytes) -> Certificate:
        """Raises ValueError when the bytes are no certificate."""
        return _certificate(load(der))


def load(der: bytes) -> x509.Certificate:
    """Raises ValueError for what is no certificate, or one that cannot be read in every part."""
    try:
        certificate = x509.load_der_x509_certificate(der)
        _ = (certificate.extensions, certificate.subject, certificate.issuer)
    except (x509.DuplicateExtension, x509.UnsupportedGeneralNameType) as error:
        raise ValueError(str(error)) from error
    return certificate


def extension(certificate: x509.Certificate, kind: type[Extension]) -> Extension | None:
    """An extension of a certificate that ``load`` gave; None when it has none of that kind."""
    try:
        return certificate.extensions.get_extension_for_class(kind).value
    except x509.ExtensionNotFound:
        return None


def known_certificates(folder: Path) -> tuple[Certificate, ...]:
    """All certificates in the ``*.pem`` and ``*.crt`` files of a folder, by file name.

    A folder that does not exist knows nobody. A file without one is passed over, so that it does
    not keep the others from being known; ``unreadable`` names it.
    """
    return tuple(each for path in _files(folder) for each in read(path))


def unreadable(folder: Path) -> tuple[Path, ...]:
    """Those files of ``known_certificates`` in which no certificate can be read."""
    return tuple(path for path in _files(folder) if not read(path))


def parse(content: bytes) -> tuple[Certificate, ...]:
    """The certificates in a file, PEM (one or several) or DER. Raises ValueError if none."""
    if b"-----BEGIN" in content:
        found = x509.load_pem_x509_certificates(content)
        return tuple(Certificate.from_der(each.public_bytes(_DER)) for each in found)
    return (Certificate.from_der(content),)


def pem_of(certificates: Iterable[Certificate]) -> bytes:
    return b"".join(certificate.pem for certificate in certificates)


def _files(folder: Path) -> list[Path]:
    return sorted((*folder.glob("*.pem"), *folder.glob("*.crt")))


def read(path: Path) -> tuple[Certificate, ...]:
    """The certificates in a file; none when there is none or it cannot be read."""
    try:
        return parse(path.read_bytes())
    except (OSError, ValueError):
        return ()


def _certificate(certificate: x509.Certificate) -> Certificate:
    return Certificate(
        der=certificate.public_bytes(_DER),
        common_name=_text(certificate.subject, NameOID.COMMON_NAME),
        organization=_text(certificate.subject, NameOID.ORGANIZATION_NAME),
        email=_email(certificate),
        issuer=_text(certificate.issuer, NameOID.COMMON_NAME),
        fingerprint=certificate.fingerprint(hashes.SHA256()).hex(),
        not_before=certificate.not_valid_before_utc,
        not_after=certificate.not_valid_after_utc,
        authority=_authority(certificate),
        self_issued=certificate.issuer == certificate.subject,
    )


def _text(name: x509.Name, oid: x509.ObjectIdentifier) -> str:
    return ", ".join(str(a.value) for a in name.get_attributes_for_oid(oid))


def _email(certificate: x509.Certificate) -> str:
    names = extension(certificate, x509.SubjectAlternativeName)
    return next(iter(names.get_values_for_type(x509.RFC822Name)), "") if names else ""


def _authority(certificate: x509.Certificate) -> bool:
    basic = extension(certificate, x509.BasicConstraints)
    return basic is not None and basic.ca
