"""The facts of good reports, of old ones, and of files that are no reports.

The attacks stand in ``tests/external/test_attacks.py``.
"""

import os
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from recorder.errors import FileEmpty, FileMissing, InputRefused, NotAReport
from recorder.report.identity.certificates import parse
from recorder.report.page import weasy
from recorder.report.verifying.facts import Expected, Role
from recorder.report.verifying.reasons import Doubt, Fault
from recorder.report.verifying.signers import Known
from recorder.report.verifying.verify import verify, with_expected
from tests.report.verifying import reports
from tests.report.verifying.conftest import Judge

OLD = Path(__file__).with_name("self_signed.pdf")


def test_a_certified_report(judge: Judge) -> None:
    found = judge(reports.certified())
    assert found.failed == ""
    assert found.doubts == ()
    assert found.covers_whole_file
    assert found.known
    assert found.signer == "Imke Dorn"
    assert not found.customer_signed
    assert found.metadata_consistent
    (signature,) = found.signatures
    assert signature.role is Role.TECHNICIAN
    assert signature.intact
    assert signature.valid
    assert signature.changes_since == ""
    signer = signature.signer
    assert signer
    assert signer.organization == "Quillback Belt Service"
    assert signer.fingerprint == reports.firm().fingerprint
    assert signer.authority == f"Quillback Belt Service authority {reports.NOW.year}"
    assert signer.trusted
    assert signer.in_time
    assert signer.fit
    assert not signer.demo
    assert signature.time.claimed == reports.NOW
    assert signature.time.stamped is None


def test_an_approved_report(judge: Judge) -> None:
    found = judge(reports.approved())
    assert found.failed == ""
    assert found.doubts == ()
    assert found.customer_signed
    first, second = found.signatures
    assert (first.role, second.role) == (Role.TECHNICIAN, Role.CUSTOMER)
    assert first.changes_since == "the customer's signature was filled in"
    assert second.changes_since == ""
    assert second.signer == first.signer
    assert second.time.claimed == reports.NOW + timedelta(minutes=5)


def test_the_evidence_of_a_good_report(judge: Judge) -> None:
    found = judge(reports.certified())
    assert found.evidence.page_digest == found.evidence.digest != ""
    assert found.evidence.page_matches
    assert found.evidence.job_matches
    assert found.evidence.job == "4817"
    assert found.manifest
    assert found.manifest.job_id == reports.JOB_ID


def test_an_unknown_signer_is_told_apart_from_a_changed_file(judge: Judge) -> None:
    found = judge(reports.approved(), Known())
    assert found.failed == ""
    assert not found.known
    assert [each.reason for each in found.doubts] == [Doubt.SIGNER_UNKNOWN]
    (authority,) = reports.known().signers
    assert authority.fingerprint[:16] in found.doubts[0].words


def test_a_report_of_an_earlier_version(judge: Judge) -> None:
    """Certified without any permission by a certificate that vouches for itself, no attachments:
    intact, and honest about all that it lacks.
    """
    found = judge(OLD.read_bytes())
    assert found.failed == ""
    assert found.covers_whole_file
    assert not found.known
    assert [each.reason for each in found.doubts] == [Doubt.SIGNER_UNKNOWN]
    assert found.evidence.digest == ""
    assert found.evidence.page_matches is None
    assert found.metadata_consistent is None
    assert found.manifest is None


def test_the_signer_of_an_earlier_version_can_be_known(judge: Judge) -> None:
    pinned = parse(OLD.with_suffix(".pem").read_bytes())
    found = judge(OLD.read_bytes(), Known(signers=pinned))
    assert found.failed == ""
    assert found.known
    assert found.doubts == ()


def test_nothing_may_follow_a_report_of_an_earlier_version(judge: Judge) -> None:
    found = judge(OLD.read_bytes() + reports.certified())
    assert found.failed


