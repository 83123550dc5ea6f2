"""What the proven bytes of a report say as a PDF: fields, what came in between, evidence.

Only bytes that every signature vouches for come here, so that nothing is told which a forger wrote;
what stands behind the last signature is looked at for the kind of change alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from recorder.errors import NotAReport
from recorder.model.plural import counted
from recorder.report.document.about import CUSTOMER, TECHNICIAN
from recorder.report.document.attachments import attached
from recorder.report.document.structure import alternative_texts
from recorder.report.document.told import description as told_by
from recorder.report.verifying import ambiguity, changes, description, evidence, ranges, signers
from recorder.report.verifying.facts import Role, SignatureFacts, Verification
from recorder.report.verifying.pdf import Document, Field, Unreadable
from recorder.report.verifying.ranges import Covered
from recorder.report.verifying.reasons import Fault, Finding, in_order
from recorder.report.verifying.signers import Judged

_ROLES = {TECHNICIAN: Role.TECHNICIAN, CUSTOMER: Role.CUSTOMER}
_CERTIFYING = (1, 2)  # DocMDP (ISO 32000-2, table 257): no change, or filling in and signing


def read(
    told: Verification, content: bytes, found: tuple[Covered, ...], judged: Sequence[Judged]
) -> Verification:
    """``told`` with all that there is to say of signatures whose every byte is sound.

    judged: the signers of ``found``, one each.
    """
    signed = content[: ranges.last_stop(found)]
    behind = len(content) - len(signed)
    faults = [*changes.appended(content, len(signed))] if behind else []
    try:
        told, more = _proven(told, signed, found, judged)
    except Unreadable as error:
        more = (Finding.of(Fault.UNREADABLE, str(error)),)
    except NotAReport as error:
        more = (Finding.of(Fault.UNREADABLE, error.problem_text),)
    last = told.signatures[-1]
    if behind:
        last = replace(last, changes_since=f"{counted(behind, 'byte')} came behind it")
    return replace(
        told,
        signatures=(*told.signatures[:-1], last),
        faults=in_order((*told.faults, *faults, *more)),
    )


def _proven(
    told: Verification, signed: bytes, found: tuple[Covered, ...], judged: Sequence[Judged]
) -> tuple[Verification, tuple[Finding, ...]]:
    """Raises Unreadable, NotAReport."""
    document = Document(signed)
    fields = _matched(document, found)
    if fields is None:
        return told, (Finding.of(Fault.SIGNATURES_DISAGREE),)
    steps = [changes.between(signed, a.stop, b.stop) for a, b in pairwise(found)]
    changed = [*_certified(fields), *(each for step in steps for each in step)]
    changed += ambiguity.of_file(signed, tuple(each.stop for each in found))
    opinion = document.second_opinion()
    if opinion and not changed:
        changed = [Finding.of(Fault.SECOND_OPINION, opinion)]
    agreement = evidence.agreement(
        alternative_texts(signed, told.file), attached(signed, told.file)
    )
    described = told_by(signed, told.file)
    complete = agreement.facts.digest != ""
    contradictions = description.contradictions(described, complete)
    told = replace(
        told,
        signatures=_with_fields(told, fields, steps),
        evidence=agreement.facts,
        manifest=agreement.manifest,
        metadata_consistent=not contradictions if described.xmp or complete else None,
    )
    return told, (*changed, *_strangers(judged, fields), *agreement.faults, *contradictions)


def _matched(document: Document, found: tuple[Covered, ...]) -> list[Field] | None:
    """The field of each signature; None unless form and bytes know the same signatures."""
    filled = {each.covered: each for each in document.fields() if each.covered}
    places = [(0, each.start, each.end, each.stop - each.end) for each in found]
    if len(places) != len(filled) or set(places) != filled.keys():
        return None
    return [filled[place] for place in places]


def _certified(fields: list[Field]) -> list[Finding]:
    """The technician certifies first; then the customer's field alone may be signed."""
    first, *later = fields
    if first.name != TECHNICIAN or first.permission not in _CERTIFYING:
        return [Finding.of(Fault.NOT_CERTIFIED, f"{first.name}, DocMDP {first.permission}")]
    return [
        Finding.of(Fault.STRUCTURE_CHANGED, f"signed in {field.name}")
        for number, field in enumerate(later)
        if number or field.name != CUSTOMER or field.permission
    ]


def _strangers(judged: Sequence[Judged], fields: list[Field]) -> list[Finding]:
    first, *later = judged
    return [
        Finding.of(Fault.STRANGER, field.name)
        for witness, field in zip(later, fields[1:], strict=True)
        if signers.is_stranger(witness, first)
    ]


def _with_fields(
    told: Verification, fields: list[Field], steps: list[tuple[Finding, ...]]
) -> tuple[SignatureFacts, ...]:
    since = ["; ".join(each.words for each in step) or changes.FILLED_IN for step in steps]
    return tuple(
        replace(each, field=field.name, role=_ROLES.get(field.name, Role.OTHER), changes_since=text)
        for each, field, text in zip(told.signatures, fields, (*since, ""), strict=True)
    )
