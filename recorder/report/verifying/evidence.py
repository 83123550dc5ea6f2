"""Whether page, attached evidence and attached job agree with one another.

The code on the first page gives the SHA-256 of ``evidence.json``, and that gives the SHA-256 of
``job.json``. So a technician who attached the job of another day, before signing, is found out by
the paper alone.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from urllib.parse import unquote

from recorder.model import evidence as manifest
from recorder.model.evidence import Evidence
from recorder.model.job import FILE_NAME as RECORD
from recorder.report.verifying.facts import EvidenceFacts
from recorder.report.verifying.reasons import Fault, Finding

_CODE = re.compile(r"seamnote:report\?job=([^&\s]*)&date=(\d{4}-\d\d-\d\d)&sha256=([0-9a-f]{64})")


@dataclass(frozen=True)
class Agreement:
    """facts, and why they are wrong; the manifest where it could be read."""

    facts: EvidenceFacts
    faults: tuple[Finding, ...] = ()
    manifest: Evidence | None = None


def agreement(alternates: Iterable[str], files: Mapping[str, bytes]) -> Agreement:
    """alternates: the texts for the figures on the pages. files: the attached ones, by name.

    A report without code and without attachments was written by an earlier version: it has
    nothing to compare, which is no fault.
    """
    codes = {match.groups() for text in alternates for match in _CODE.finditer(text)}
    content = files.get(manifest.FILE_NAME)
    if content is None:
        if not codes:
            return Agreement(EvidenceFacts())
        facts = EvidenceFacts(page_digest=", ".join(sorted(code[2] for code in codes)))
        return Agreement(facts, (Finding.of(Fault.EVIDENCE_MISSING, manifest.FILE_NAME),))
    digest = hashlib.sha256(content).hexdigest()
    page = ", ".join(sorted(code[2] for code in codes))
    matches = page == digest if codes else None
    found = [Finding.of(Fault.DIGEST_DIFFERS)] if matches is False else []
    try:
        told = manifest.parse(content)
    except ValueError:
        found.append(Finding.of(Fault.EVIDENCE_UNREADABLE, manifest.FILE_NAME))
        return Agreement(EvidenceFacts(page, digest, matches), tuple(found))
    of_code, of_job = _code(told, codes), _job(told, files.get(RECORD))
    facts = EvidenceFacts(
        page_digest=page,
        digest=digest,
        page_matches=matches and of_code is None,
        job_matches=of_job is None,
        job=told.job_number or told.job_id,
    )
    found += [each for each in (of_code, of_job) if each]
    return Agreement(facts, tuple(found), told)


def _job(told: Evidence, record: bytes | None) -> Finding | None:
    if record is None:
        return Finding.of(Fault.EVIDENCE_MISSING, RECORD)
    if hashlib.sha256(record).hexdigest() != told.record.sha256:
        return Finding.of(Fault.JOB_DIFFERS, "its SHA-256 is another one")
    return None


def _code(told: Evidence, codes: set[tuple[str, ...]]) -> Finding | None:
    """The code must name the job and the day of the manifest."""
    for job, date, _ in codes:
        if unquote(job) not in (told.job_number, told.job_id):
            return Finding.of(Fault.JOB_DIFFERS, f"the page names the job {unquote(job)}")
        if date != f"{told.written_at:%Y-%m-%d}":
            return Finding.of(Fault.JOB_DIFFERS, f"the page names the day {date}")
    return None
