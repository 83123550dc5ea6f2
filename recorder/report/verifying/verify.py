"""Verifying a signed report: each fact by itself, from the bytes up.

First the bytes, without any PDF parser: the digest of every signature settles what it covers, and
``container`` what it leaves out. Only what has been proven to be signed is then read as a PDF:
which field holds which signature, what came in between, whether page, evidence and job agree. A
file whose bytes fail is not read further, so that nothing is said about it that a forger wrote.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path

from recorder.errors import FileEmpty, NotAReport
from recorder.inputs import read_whole
from recorder.model.plural import counted
from recorder.report.verifying import contents, ranges, signers
from recorder.report.verifying.facts import Expected, Role, SignatureFacts, Time, Verification
from recorder.report.verifying.ranges import Covered
from recorder.report.verifying.reasons import Doubt, Fault, Finding, in_order
from recorder.report.verifying.signers import Judged, Known

LARGEST_BYTES = 200_000_000
CLOCKS_APART = timedelta(days=1)  # of two machines in the field, before a claim is odd


def verify(path: Path, known: Known) -> Verification:
    """Judge a file. Raises FileMissing, FileEmpty, FileTooLarge or NotAReport if there is nothing
    to judge; every fault of a signed file is a fact of the result.
    """
    content = _read(path)
    found = ranges.look(content)
    told = Verification(file=path.name, sha256=hashlib.sha256(content).hexdigest())
    if not found:
        if not content.startswith(b"%PDF-"):
            raise NotAReport(path=path, detail="it does not begin like a PDF")
        return replace(told, faults=(Finding.of(Fault.UNSIGNED),))
    judged = [
        signers.judge(each.signature, each.claimed, known) if each.signature else None
        for each in found
    ]
    told = replace(
        told,
        covers_whole_file=ranges.last_stop(found) == len(content),
        signatures=tuple(map(_facts, found, judged)),
    )
    broken = in_order(each.fault for each in found if each.fault)
    if broken:
        return replace(told, faults=broken)
    sound = [each for each in judged if each]
    told = replace(
        told,
        faults=in_order(fault for each in sound for fault in each.faults),
        doubts=in_order((*(doubt for each in sound for doubt in each.doubts), *_odd_times(sound))),
    )
    return contents.read(told, content, found, sound)


def _odd_times(sound: Sequence[Judged]) -> list[Finding]:
    """A claim proves nothing, but one that cannot be right shows that a clock was wrong."""
    times = [each.time.best for each in sound if each.time.best]
    latest = datetime.now(UTC) + CLOCKS_APART
    odd = [Finding.of(Doubt.TIME_AHEAD, at.isoformat()) for at in times if at > latest]
    for before, after in pairwise(times):
        if after < before:
            told = f"{after.isoformat()} after {before.isoformat()}"
            odd.append(Finding.of(Doubt.TIMES_REVERSED, told))
    return odd


def with_expected(found: Verification, expected: Expected) -> Verification:
    """The same with what was expected; another number of signatures is a fault.

    A signature that was cut off with all that came in with it leaves no trace in the file: the
    bytes are those of the report before it was made. Only an expectation can tell.
    """
    number = len(found.signatures)
    told = replace(found, expected=expected)
    if expected.number in (None, number) or found.faults:
        return told
    detail = f"{counted(number, 'signature')} and not {expected.number}, as {expected.by} has it"
    if number < (expected.number or 0) and not found.customer_signed:
        detail += ": the customer's signature is missing"
    return replace(told, faults=(Finding.of(Fault.NUMBER_OF_SIGNATURES, detail),))


def _read(path: Path) -> bytes:
    content = read_whole(path, LARGEST_BYTES)
    if not content:
        raise FileEmpty(path=path)
    return content


def _facts(covered: Covered, judged: Judged | None) -> SignatureFacts:
    return SignatureFacts(
        field="",
        role=Role.UNKNOWN,
        intact=covered.intact,
        valid=covered.valid,
        signer=judged.signer if judged else None,
        time=judged.time if judged else Time(claimed=covered.claimed),
    )
