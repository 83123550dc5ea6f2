"""The firm's own authority: the key that vouches for the firm's technicians.

It lies in a PKCS#12 file of its own, so that an office can keep it on another machine than those
of its technicians.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import rsa

from recorder.errors import IdentityUnfit, OutputUnwritable
from recorder.report.identity import keyfile, profile
from recorder.report.identity.certificates import Certificate

FILE = "authority.p12"
MEND = "move it away, make a new one with 'seamnote identity create --authority-only', then renew"


@dataclass(frozen=True)
class Authority:
    """An opened authority. certificate: its public half, for customers."""

    certificate: Certificate
    _signed: x509.Certificate = field(repr=False)
    _key: rsa.RSAPrivateKey = field(repr=False)

    def issue(self, public_key: rsa.RSAPublicKey, common_name: str, email: str) -> Certificate:
        """Raises BadValue for a name or e-mail that cannot stand in a certificate."""
        signed = profile.technician(public_key, common_name, email, self._signed, self._key)
        return Certificate.from_der(signed.public_bytes(serialization.Encoding.DER))


def require_name(organization: str) -> None:
    """Raises BadValue for a firm's name that cannot stand in a certificate."""
    profile.firm_name(organization)


def create(path: Path, passphrase: str, organization: str, demo: bool = False) -> Authority:
    """Make an authority: the key to ``path``, the certificate in PEM beside it.

    Raises BadValue for an unusable name, OutputUnwritable when one is there already or the place
    cannot be written.
    """
    if path.exists():
        raise OutputUnwritable(path=path, detail="an authority is there already")
    key = profile.new_key()
    signed = profile.authority(key, organization, demo)
    made = _authority(key, signed)
    keyfile.write_whole(pem_path(path, made.certificate), made.certificate.pem)
    keyfile.write(path, passphrase, key, signed)
    return made


def load(path: Path, passphrase: str) -> Authority:
    """Open an authority. Raises what ``keyfile.read`` raises."""
    key, signed, _ = keyfile.read(path, passphrase)
    if signed is None:
        raise IdentityUnfit(path=path, detail="its certificate is missing", mend=MEND)
    made = _authority(key, signed)
    if not made.certificate.authority:
        raise IdentityUnfit(path=path, detail="it is no authority", mend=MEND)
    return made


def pem_path(key: Path, certificate: Certificate) -> Path:
    """Where the certificate of a key lies: named after its fingerprint, so that those of earlier
    keys stay known.
    """
    return key.with_name(f"{key.stem}-{certificate.fingerprint[:16]}.pem")


def _authority(key: rsa.RSAPrivateKey, signed: x509.Certificate) -> Authority:
    der = signed.public_bytes(serialization.Encoding.DER)
    return Authority(certificate=Certificate.from_der(der), _signed=signed, _key=key)
