"""Whether a certificate leads to one that this home knows: RFC 5280, section 6, by cryptography.

Trust comes from the known certificates alone; those which came along with a signature only fill
the gap between. A known authority vouches for all whom it issued to; a known certificate of a
signer vouches for that signer.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import Enum

from cryptography import x509
from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509 import verification
from cryptography.x509.oid import ExtendedKeyUsageOID

from recorder.report.identity.certificates import Certificate, extension, load
from recorder.report.identity.profile import DOCUMENT_SIGNING

_LONGEST = 8  # certificates between a signer and a known authority
_AGNOSTIC = verification.Criticality.AGNOSTIC
_NOBODY = "nobody whom this home knows vouches for it"


class Purpose(Enum):
    """What a certificate was used for."""

    DOCUMENT = "document"
    TIME_STAMP = "time stamp"


# A signer's certificate that restricts its usages must permit one of these. The ones of the first
# row are those of ETSI TS 119 412-2 and of common practice for signatures on documents.
_EXTENDED = {
    Purpose.DOCUMENT: {
        ExtendedKeyUsageOID.EMAIL_PROTECTION,
        DOCUMENT_SIGNING,
        ExtendedKeyUsageOID.ANY_EXTENDED_KEY_USAGE,
    },
    Purpose.TIME_STAMP: {ExtendedKeyUsageOID.TIME_STAMPING},
}


@dataclass(frozen=True)
class Chain:
    """What is known about the certificate of a signer at a time, each fact by itself.

    path: from the signer's certificate to the known one; the signer's alone when none is found.
    trusted: the path keeps every rule: names, signatures, CA flags, path length, usage, times.
    in_time: the signer's certificate was valid at that time.
    fit: its usages permit what it was used for.
    why: in words, why it is not trusted; empty when it is.
    """

    path: tuple[Certificate, ...]
    trusted: bool
    in_time: bool
    fit: bool
    why: str

    @property
    def demo(self) -> bool:
        return any(certificate.demo for certificate in self.path)


def build(
    leaf: bytes,
    embedded: Iterable[bytes],
    known: Iterable[Certificate],
    at: datetime,
    purpose: Purpose = Purpose.DOCUMENT,
) -> Chain:
    """Judge the certificate ``leaf`` (DER) at a time with zone.

    embedded: DER of what came along with the signature; what is no certificate is passed over.
    Raises ValueError when ``leaf`` is no certificate.
    """
    certificate = Certificate.from_der(leaf)
    signer = load(leaf)
    at = at.astimezone(UTC)
    in_time = certificate.not_before <= at <= certificate.not_after
    fit = _permits(signer, purpose)
    between = [each for each in map(_loaded, embedded) if each is not None]
    anchors = [load(each.der) for each in known]
    path, fault = _path(signer, between, anchors, at)
    why = ""
    if not in_time:
        span = f"{certificate.not_before:%Y-%m-%d} to {certificate.not_after:%Y-%m-%d}"
        why = f"its certificate is valid from {span} only"
    elif not fit:
        why = f"its certificate does not permit to sign a {purpose.value}"
    elif not path:
        why = fault
    return Chain(path=path or (certificate,), trusted=not why, in_time=in_time, fit=fit, why=why)


def issuers(leaf: bytes, others: Iterable[bytes]) -> tuple[bytes, ...]:
    """Of ``others`` those which issued ``leaf`` and one another (DER), the nearest first."""
    pool = [each for each in map(_loaded, others) if each is not None]
    above = _above(load(leaf), pool)
    return tuple(each.public_bytes(Encoding.DER) for each in above)


def permits(leaf: bytes, purpose: Purpose = Purpose.DOCUMENT) -> bool:
    """Whether the usages of a certificate (DER) permit to use it so."""
    return _permits(load(leaf), purpose)


def _path(
    signer: x509.Certificate,
    between: list[x509.Certificate],
    anchors: list[x509.Certificate],
    at: datetime,
) -> tuple[tuple[Certificate, ...], str]:
    """The path from the signer to a known certificate, or why there is none."""
    if not anchors:
        return (), _NOBODY
    policy = (
        verification.PolicyBuilder()
        .store(verification.Store(anchors))
        .time(at)
        .max_chain_depth(_LONGEST)
        .extension_policies(ca_policy=_AUTHORITIES, ee_policy=_SIGNERS)
    )
    try:
        verified = policy.build_client_verifier().verify(signer, between)
    except verification.VerificationError as error:
        above = _above(signer, [*between, *anchors])
        known = next((each for each in (signer, *above) if each in anchors), None)
        if known is None:
            return (), _NOBODY
        name = Certificate.from_der(known.public_bytes(Encoding.DER)).common_name
        return (), f"the way from its certificate to {name} is broken ({_reason(error)})"
    return tuple(Certificate.from_der(e.public_bytes(Encoding.DER)) for e in verified.chain), ""


def _above(below: x509.Certificate, pool: list[x509.Certificate]) -> list[x509.Certificate]:
    found: list[x509.Certificate] = []
    while below.issuer != below.subject and len(found) < _LONGEST:
        above = next((each for each in pool if each not in found and _issued(each, below)), None)
        if above is None:
            break
        found.append(above)
        below = above
    return found


def _issued(above: x509.Certificate, below: x509.Certificate) -> bool:
    try:
        below.verify_directly_issued_by(above)
    except (ValueError, TypeError, InvalidSignature, UnsupportedAlgorithm):
        return False
    return True


def _permits(certificate: x509.Certificate, purpose: Purpose) -> bool:
    """No statement on usage permits all, but for time stamps (RFC 3161, 2.3)."""
    usage = extension(certificate, x509.KeyUsage)
    if usage is not None and not (usage.digital_signature or usage.content_commitment):
        return False
    extended = extension(certificate, x509.ExtendedKeyUsage)
    if extended is None:
        return purpose is Purpose.DOCUMENT
    return not _EXTENDED[purpose].isdisjoint(extended)


def _loaded(der: bytes) -> x509.Certificate | None:
    try:
        return load(der)
    except ValueError:
        return None


def _reason(error: Exception) -> str:
    """The last words of cryptography, which stand after those of what it was doing."""
    return str(error).split(" (encountered")[0].rsplit(": ", 1)[-1]


def _may_sign_certificates(
    policy: verification.Policy, certificate: x509.Certificate, usage: x509.KeyUsage | None
) -> None:
    if usage is not None and not usage.key_cert_sign:
        raise ValueError("an authority on it may not issue certificates")


# The library itself sees to CA flags, path lengths, names, signatures, times and key sizes.
_AUTHORITIES = (
    verification.ExtensionPolicy.permit_all()
    .require_present(x509.BasicConstraints, _AGNOSTIC, None)
    .may_be_present(x509.KeyUsage, _AGNOSTIC, _may_sign_certificates)
)
_SIGNERS = verification.ExtensionPolicy.permit_all()
