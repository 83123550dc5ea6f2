"""What can be said of a signed report, in plain words for a person who looks at a screen."""

from __future__ import annotations

from collections.abc import Iterator

from recorder.model.base import Value
from recorder.model.plural import counted
from recorder.report.verifying.facts import SignatureFacts, Verification
from recorder.web.pages.dates import moment

WRONG = "Do not rely on this report: it is not as it was signed"


class Verdict(Value):
    """kind: 'sound', 'doubt' or 'wrong'. headline: the whole of it. faults, doubts: what is wrong
    or cannot be told. facts: subject and what was found.
    """

    kind: str
    headline: str
    faults: tuple[str, ...]
    doubts: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]


def verdict(found: Verification) -> Verdict:
    kind, headline = _headline(found)
    return Verdict(
        kind=kind,
        headline=headline,
        faults=tuple(each.words for each in found.faults),
        doubts=tuple(each.words for each in found.doubts),
        facts=tuple(_facts(found)),
    )


def _headline(found: Verification) -> tuple[str, str]:
    if found.faults:
        return "wrong", WRONG
    if found.doubts:
        return "doubt", "The report is as it was signed, but not everything can be told"
    return "sound", "The report is as it was signed"


def _facts(found: Verification) -> Iterator[tuple[str, str]]:
    for each in found.signatures:
        yield each.role.says, _signature(each)
    if found.signatures and not found.customer_signed:
        yield "Customer", "has not signed this report"
    archive = found.archive
    if archive.job and archive.originals:
        sound = archive.originals - len((*archive.changed, *archive.missing, *archive.removed))
        files = counted(archive.originals, "original file")
        yield "Evidence", f"{sound} of {files} are as the report names them"
    for line in archive.removals:
        yield "Removed", line


def _signature(each: SignatureFacts) -> str:
    by = each.signer.name if each.signer else "nobody whose certificate can be read"
    at = f", {moment(each.time.claimed)}" if each.time.claimed else ""
    whole = "as it was signed" if each.intact and each.valid else "NOT as it was signed"
    return f"{by}{at}; {whole}; since then {each.changes_since or 'no change'}"