@pytest.mark.parametrize(
    ("number", "reason"), [(1, None), (2, Fault.NUMBER_OF_SIGNATURES), (None, None)]
)
def test_the_number_of_signatures(judge: Judge, number: int | None, reason: Fault | None) -> None:
    found = with_expected(judge(reports.certified()), Expected(number, "somebody"))
    assert [each.reason for each in found.faults] == ([reason] if reason else [])
    assert found.expected.number == number


def test_more_signatures_than_expected(judge: Judge) -> None:
    found = with_expected(judge(reports.approved()), Expected(1, "somebody"))
    assert found.failed == "it carries 2 signatures and not 1, as somebody has it"


def test_a_draft(judge: Judge) -> None:
    found = judge(reports.document())
    assert found.failed == "it carries no signature"
    assert found.signatures == ()


@pytest.mark.parametrize("text", [b"hello", b"\xff\xd8\xff jpeg", b"PK\x03\x04"])
def test_not_a_pdf(judge: Judge, text: bytes) -> None:
    with pytest.raises(NotAReport):
        judge(text)


def test_nothing_there(tmp_path: Path) -> None:
    with pytest.raises(FileMissing):
        verify(tmp_path / "none.pdf", Known())
    (tmp_path / "empty.pdf").touch()
    with pytest.raises(FileEmpty):
        verify(tmp_path / "empty.pdf", Known())
    for endless in (tmp_path, Path(os.devnull)):
        with pytest.raises(InputRefused, match="not a regular file"):
            verify(endless, Known())


def test_a_text_that_looks_like_a_byte_range(judge: Judge) -> None:
    """A customer's name cannot spoil the report that holds it."""
    spoiler = "/ByteRange [0 3 9 27] /M (D:20200101000000Z)"
    found = judge(reports.signed(reports.document(title=spoiler), reports.firm()))
    assert found.failed == ""
    assert len(found.signatures) == 1
    assert found.signatures[0].time.claimed == reports.NOW


@pytest.mark.parametrize("title", ["Ünï 😀 \u202e <b>&\"'", "a\r\nb\tc ", "\x07 bell", "(", "\\)"])
def test_a_title_of_any_kind_is_told_alike(judge: Judge, title: str) -> None:
    found = judge(reports.signed(reports.document(title=title), reports.firm()))
    assert found.failed == ""
    assert found.metadata_consistent


def test_an_unsigned_text_that_looks_like_a_byte_range(judge: Judge) -> None:
    html = "<title>/ByteRange [0 3 9 27]</title>"
    assert judge(weasy.pdf(html, {}, b"0" * 16)).failed == "it carries no signature"


def test_the_claimed_time_keeps_its_zone(judge: Judge) -> None:
    zone = timezone(timedelta(hours=-3, minutes=-30))
    now = datetime.now(zone).replace(microsecond=0)
    found = judge(reports.signed(reports.document(), reports.firm(), now))
    claimed = found.signatures[0].time.claimed
    assert claimed == now
    assert claimed.utcoffset() == timedelta(hours=-3, minutes=-30)


@pytest.mark.parametrize(
    ("certified_after", "approved_after", "doubts"),
    [
        (timedelta(), timedelta(), []),
        (timedelta(), timedelta(hours=20), []),
        (timedelta(), timedelta(hours=30), [Doubt.TIME_AHEAD]),
        (timedelta(minutes=1), timedelta(), [Doubt.TIMES_REVERSED]),
        (timedelta(hours=30), timedelta(), [Doubt.TIME_AHEAD, Doubt.TIMES_REVERSED]),
    ],
)
def test_a_claim_that_cannot_be_right(
    judge: Judge, certified_after: timedelta, approved_after: timedelta, doubts: list[Doubt]
) -> None:
    report = reports.signed(reports.document(), reports.firm(), reports.NOW + certified_after)
    approved = reports.witnessed(report, reports.firm(), reports.NOW + approved_after)
    found = judge(approved)
    assert found.failed == ""
    assert [doubt.reason for doubt in found.doubts] == doubts
