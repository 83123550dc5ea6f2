"""Who made a signature and when, and whether this home has a reason to believe it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime

from recorder.report.identity import chains
from recorder.report.identity.certificates import Certificate
from recorder.report.identity.chains import Chain, Purpose
from recorder.report.verifying import stamp
from recorder.report.verifying.container import Signature
from recorder.report.verifying.facts import Signer, Time
from recorder.report.verifying.reasons import Doubt, Fault, Finding, plain

_IDLE = "a certificate in it has no part in the way to the one that this home knows"
_NO_TIME = datetime(1970, 1, 1, tzinfo=UTC)  # no certificate of ours was valid then


@dataclass(frozen=True)
class Known:
    """signers: authorities, and single signers, that this home knows. stampers: those that may
    stamp times; apart, so that a public one does not vouch for splicers.
    """

    signers: tuple[Certificate, ...] = ()
    stampers: tuple[Certificate, ...] = ()


@dataclass(frozen=True)
class Judged:
    """Of one signature: who, when, and what is wrong or in doubt about it.

    authority: the one that this home knows, else the one at the end of what came along.
    """

    signature: Signature
    authority: Certificate
    signer: Signer
    time: Time
    faults: tuple[Finding, ...]
    doubts: tuple[Finding, ...]


def judge(signature: Signature, claimed: datetime | None, known: Known) -> Judged:
    time, faults, doubts = _time(signature, claimed, known)
    at = time.best or _NO_TIME
    certificate = signature.certificate
    chain = chains.build(certificate.der, signature.chain, known.signers, at)
    if not _proven(signature.chain, chain, known.signers):
        faults.append(Finding.of(Fault.SIGNATURE_DAMAGED, _IDLE))
    authority = _known_authority(signature, known.signers, at)
    top = authority or (certificate if chain.trusted else _top(signature))
    signer = Signer(
        name=plain(certificate.common_name),
        organization=plain(certificate.organization),
        fingerprint=certificate.fingerprint,
        authority=plain(top.common_name),
        authority_fingerprint=top.fingerprint,
        trusted=chain.trusted,
        why_not=plain(chain.why),
        in_time=chain.in_time,
        fit=chain.fit,
        demo=certificate.demo or top.demo,
    )
    if not chain.in_time:
        span = f"{certificate.not_before:%Y-%m-%d} to {certificate.not_after:%Y-%m-%d}"
        when = f"{at:%Y-%m-%d}" if time.best else "at no time that can be read"
        faults.append(Finding.of(Fault.NOT_IN_TIME, f"valid from {span}, signed {when}"))
    if not chain.fit:
        faults.append(Finding.of(Fault.UNFIT_CERTIFICATE, certificate.common_name))
    if not chain.trusted and not faults:
        doubts.append(_unknown(signer, known))
    above = authority or _top(signature)
    return Judged(signature, above, signer, time, tuple(faults), tuple(doubts))


def is_stranger(witness: Judged, certifier: Judged) -> bool:
    """Whether the authority of the certifying technician, were it known, would not vouch for the
    witness of the customer's signature.
    """
    signature = witness.signature
    if signature.certificate.der == certifier.signature.certificate.der:
        return False
    at = witness.time.best or _NO_TIME
    own = (certifier.authority,)
    return not chains.build(signature.certificate.der, signature.chain, own, at).trusted


def _proven(embedded: tuple[bytes, ...], chain: Chain, known: tuple[Certificate, ...]) -> bool:
    """Whether somebody vouches for the last certificate of a chain that came along.

    ``container`` has seen to those below it, and to one that signed itself. One that did not can
    only be proven by what this home knows; when that leads past it, its bytes are anybody's.
    """
    if not embedded or not chain.trusted:
        return True
    top = Certificate.from_der(embedded[-1])
    used = {each.der for each in chain.path}
    above = chains.issuers(top.der, [each.der for each in known])
    return top.self_issued or top.der in used or bool(above)


def _known_authority(
    signature: Signature, known: tuple[Certificate, ...], at: datetime
) -> Certificate | None:
    """The authority of the signer by what this home knows, and not by what came along.

    Anybody can issue a certificate for the key of a firm's authority, put it in its place, and
    himself above it: the signatures of such a chain are good, each of the one below.
    """
    der = signature.certificate.der
    others = [each for each in known if each.der != der]
    chain = chains.build(der, signature.chain, others, at)
    if not chain.trusted:
        return None
    above = chains.issuers(chain.path[-1].der, [each.der for each in others])
    return Certificate.from_der(above[-1]) if above else chain.path[-1]


def _top(signature: Signature) -> Certificate:
    """The end of the chain that came along; the signer's own certificate without one."""
    return Certificate.from_der(signature.chain[-1]) if signature.chain else signature.certificate


def _unknown(signer: Signer, known: Known) -> Finding:
    namesake = any(
        each.common_name == signer.authority and each.fingerprint != signer.authority_fingerprint
        for each in known.signers
    )
    reason = Doubt.NAMESAKE if namesake else Doubt.SIGNER_UNKNOWN
    return Finding.of(reason, f"{signer.authority} {signer.authority_fingerprint[:16]}")


def _time(
    signature: Signature, claimed: datetime | None, known: Known
) -> tuple[Time, list[Finding], list[Finding]]:
    time = Time(claimed=claimed)
    if not signature.stamp:
        return time, [], []
    try:
        read = stamp.read(signature.stamp, signature.value)
    except ValueError as error:
        return time, [Finding.of(Fault.STAMP_BROKEN, str(error))], []
    chain = chains.build(
        read.certificate.der, read.chain, known.stampers, read.at, Purpose.TIME_STAMP
    )
    name = read.certificate.common_name
    time = replace(time, stamped=read.at, authority=plain(name), stamp_trusted=chain.trusted)
    if not chain.fit:
        return time, [Finding.of(Fault.STAMP_BROKEN, f"{name} may not stamp times")], []
    if not _proven(read.chain, chain, known.stampers):
        return time, [Finding.of(Fault.STAMP_BROKEN, _IDLE)], []
    return time, [], [] if chain.trusted else [Finding.of(Doubt.STAMP_UNKNOWN, name)]
