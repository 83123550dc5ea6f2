"""Trust in a certificate: by a known authority alone, and every rule kept."""

from datetime import timedelta

import pytest
from cryptography.x509.oid import ExtendedKeyUsageOID

from recorder.report.identity import chains
from recorder.report.identity.certificates import Certificate
from recorder.report.identity.chains import Chain, Purpose
from tests.report.identity.certs import ISSUES, MIDDLE, NOW, ROOT, SIGNER, Made


def judge(
    leaf: bytes, *known: bytes, embedded: tuple[bytes, ...] = (), days: int = 0,
    purpose: Purpose = Purpose.DOCUMENT,
) -> Chain:  # fmt: skip
    certificates = [Certificate.from_der(each) for each in known]
    return chains.build(leaf, embedded, certificates, NOW + timedelta(days=days), purpose)


def names(chain: Chain) -> list[str]:
    return [each.common_name for each in chain.path]


def test_a_known_authority_vouches_for_whom_it_issued_to() -> None:
    chain = judge(SIGNER.by(ROOT), ROOT.by(ROOT))
    assert chain.trusted
    assert chain.in_time
    assert chain.fit
    assert chain.why == ""
    assert names(chain) == ["Imke Dorn", "Firm"]


def test_what_comes_along_fills_the_gap() -> None:
    root = ROOT.but(longest=1)
    chain = judge(SIGNER.by(MIDDLE), root.by(root), embedded=(b"no certificate", MIDDLE.by(root)))
    assert chain.trusted
    assert names(chain) == ["Imke Dorn", "Branch", "Firm"]


def test_what_comes_along_is_not_trusted() -> None:
    chain = judge(SIGNER.by(ROOT), embedded=(ROOT.by(ROOT),))
    assert not chain.trusted
    assert chain.in_time
    assert chain.fit
    assert chain.why == "nobody whom this home knows vouches for it"
    assert names(chain) == ["Imke Dorn"]


def test_another_authority_of_the_same_name_does_not_vouch() -> None:
    other = ROOT.but(key=1)
    chain = judge(SIGNER.by(ROOT), other.by(other), embedded=(ROOT.by(ROOT),))
    assert not chain.trusted
    assert chain.why == "nobody whom this home knows vouches for it"


def test_of_two_of_the_same_name_the_right_one_vouches() -> None:
    other = ROOT.but(key=1)
    assert judge(SIGNER.by(ROOT), other.by(other), ROOT.by(ROOT)).trusted


@pytest.mark.parametrize("days", [-31, 31])
def test_outside_of_its_time(days: int) -> None:
    chain = judge(SIGNER.by(ROOT), ROOT.by(ROOT), days=days)
    assert not chain.trusted
    assert not chain.in_time
    assert chain.why == "its certificate is valid from 2026-05-02 to 2026-07-01 only"


def test_an_authority_whose_time_was_over() -> None:
    root = ROOT.but(ends=NOW - timedelta(days=1))
    chain = judge(SIGNER.by(root), root.by(root))
    assert not chain.trusted
    assert chain.in_time
    assert chain.why == (
        "the way from its certificate to Firm is broken (cert is not valid at validation time)"
    )


@pytest.mark.parametrize("pinned", [True, False])
def test_a_signer_is_no_authority(pinned: bool) -> None:
    """A technician's key must not issue certificates in other names."""
    technician = SIGNER.but(key=1)
    forged = Made("Somebody else", 2).by(technician)
    leaf = technician.by(ROOT)
    known = (ROOT.by(ROOT), leaf) if pinned else (ROOT.by(ROOT),)
    chain = judge(forged, *known, embedded=(leaf,))
    assert not chain.trusted
    assert "basicConstraints.cA must be asserted" in chain.why


def test_an_authority_below_one_that_permits_none() -> None:
    chain = judge(SIGNER.by(MIDDLE), ROOT.by(ROOT), embedded=(MIDDLE.by(ROOT),))
    assert not chain.trusted
    assert "path length constraint violated" in chain.why


