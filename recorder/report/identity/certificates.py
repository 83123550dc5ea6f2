"""Certificates of signers: reading them, and which of them this home knows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.x509.oid import NameOID

DEMO_MARK = "DEMO"  # first word of the common name of a key that signs nothing real


@dataclass(frozen=True)
class Certificate:
    """The public half of a signer.

    der: as in the signature. common_name, organization: of the subject. fingerprint: SHA-256 of
    ``der`` in hex. not_before, not_after: when it may sign, in UTC.
    """

    der: bytes
    common_name: str
    organization: str
    fingerprint: str
    not_before: datetime
    not_after: datetime

    @property
    def demo(self) -> bool:
        return self.common_name.split(" ")[0] == DEMO_MARK

    @property
    def pem(self) -> bytes:
        certificate = x509.load_der_x509_certificate(self.der)
        return certificate.public_bytes(serialization.Encoding.PEM)

    @classmethod
    def from_der(cls, der: bytes) -> Certificate:
        """Raises ValueError when the bytes are no certificate."""
        return _certificate(x509.load_der_x509_certificate(der))


def known_certificates(folder: Path) -> tuple[Certificate, ...]:
    """All certificates in the ``*.pem`` and ``*.crt`` files of a folder, by file name.

    A folder that does not exist knows nobody. A file without one is passed over, so that it does
    not keep the others from being known; ``unreadable`` names it.
    """
    return tuple(each for path in _files(folder) for each in _read(path))


def unreadable(folder: Path) -> tuple[Path, ...]:
    """Those files of ``known_certificates`` in which no certificate can be read."""
    return tuple(path for path in _files(folder) if not _read(path))


def _files(folder: Path) -> list[Path]:
    return sorted((*folder.glob("*.pem"), *folder.glob("*.crt")))


def _read(path: Path) -> list[Certificate]:
    try:
        return [_certificate(each) for each in x509.load_pem_x509_certificates(path.read_bytes())]
    except (OSError, ValueError):
        return []


def _certificate(certificate: x509.Certificate) -> Certificate:
    return Certificate(
        der=certificate.public_bytes(serialization.Encoding.DER),
        common_name=_name(certificate, NameOID.COMMON_NAME),
        organization=_name(certificate, NameOID.ORGANIZATION_NAME),
        fingerprint=certificate.fingerprint(hashes.SHA256()).hex(),
        not_before=certificate.not_valid_before_utc,
        not_after=certificate.not_valid_after_utc,
    )


def _name(certificate: x509.Certificate, oid: x509.ObjectIdentifier) -> str:
    return ", ".join(str(a.value) for a in certificate.subject.get_attributes_for_oid(oid))
