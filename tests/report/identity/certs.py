"""Certificates as others may make them, good and bad; each test bends one thing."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import rsa
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

NOW = datetime(2026, 6, 1, 12, tzinfo=UTC)
KEYS = [rsa.generate_private_key(65537, 2048) for _ in range(3)]
SIGNS = ("digital_signature",)
ISSUES = ("key_cert_sign", "crl_sign")

_USAGES = (
    *("digital_signature", "content_commitment", "key_encipherment", "data_encipherment"),
    *("key_agreement", "key_cert_sign", "crl_sign", "encipher_only", "decipher_only"),
)


@dataclass(frozen=True)
class Made:
    """A certificate to make. key: which of ``KEYS``. ca, usage, extended: None leaves that out."""

    name: str
    key: int
    ca: bool | None = False
    longest: int | None = None
    usage: tuple[str, ...] | None = SIGNS
    extended: tuple[x509.ObjectIdentifier, ...] | None = (ExtendedKeyUsageOID.EMAIL_PROTECTION,)
    begins: datetime = NOW - timedelta(days=30)
    ends: datetime = NOW + timedelta(days=30)
    extra: bool = False

    def by(self, issuer: Made) -> bytes:
        """DER, signed by the issuer's key."""
        builder = (
            x509.CertificateBuilder()
            .subject_name(_name(self.name))
            .issuer_name(_name(issuer.name))
            .public_key(KEYS[self.key].public_key())
            .serial_number(x509.random_serial_number())
            .not_valid_before(self.begins)
            .not_valid_after(self.ends)
        )
        if self.ca is not None:
            basic = x509.BasicConstraints(self.ca, self.longest)
            builder = builder.add_extension(basic, critical=True)
        if self.usage is not None:
            permitted = x509.KeyUsage(**{each: each in self.usage for each in _USAGES})
            builder = builder.add_extension(permitted, critical=True)
        if self.extended is not None:
            builder = builder.add_extension(x509.ExtendedKeyUsage(self.extended), critical=False)
        if self.extra:
            odd = x509.UnrecognizedExtension(x509.ObjectIdentifier("2.5.29.99"), b"\5\0")
            builder = builder.add_extension(odd, critical=True)
        return builder.sign(KEYS[issuer.key], hashes.SHA256()).public_bytes(Encoding.DER)

    def but(self, **changes: object) -> Made:
        return replace(self, **changes)  # type: ignore[arg-type]


def _name(text: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, text)])


ROOT = Made("Firm", 0, ca=True, longest=0, usage=ISSUES, extended=None)
MIDDLE = Made("Branch", 1, ca=True, usage=ISSUES, extended=None)
SIGNER = Made("Imke Dorn", 2)
