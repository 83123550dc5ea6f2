"""A stamp by an authority: told apart from the device's clock, and held to its signature."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from recorder.report.identity.certificates import Certificate, parse
from recorder.report.signing.stamp import stamped
from recorder.report.verifying import ranges, signers, stamp
from recorder.report.verifying.reasons import Doubt, Fault
from recorder.report.verifying.signers import Known
from tests.report.signing import authority
from tests.report.verifying import reports
from tests.report.verifying.conftest import Judge

SAMPLES = 150


@pytest.fixture(scope="module")
def tick(tmp_path_factory: pytest.TempPathFactory) -> tuple[Certificate, Callable[[bytes], bytes]]:
    """The root of a time-stamp authority, and how it stamps the value of a signature."""
    folder = tmp_path_factory.mktemp("tick")
    (root,) = parse(Path(authority.make(folder)).read_bytes())

    def stamping(value: bytes) -> bytes:
        with authority.serving(authority.answering(folder)) as url:
            return stamped(url, value)

    return root, stamping


@pytest.fixture(scope="module")
def report(tick: tuple[Certificate, Callable[[bytes], bytes]]) -> bytes:
    claimed = reports.NOW - timedelta(hours=3)  # a clock that runs slow
    return reports.signed(reports.document(), reports.firm(), claimed, tick[1])


@pytest.fixture
def known(tick: tuple[Certificate, object]) -> Known:
    return Known(signers=reports.known().signers, stampers=(tick[0],))


def test_a_stamp_by_a_known_authority(judge: Judge, report: bytes, known: Known) -> None:
    found = judge(report, known)
    assert found.failed == ""
    assert found.doubts == ()
    time = found.signatures[0].time
    assert time.claimed == reports.NOW - timedelta(hours=3)
    assert time.stamped
    assert abs(time.stamped - datetime.now().astimezone()) < timedelta(minutes=20)
    assert time.authority == "Tick time stamping"
    assert time.stamp_trusted
    assert time.best == time.stamped


def test_a_stamp_by_an_unknown_authority(judge: Judge, report: bytes) -> None:
    found = judge(report)
    assert found.failed == ""
    assert [each.reason for each in found.doubts] == [Doubt.STAMP_UNKNOWN]
    time = found.signatures[0].time
    assert not time.stamp_trusted
    assert time.best == time.claimed


def test_an_authority_for_signers_does_not_vouch_for_stamps(
    judge: Judge, report: bytes, known: Known
) -> None:
    everybody = Known(signers=(*known.signers, *known.stampers))
    assert [each.reason for each in judge(report, everybody).doubts] == [Doubt.STAMP_UNKNOWN]


def test_an_approved_report_with_stamps(
    judge: Judge, report: bytes, known: Known, tick: tuple[Certificate, Callable[[bytes], bytes]]
) -> None:
    found = judge(reports.witnessed(report, reports.firm(), None, tick[1]), known)
    assert found.failed == ""
    assert found.doubts == ()
    assert all(each.time.stamped for each in found.signatures)


def test_a_stamp_for_another_signature(
    judge: Judge, known: Known, tick: tuple[Certificate, Callable[[bytes], bytes]]
) -> None:
    other = tick[1](b"the value of another signature")
    found = judge(
        reports.signed(reports.document(), reports.firm(), stamp=lambda value: other), known
    )
    assert [each.reason for each in found.faults] == [Fault.STAMP_BROKEN]
    assert "made for another signature" in found.failed
    assert found.signatures[0].time.stamped is None


def test_a_certificate_that_may_not_stamp(
    judge: Judge, known: Known, tick: tuple[Certificate, Callable[[bytes], bytes]]
) -> None:
    """The signer's own key cannot stamp its own time."""
    found = judge(reports.signed(reports.document(), reports.firm(), stamp=_own_stamp), known)
    assert [each.reason for each in found.faults] == [Fault.STAMP_BROKEN]
    assert "may not stamp times" in found.failed


def _own_stamp(value: bytes) -> bytes:
    """A token in good form, but by a signer of documents."""
    import asyncio
    import hashlib

    from asn1crypto import algos, keys, tsp, x509
    from pyhanko.sign.timestamps import DummyTimeStamper

    signer = reports.firm()
    stamper = DummyTimeStamper(
        x509.Certificate.load(signer.certificate.der),
        keys.PrivateKeyInfo.load(reports.firm_key()),
        certs_to_embed=[x509.Certificate.load(signer.chain[0])],
    )
    request = tsp.TimeStampReq(
        {
            "version": "v1",
            "message_imprint": tsp.MessageImprint(
                {
                    "hash_algorithm": algos.DigestAlgorithm({"algorithm": "sha256"}),
                    "hashed_message": hashlib.sha256(value).digest(),
                }
            ),
            "nonce": 1,
            "cert_req": True,
        }
    )
    answer = asyncio.run(stamper.async_request_tsa_response(request))
    return bytes(answer["time_stamp_token"].dump())


def test_flips_in_a_token(report: bytes, known: Known) -> None:
    """Every byte is vouched for, those of the certificates that come along too."""
    (covered,) = ranges.look(report)
    signature = covered.signature
    assert signature
    assert signers.judge(signature, covered.claimed, known).faults == ()
    accepted = []
    for position in range(0, len(signature.stamp), len(signature.stamp) // SAMPLES):
        changed = bytearray(signature.stamp)
        changed[position] ^= 1 << position % 8
        flipped = replace(signature, stamp=bytes(changed))
        if not signers.judge(flipped, covered.claimed, known).faults:
            accepted.append(position)
    assert accepted == []


@pytest.mark.parametrize("junk", [b"", b"\x30\x00", b"no token at all", bytes(500)])
def test_what_is_no_token(junk: bytes) -> None:
    with pytest.raises(ValueError, match="cannot be read"):
        stamp.read(junk, b"value")
