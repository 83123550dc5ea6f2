"""Verifying a signed report: each fact by itself, from the bytes up.

First the bytes, without any PDF parser: the digest of every signature settles what it covers, and
``container`` what it leaves out. Only what has been proven to be signed is then read as a PDF:
which field holds which signature, what came in between, whether page, evidence and job agree. A
file whose bytes fail is not read further, so that nothing is said about it that a forger wrote.
"""

from __future__ import annotations

import hashlib
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

from recorder.errors import FileEmpty, FileMissing, FileTooLarge, InputRefused, NotAReport
from recorder.report.document.about import CUSTOMER, TECHNICIAN
from recorder.report.document.attachments import attached
from recorder.report.document.structure import alternative_texts
from recorder.report.verifying import changes, description, evidence, ranges, signers
from recorder.report.verifying.container import Signature
from recorder.report.verifying.facts import (
    Expected,
    Fault,
    Finding,
    Role,
    SignatureFacts,
    Time,
    Verification,
    counted,
    in_order,
)
from recorder.report.verifying.pdf import Document, Field, Unreadable
from recorder.report.verifying.ranges import Covered
from recorder.report.verifying.signers import Judged, Known

LARGEST_BYTES = 200_000_000

_ROLES = {TECHNICIAN: Role.TECHNICIAN, CUSTOMER: Role.CUSTOMER}
_CERTIFYING = (1, 2)  # DocMDP (ISO 32000-2, table 257): no change, or filling in and signing


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
    return _read_as_pdf(told, content, found, [each for each in judged if each])


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
    try:
        size = path.stat().st_size
        if size > LARGEST_BYTES:
            limit = f"{LARGEST_BYTES // 1_000_000} MB"
            raise FileTooLarge(path=path, size=f"{size / 1e6:.0f} MB", limit=limit)
        content = path.read_bytes()
    except FileNotFoundError as error:
        raise FileMissing(path=path) from error
    except OSError as error:
        raise InputRefused(path=path, detail=error.strerror or str(error)) from error
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


def _read_as_pdf(
    told: Verification, content: bytes, found: tuple[Covered, ...], judged: list[Judged]
) -> Verification:
    """What is left to say of signatures whose every byte is sound."""
    signed = content[: ranges.last_stop(found)]
    faults: list[Finding] = []
    if len(signed) < len(content):
        faults += changes.appended(content, len(signed))
    try:
        document = Document(signed)
        fields = _matched(document, found)
        if fields is None:
            faults.append(Finding.of(Fault.SIGNATURES_DISAGREE))
            return replace(told, faults=in_order(faults))
        since = [changes.between(content, a.stop, b.stop) for a, b in pairwise(found)]
        faults += [*_certified(fields), *(each for step in since for each in step)]
        opinion = document.second_opinion()
        agreement = evidence.agreement(
            alternative_texts(signed, told.file), attached(signed, told.file)
        )
        contradictions = description.contradictions(
            document.description(), complete=agreement.facts.digest != ""
        )
    except (Unreadable, NotAReport) as error:
        faults.append(Finding.of(Fault.UNREADABLE, str(error)))
        return replace(told, faults=in_order(faults))
    if opinion and not faults:
        faults.append(Finding.of(Fault.SECOND_OPINION, opinion))
    faults += [*_strangers(found, fields), *agreement.faults, *contradictions]
    faults += [each for one in judged for each in one.faults]
    return replace(
        told,
        signatures=_with_fields(told, fields, since, len(content) - len(signed)),
        evidence=agreement.facts,
        manifest=agreement.manifest,
        metadata_consistent=None if not document.description().xmp else not contradictions,
        faults=in_order(faults),
        doubts=in_order(each for one in judged for each in one.doubts),
    )


def _matched(document: Document, found: tuple[Covered, ...]) -> list[Field] | None:
    """The field of each signature; None unless form and bytes know the same signatures."""
    filled = {each.covered: each for each in document.fields() if each.covered}
    places = [(0, each.start, each.end, each.stop - each.end) for each in found]
    if len(places) != len(filled) or set(places) != filled.keys():
        return None
    return [filled[place] for place in places]


def _certified(fields: list[Field]) -> list[Finding]:
    first = fields[0]
    if first.name != TECHNICIAN or first.permission not in _CERTIFYING:
        return [Finding.of(Fault.NOT_CERTIFIED, f"{first.name}, DocMDP {first.permission}")]
    wrong = [each.name for each in fields[1:] if each.name != CUSTOMER or each.permission]
    if wrong or len(fields) > len(_ROLES):
        return [Finding.of(Fault.STRUCTURE_CHANGED, f"signed in {', '.join(wrong)}")]
    return []


def _strangers(found: tuple[Covered, ...], fields: list[Field]) -> list[Finding]:
    first, *later = [(each.signature, each.claimed) for each in found]
    certifier = first[0]
    assert isinstance(certifier, Signature)  # broken ones have been sorted out
    return [
        Finding.of(Fault.STRANGER, field.name)
        for (witness, at), field in zip(later, fields[1:], strict=True)
        if witness and signers.is_stranger(witness, certifier, at)
    ]


def _with_fields(
    told: Verification, fields: list[Field], since: list[tuple[Finding, ...]], behind: int
) -> tuple[SignatureFacts, ...]:
    after = [
        "; ".join(each.words for each in step) if step else changes.FILLED_IN for step in since
    ]
    after.append(f"{counted(behind, 'byte')} came behind it" if behind else "")
    return tuple(
        replace(each, field=field.name, role=_ROLES.get(field.name, Role.OTHER), changes_since=text)
        for each, field, text in zip(told.signatures, fields, after, strict=True)
    )
