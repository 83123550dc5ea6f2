"""Page, evidence and job: every way in which the three can fail to agree."""

from recorder.archive.jobs.record import dump
from recorder.model.evidence import digest
from recorder.report.content import code
from recorder.report.verifying.evidence import agreement
from recorder.report.verifying.reasons import Fault
from tests.report.verifying import reports

RECORD = dump(reports.job())
MANIFEST = reports.manifest(RECORD)
FILES = {"job.json": RECORD, "evidence.json": MANIFEST}


def page(job: str = "4817", told: bytes = MANIFEST) -> tuple[str, ...]:
    text = code.text(job, reports.JOB_ID, reports.NOW, digest(told))
    return ("A belt", f"Code for verification: {text}")


def reasons(alternates: tuple[str, ...], files: dict[str, bytes]) -> list[object]:
    return [each.reason for each in agreement(alternates, files).faults]


def test_all_agree() -> None:
    found = agreement(page(), FILES)
    assert found.faults == ()
    assert found.facts.page_digest == found.facts.digest == digest(MANIFEST)
    assert found.facts.page_matches
    assert found.facts.job_matches
    assert found.manifest


def test_a_job_without_a_number_is_named_by_its_id() -> None:
    assert reasons(page(job=""), FILES) == []


def test_a_page_of_an_earlier_version() -> None:
    found = agreement(("A belt",), {})
    assert found.faults == ()
    assert found.facts.page_matches is None
    assert found.facts.job_matches is None


def test_a_template_without_a_code_names_no_evidence() -> None:
    found = agreement(("A belt",), FILES)
    assert found.faults == ()
    assert found.facts.page_matches is None
    assert found.facts.job_matches


def test_evidence_that_is_not_attached() -> None:
    assert reasons(page(), {"job.json": RECORD}) == [Fault.EVIDENCE_MISSING]
    assert reasons(page(), {}) == [Fault.EVIDENCE_MISSING]


def test_a_job_that_is_not_attached() -> None:
    found = agreement(page(), {"evidence.json": MANIFEST})
    assert [each.reason for each in found.faults] == [Fault.EVIDENCE_MISSING]
    assert "job.json" in found.faults[0].words
    assert found.facts.job_matches is False


def test_other_evidence_than_the_page_names() -> None:
    other = reports.manifest(b"another")
    assert Fault.DIGEST_DIFFERS in reasons(page(told=other), FILES)


def test_another_job_than_the_evidence_names() -> None:
    files = {**FILES, "job.json": dump(reports.job("another"))}
    assert reasons(page(), files) == [Fault.JOB_DIFFERS]


def test_a_page_that_names_another_job_or_day() -> None:
    found = agreement(page(job="4818"), FILES)
    assert [each.reason for each in found.faults] == [Fault.JOB_DIFFERS]
    assert found.facts.page_matches is False
    assert found.facts.job_matches
    (_, text) = page()
    other_day = text.replace(f"date={reports.NOW:%Y-%m-%d}", "date=1999-12-31")
    assert reasons((other_day,), FILES) == [Fault.JOB_DIFFERS]


def test_two_codes_that_differ_are_no_code_to_believe() -> None:
    two = (*page(), *page(told=reports.manifest(b"another")))
    assert reasons(two, FILES) == [Fault.DIGEST_DIFFERS]


def test_evidence_that_cannot_be_read() -> None:
    for content in (b"", b"{}", b"\xff", b"[1]"):
        files = {**FILES, "evidence.json": content}
        assert reasons(page(told=content), files) == [Fault.EVIDENCE_UNREADABLE]