@pytest.mark.parametrize(
    ("root", "why"),
    [
        (ROOT.but(usage=("crl_sign",)), "may not issue certificates"),
        (ROOT.but(ca=False, longest=None), "basicConstraints.cA must be asserted"),
        (ROOT.but(ca=None), "CA certificate has no basicConstraints"),
        (ROOT.but(extra=True), "unaccounted-for critical extensions"),
    ],
    ids=["usage", "no authority", "says nothing", "unknown critical extension"],
)
def test_what_an_authority_must_say(root: Made, why: str) -> None:
    chain = judge(SIGNER.by(root), root.by(root))
    assert not chain.trusted
    assert why in chain.why


def test_an_unknown_critical_extension_of_the_signer() -> None:
    assert not judge(SIGNER.but(extra=True).by(ROOT), ROOT.by(ROOT)).trusted


@pytest.mark.parametrize(
    ("leaf", "fit"),
    [
        (SIGNER.but(usage=("content_commitment",)), True),
        (SIGNER.but(usage=None, extended=None), True),
        (SIGNER.but(usage=("key_encipherment",)), False),
        (SIGNER.but(usage=ISSUES), False),
        (SIGNER.but(extended=(ExtendedKeyUsageOID.SERVER_AUTH,)), False),
        (SIGNER.but(extended=(ExtendedKeyUsageOID.TIME_STAMPING,)), False),
    ],
)
def test_usage_must_permit_documents(leaf: Made, fit: bool) -> None:
    chain = judge(leaf.by(ROOT), ROOT.by(ROOT))
    assert chain.fit is chain.trusted is fit
    assert chain.why == ("" if fit else "its certificate does not permit to sign a document")


@pytest.mark.parametrize(
    ("extended", "fit"),
    [
        ((ExtendedKeyUsageOID.TIME_STAMPING,), True),
        ((ExtendedKeyUsageOID.EMAIL_PROTECTION,), False),
        (None, False),
    ],
)
def test_time_stamps_need_their_own_usage(extended: tuple[object, ...] | None, fit: bool) -> None:
    leaf = SIGNER.but(extended=extended).by(ROOT)
    assert judge(leaf, ROOT.by(ROOT), purpose=Purpose.TIME_STAMP).trusted is fit


def test_a_known_signer_vouches_for_itself_alone() -> None:
    """As the keys of an earlier version, which no authority issued."""
    own = SIGNER.by(SIGNER)
    chain = judge(own, own)
    assert chain.trusted
    assert names(chain) == ["Imke Dorn"]
    assert not judge(SIGNER.by(SIGNER), own).trusted


def test_demo_is_told_wherever_it_stands() -> None:
    root = ROOT.but(name="DEMO Firm")
    assert judge(SIGNER.by(root), root.by(root)).demo
    assert not judge(SIGNER.by(ROOT), ROOT.by(ROOT)).demo


def test_issuers_in_order() -> None:
    leaf, middle, root = SIGNER.by(MIDDLE), MIDDLE.by(ROOT), ROOT.by(ROOT)
    stranger = ROOT.but(key=1).by(ROOT)
    assert chains.issuers(leaf, (root, stranger, b"\0", leaf, middle)) == (middle, root)
    assert chains.issuers(leaf, (root,)) == ()
    assert chains.issuers(root, (root, middle)) == ()


def test_a_certificate_that_says_something_twice_is_none() -> None:
    """cryptography reads such a one, and fails only where its extensions are looked at."""
    unknown, key_usage = bytes.fromhex("0603551d63"), bytes.fromhex("0603551d0f")
    der = SIGNER.but(extra=True).by(ROOT)
    assert der.count(unknown) == der.count(key_usage) == 1
    twice = der.replace(unknown, key_usage)
    with pytest.raises(ValueError, match="Duplicate"):
        Certificate.from_der(twice)
    chain = judge(SIGNER.by(MIDDLE), ROOT.by(ROOT), embedded=(twice,))
    assert not chain.trusted
