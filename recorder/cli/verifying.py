"""verify: what can be said of a signed report, each fact by itself."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from recorder.cli.terminal import (
    Commands,
    StageLines,
    at_least_one,
    command,
    home_path,
    print_json,
    warn,
)

if TYPE_CHECKING:
    from recorder.report.verifying.facts import SignatureFacts, Signer, Time, Verification
    from recorder.report.verifying.reasons import Finding

_YES_NO = {True: "yes", False: "NO", None: "cannot be told"}


def add(commands: Commands, shared: argparse.ArgumentParser) -> None:
    verify = command(
        commands, shared, "verify", "tell what can be said of a signed report", _verify
    )
    verify.add_argument("pdf", type=Path, metavar="PDF")
    verify.add_argument(
        "--signatures", type=at_least_one, metavar="N",
        help="how many signatures it should carry: 2 once the customer has signed (default: as "
        "the records of this home have it)",
    )  # fmt: skip


def _verify(arguments: argparse.Namespace) -> int:
    from recorder.archive.disk.home import Home
    from recorder.errors import ArchiveDiffers, VerificationFailed
    from recorder.flows.verify import check, unreadable
    from recorder.report.verifying.reasons import Fault

    home = Home(home_path(arguments))
    progress = StageLines()
    progress.stage(f"verifying {arguments.pdf.name}")
    try:
        found = check(home, arguments.pdf, arguments.signatures)
    finally:
        progress.close()
    for name in unreadable(home):
        warn(f"{name} in the home's identity folder holds no certificate; it was passed over")
    if arguments.json:
        print_json(as_json(found, arguments.pdf))
    else:
        _print(found)
    if found.faults:
        archive_alone = {each.reason for each in found.faults} == {Fault.ORIGINAL_DIFFERS}
        error = ArchiveDiffers if archive_alone else VerificationFailed
        raise error(path=arguments.pdf, detail=found.failed)
    for each in found.doubts:
        warn(each.words)
    return 4 if found.doubts else 0


def _print(found: Verification) -> None:
    """Each subject in a column, once."""
    from recorder.report.verifying.reasons import plain

    before = ""
    for subject, text in lines(found):
        print(f"{'' if subject == before else subject:12} {plain(text)}")
        before = subject


def lines(found: Verification) -> Iterator[tuple[str, str]]:
    """The facts for people: what each is about, and what was found."""
    yield "report", found.file
    yield "signatures", _number(found)
    whole = "the last one covers the whole file: " + _YES_NO[found.covers_whole_file]
    if found.evidence.digest and not found.covers_whole_file:
        whole += "; what follows is said of the signed part, and not of what a reader shows"
    yield "signatures", whole
    for number, each in enumerate(found.signatures, 1):
        for text in _signature(each):
            yield f"signature {number}", text
    if found.signatures and not found.customer_signed:
        yield "customer", "the customer has not signed this file"
    yield from _evidence(found)
    yield from _archive(found)
    consistent = found.metadata_consistent
    if consistent is not None:
        yield "description", f"title, date and standards are told alike: {_YES_NO[consistent]}"
    for fault in found.faults:
        yield "WRONG", fault.words
    for doubt in found.doubts:
        yield "in doubt", doubt.words


def _number(found: Verification) -> str:
    number, expected = len(found.signatures), found.expected
    if expected.number is None:
        return f"{number}; nothing here says how many there should be (see --signatures)"
    return f"{number} of {expected.number} expected by {expected.by}"


def _signature(each: SignatureFacts) -> Iterator[str]:
    yield f"{each.role.says}{f' ({each.field})' if each.field else ''}"
    yield f"its bytes are as they were signed: {_YES_NO[each.intact]}"
    yield f"it was made by the key of its certificate: {_YES_NO[each.valid]}"
    if each.signer:
        yield from _signer(each.signer)
    yield _time(each.time)
    yield f"since then: {each.changes_since or 'no change'}"


def _signer(signer: Signer) -> Iterator[str]:
    organization = f", {signer.organization}" if signer.organization else ""
    yield f"by {signer.name}{organization}"
    known = "known to this home" if signer.trusted else f"not trusted: {signer.why_not}"
    alone = signer.authority_fingerprint == signer.fingerprint
    yield f"vouched for by {'nobody but itself' if alone else signer.authority}, {known}"
    yield f"SHA-256 of that certificate {signer.authority_fingerprint}"


def _time(time: Time) -> str:
    claimed = f"{_clock(time.claimed)}, as the clock of the device claimed"
    if time.stamped is None:
        return f"{claimed}; no authority stamped it"
    known = "known" if time.stamp_trusted else "not known"
    return (
        f"{_clock(time.stamped)}, stamped by {time.authority}, which is {known} to this home; "
        f"{claimed}"
    )


def _clock(moment: datetime | None) -> str:
    return moment.isoformat(sep=" ", timespec="seconds") if moment else "at no time"


def _evidence(found: Verification) -> Iterator[tuple[str, str]]:
    facts = found.evidence
    if not facts.digest and not facts.page_digest:
        yield "evidence", "none is attached" if not found.faults else "not judged"
        return
    yield "evidence", f"SHA-256 {facts.digest or 'of none'}"
    yield "evidence", f"it is the one that the first page names: {_YES_NO[facts.page_matches]}"
    yield "evidence", f"the attached job is the one that it names: {_YES_NO[facts.job_matches]}"


def _archive(found: Verification) -> Iterator[tuple[str, str]]:
    facts = found.archive
    if not facts.job:
        yield "archive", "this home does not hold the job"
        return
    yield "archive", f"job {facts.job}; this very file is on record: {_YES_NO[facts.recorded]}"
    sound = facts.originals - len((*facts.changed, *facts.missing, *facts.removed))
    yield "archive", f"{sound} of {facts.originals} original files are as the evidence names them"
    for name in facts.changed:
        yield "archive", f"changed: {name}"
    for name in facts.missing:
        yield "archive", f"not here: {name}"
    for line in facts.removals:
        yield "archive", line


def as_json(found: Verification, path: Path) -> dict[str, Any]:
    return {
        "file": str(path),
        "sha256": found.sha256,
        "covers_whole_file": found.covers_whole_file,
        "signatures": [_signature_json(each) for each in found.signatures],
        "expected": {"number": found.expected.number, "by": found.expected.by},
        "customer_signed": found.customer_signed,
        "evidence": vars(found.evidence),
        "archive": vars(found.archive),
        "metadata_consistent": found.metadata_consistent,
        "trusted": found.known,
        "faults": [_finding(each) for each in found.faults],
        "doubts": [_finding(each) for each in found.doubts],
        "failed": found.failed,
    }


def _signature_json(each: SignatureFacts) -> dict[str, Any]:
    time = each.time
    return {
        "field": each.field,
        "role": each.role.value,
        "intact": each.intact,
        "valid": each.valid,
        "signer": vars(each.signer) if each.signer else None,
        "time": {
            "claimed": time.claimed.isoformat() if time.claimed else None,
            "stamped": time.stamped.isoformat() if time.stamped else None,
            "authority": time.authority,
            "stamp_trusted": time.stamp_trusted,
        },
        "changes_since": each.changes_since,
    }


def _finding(each: Finding) -> dict[str, str]:
    return {"reason": each.reason.value, "words": each.words}
