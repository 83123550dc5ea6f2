"""Certificates as others may make them: who is trusted, who is a stranger, what is refused."""

import functools
from collections.abc import Sequence

import pytest
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import padding
from cryptography.x509.oid import ExtendedKeyUsageOID

from recorder.report.identity.certificates import Certificate
from recorder.report.identity.identity import Identity
from recorder.report.verifying.reasons import Doubt, Fault
from recorder.report.verifying.signers import Known
from tests.report.identity import certs
from tests.report.identity.certs import ISSUES, MIDDLE, ROOT, SIGNER, Made
from tests.report.verifying import reports
from tests.report.verifying.conftest import Judge

FIRM = ROOT.by(ROOT)
KNOWN = Known(signers=(Certificate.from_der(FIRM),))
OTHER_KEY = 1


def identity(leaf: Made, issuer: Made, chain: Sequence[bytes] = (FIRM,)) -> Identity:
    key = certs.KEYS[leaf.key]
    return Identity(
        certificate=Certificate.from_der(leaf.by(issuer)),
        chain=tuple(chain),
        sign=lambda data: key.sign(data, padding.PKCS1v15(), hashes.SHA256()),
        signature_bytes=key.key_size // 8,
    )


@functools.cache
def document() -> bytes:
    return reports.document()


def certified(key: Identity) -> bytes:
    return reports.signed(document(), key, certs.NOW)


def approved(by: Identity) -> bytes:
    return reports.witnessed(certified(identity(SIGNER, ROOT)), by, certs.NOW)


def test_a_firm_with_a_branch(judge: Judge) -> None:
    """Three levels; the root may come along or not."""
    root = ROOT.but(longest=1)
    known = Known(signers=(Certificate.from_der(root.by(root)),))
    branch = MIDDLE.by(root)
    for chain in ([branch, known.signers[0].der], [branch]):
        found = judge(certified(identity(SIGNER, MIDDLE, chain)), known)
        assert found.failed == ""
        assert found.known


def test_a_colleague_may_witness(judge: Judge) -> None:
    colleague = identity(SIGNER.but(name="Olaf Pell", key=OTHER_KEY), ROOT)
    found = judge(approved(colleague), KNOWN)
    assert found.failed == ""
    assert found.doubts == ()
    assert [each.signer.name for each in found.signatures if each.signer] == [
        "Imke Dorn",
        "Olaf Pell",
    ]


def test_a_renewed_certificate_may_witness(judge: Judge) -> None:
    assert judge(approved(identity(SIGNER, ROOT)), KNOWN).failed == ""


def test_the_signer_cannot_make_a_witness(judge: Judge) -> None:
    """A technician's certificate is none of an authority, whatever was signed with its key."""
    own = SIGNER.by(ROOT)
    made_up = identity(Made("Odile Marchetti", OTHER_KEY), SIGNER, [own, FIRM])
    found = judge(approved(made_up), KNOWN)
    assert [each.reason for each in found.faults] == [Fault.STRANGER]


def test_nor_a_signer_of_reports(judge: Judge) -> None:
    made_up = identity(Made("Odile Marchetti", OTHER_KEY), SIGNER, [SIGNER.by(ROOT), FIRM])
    found = judge(certified(made_up), KNOWN)
    assert not found.known
    assert [each.reason for each in found.doubts] == [Doubt.SIGNER_UNKNOWN]
    signer = found.signatures[0].signer
    assert signer
    assert "broken" in signer.why_not


@pytest.mark.parametrize(
    "leaf",
    [
        SIGNER.but(extended=(ExtendedKeyUsageOID.SERVER_AUTH,)),
        SIGNER.but(usage=("key_encipherment",)),
    ],
)
def test_a_certificate_for_something_else(judge: Judge, leaf: Made) -> None:
    found = judge(certified(identity(leaf, ROOT)), KNOWN)
    assert [each.reason for each in found.faults] == [Fault.UNFIT_CERTIFICATE]


def test_a_certificate_that_is_no_part_of_the_chain(judge: Judge) -> None:
    idle = Made("Somebody", OTHER_KEY).by(Made("Somebody", OTHER_KEY))
    found = judge(certified(identity(SIGNER, ROOT, [FIRM, idle])), KNOWN)
    assert [each.reason for each in found.faults] == [Fault.SIGNATURE_DAMAGED]


def test_somebody_put_himself_above_the_authority(judge: Judge) -> None:
    """Who knows the firm's authority is not told another one, whose witness stays a stranger.

    No key of the firm is needed: the container of a report leaves its certificates unsigned.
    """
    above = Made("Elsewhere", OTHER_KEY, ca=True, usage=ISSUES, extended=None)
    elsewhere = above.by(above)
    put_above = [ROOT.by(above), elsewhere]
    known = Known(signers=(*KNOWN.signers, Certificate.from_der(SIGNER.by(ROOT))))
    made_up = identity(Made("Olaf Pell", OTHER_KEY), above, [elsewhere])
    certifier = identity(SIGNER, ROOT, put_above)
    report = certified(certifier)
    for home in (KNOWN, known, Known(signers=(*KNOWN.signers, certifier.certificate))):
        signer = judge(report, home).signatures[0].signer
        assert signer
        assert signer.authority_fingerprint == KNOWN.signers[0].fingerprint
    found = judge(reports.witnessed(report, made_up, certs.NOW), KNOWN)
    assert [each.reason for each in found.faults] == [Fault.STRANGER]


def test_a_signer_known_alone_is_vouched_for_by_nobody_else(judge: Judge) -> None:
    certifier = identity(SIGNER, ROOT)
    found = judge(certified(certifier), Known(signers=(certifier.certificate,)))
    signer = found.signatures[0].signer
    assert signer
    assert signer.trusted
    assert signer.authority_fingerprint == certifier.fingerprint


def test_a_certificate_that_nobody_vouches_for(judge: Judge) -> None:
    """With the name and key of the authority, but an issuer whom nobody has seen."""
    odd = ROOT.by(Made("Elsewhere", OTHER_KEY))
    found = judge(certified(identity(SIGNER, ROOT, [odd])), KNOWN)
    assert [each.reason for each in found.faults] == [Fault.SIGNATURE_DAMAGED]
    assert "no part in the way" in found.failed
