"""Who signs: an opened key with its certificate and the chain above it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import padding, rsa

from recorder.errors import IdentityUnfit, OutputUnwritable
from recorder.report.identity import authority, chains, keyfile, profile
from recorder.report.identity.authority import Authority, pem_path
from recorder.report.identity.certificates import Certificate, known_certificates, unreadable
from recorder.report.identity.keyfile import opens

__all__ = [
    "Certificate",
    "Identity",
    "create",
    "issue",
    "known_certificates",
    "load",
    "opens",
    "require_fit",
    "require_names",
    "unreadable",
]


@dataclass(frozen=True)
class Identity:
    """An opened signing key.

    certificate: the public half. chain: DER of its issuers, the nearest first, the root last.
    sign: RSA signature (PKCS#1 v1.5, SHA-256) of the bytes that it is given; it raises
    IdentityUnusable when the key has gone (a token that was pulled out).
    signature_bytes: how long that is.
    """

    certificate: Certificate
    chain: tuple[bytes, ...]
    sign: Callable[[bytes], bytes] = field(repr=False, compare=False)
    signature_bytes: int

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
    path: Path,
    passphrase: str,
    common_name: str,
    organization: str,
    demo: bool = False,
    email: str = "",
) -> Identity:
    """Make a signing key at ``path``, by the authority that lies beside it; made when there is
    none, under the same passphrase.

    demo: the names of a new authority, and of all whom it issues to, then say DEMO.
    Raises BadValue for an unusable name, OutputUnwritable when a key is there already or the place
    cannot be written, and what opening the authority raises.
    """
    require_names(common_name, email)
    _require_free(path)
    place = path.with_name(authority.FILE)
    if place.exists():
        above = authority.load(place, passphrase)
    else:
        above = authority.create(place, passphrase, organization or common_name, demo)
    return issue(path, passphrase, above, common_name, email)


def issue(
    path: Path, passphrase: str, above: Authority, common_name: str, email: str = ""
) -> Identity:
    """A new key at ``path`` (mode 0600), its certificate by an authority in PEM beside it.

    A key that is there already is kept beside it, under the digest of its file.
    Raises BadValue and OutputUnwritable.
    """
    key = profile.new_key()
    certificate = above.issue(key.public_key(), common_name, email)
    return keep(path, passphrase, key, certificate, (above.certificate.der,))


def keep(
    path: Path,
    passphrase: str,
    key: rsa.RSAPrivateKey,
    certificate: Certificate,
    chain: tuple[bytes, ...],
) -> Identity:
    """Write a key and its certificates where the signing key lies. Raises OutputUnwritable."""
    made = _identity(key, certificate, chain)
    keyfile.write_whole(pem_path(path, certificate), certificate.pem)
    if path.exists():
        keyfile.set_aside(path)
    issued = x509.load_der_x509_certificate(certificate.der)
    keyfile.write(
        path, passphrase, key, issued, [x509.load_der_x509_certificate(each) for each in chain]
    )
    return made


def load(path: Path, passphrase: str, known: tuple[Certificate, ...] = ()) -> Identity:
    """Open a key, made here or by others.

    known: fill the chain where the file does not hold it.
    Raises FileMissing, PassphraseWrong, IdentityUnusable for a damaged file, and IdentityUnfit for
    one without a certificate, or with another kind of key.
    """
    key, signed, others = keyfile.read(path, passphrase)
    if signed is None:
        raise IdentityUnfit(
            path=path,
            detail="it holds no certificate of its key",
            mend="export it again with its certificate and chain",
        )
    certificate = Certificate.from_der(signed.public_bytes(serialization.Encoding.DER))
    pool = [each.public_bytes(serialization.Encoding.DER) for each in others]
    pool += [each.der for each in known]
    return _identity(key, certificate, chains.issuers(certificate.der, pool))


def require_names(common_name: str, email: str) -> None:
    """Raises BadValue for those that cannot stand in a certificate."""
    profile.signer_name(common_name)
    if email:
        profile.checked_email(email)


def require_fit(identity: Identity, path: Path, at: datetime, mend: str) -> None:
    """Raises IdentityUnfit for a certificate that readers of its signatures could not trust.

    mend: what to do about one whose time is over.
    """
    certificate = identity.certificate
    if certificate.self_issued:
        detail, mend = "it vouches for itself", "have an authority issue its certificate"
    elif not identity.chain:
        detail = (
            f"the certificate of its issuer {certificate.issuer or 'without a name'} is missing"
        )
        mend = (
            "export it again with its chain, or make that authority known with "
            "'seamnote identity trust FILE'"
        )
    elif certificate.authority or not chains.permits(certificate.der):
        detail = "its certificate does not permit to sign documents"
        mend = "have one issued with the key usage digitalSignature or contentCommitment"
    elif not certificate.not_before <= at <= certificate.not_after:
        span = f"{certificate.not_before:%Y-%m-%d} to {certificate.not_after:%Y-%m-%d}"
        detail = f"it is valid from {span}, and the clock says {at:%Y-%m-%d}"
    else:
        return
    raise IdentityUnfit(path=path, detail=detail, mend=mend)


def _require_free(path: Path) -> None:
    if path.exists():
        raise OutputUnwritable(path=path, detail="a signing key is there already")


def _identity(
    key: rsa.RSAPrivateKey, certificate: Certificate, chain: tuple[bytes, ...]
) -> Identity:
    return Identity(
        certificate=certificate,
        chain=chain,
        sign=lambda data: key.sign(data, padding.PKCS1v15(), hashes.SHA256()),
        signature_bytes=key.key_size // 8,
    )
