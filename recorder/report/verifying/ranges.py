"""The signatures of a file as its bytes show them, before any PDF parser has a say.

Nothing that two parsers may read in two ways can be abused here: a byte range is four numbers, the
digest settles every byte that it covers, and ``recorder.report.verifying.container`` every byte
that it leaves out.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone

from recorder.model.plural import counted
from recorder.report.verifying import container
from recorder.report.verifying.container import Signature
from recorder.report.verifying.reasons import Fault, Finding

MOST_SIGNATURES = 16  # byte ranges looked at; a report of ours has one or two

_RANGE = re.compile(rb"/ByteRange ?\[ ?(\d{1,10}) (\d{1,10}) (\d{1,10}) (\d{1,10}) ?\]")
_CONTENTS = re.compile(rb"/Contents ?<[0-9A-Fa-f]")
_TIME_ENTRY = re.compile(rb"/M ?\((D[^()]{14,60})\)")
_END = b"%%EOF\n"  # where a revision ends, and with it what its signature covers
_OCTAL = re.compile(rb"\\([0-7]{3})")  # pyHanko escapes every sign of a date but its digits
_TIME = re.compile(rb"D:(\d{14})(?:(Z)|([+-])(\d\d)'(\d\d)'?)")


@dataclass(frozen=True)
class Covered:
    """A byte range: from 0 to ``start`` and from ``end`` to ``stop``; the signature fills the gap.

    position: where it is written in the file. signature: None when it is damaged. intact: the
    digest over what is covered is the one that was signed. valid: the signature's value was made
    by the key of its certificate. fault: the first reason why not; None when all is well.
    """

    position: int
    start: int
    end: int
    stop: int
    claimed: datetime | None
    signature: Signature | None = None
    intact: bool = False
    valid: bool = False
    fault: Finding | None = None


def look(content: bytes) -> tuple[Covered, ...]:
    """All signatures in the order in which they were made; () when there is not a trace of one.

    Text on a page may look like a byte range. It counts only where what it leaves out has the
    outward form of a signature, or where it stands in a dictionary like that of one.
    """
    found = [
        _judge(content, match.start(), tuple(int(number) for number in match.groups()))
        for match in list(_RANGE.finditer(content))[-MOST_SIGNATURES:]
    ]
    likely = [each for each in found if _has_form(content, each) or _beside_one(content, each)]
    return tuple(sorted(likely, key=lambda each: (each.stop, each.position)))


def last_stop(found: Sequence[Covered]) -> int:
    return max((each.stop for each in found), default=0)


def _has_form(content: bytes, each: Covered) -> bool:
    gap = content[each.start : each.end]
    return gap[:1] == b"<" and gap[-1:] == b">" and each.start < each.end


def _beside_one(content: bytes, each: Covered) -> bool:
    start, end = _object_around(content, each.position)
    return _CONTENTS.search(content, start, end) is not None


def _object_around(content: bytes, position: int) -> tuple[int, int]:
    start = max(content.rfind(b" obj", 0, position), 0)
    end = content.find(b"endobj", position)
    return start, end if end > 0 else len(content)


def _judge(content: bytes, position: int, numbers: tuple[int, ...]) -> Covered:
    first, start, end, rest = numbers
    place = (position, start, end, end + rest, _claimed_time(content, position))
    stop = end + rest
    ends = stop > len(content) or content[:stop].endswith(_END)
    if first != 0 or not 0 < start < end < stop or not ends:
        return Covered(*place, fault=Finding.of(Fault.RANGE_CHANGED))
    gap = content[start:end]
    try:
        signature = container.read(gap)
    except ValueError as error:
        return Covered(*place, fault=_damage(gap, str(error)))
    digest = hashlib.sha256(content[:start])
    digest.update(content[end:stop])
    intact = digest.digest() == signature.message_digest
    valid = signature.matches_certificate()
    fault = None
    if stop > len(content):
        fault = Finding.of(Fault.BYTES_MISSING, counted(stop - len(content), "byte"))
    elif not valid:
        fault = Finding.of(Fault.OTHER_CERTIFICATE)
    elif not intact:
        fault = Finding.of(Fault.BYTES_CHANGED)
    return Covered(*place, signature=signature, intact=intact, valid=valid, fault=fault)


def _damage(gap: bytes, why: str) -> Finding:
    """Why what lies in the gap is not a signature."""
    if gap[:1] == b"<" and b">" in gap[:-1]:
        return Finding.of(Fault.RANGE_HOLDS_MORE)
    if gap[:1] != b"<" or gap[-1:] != b">":
        return Finding.of(Fault.RANGE_CHANGED)
    if not gap.strip(b"<0>"):
        return Finding.of(Fault.SIGNATURE_EMPTIED)
    return Finding.of(Fault.SIGNATURE_DAMAGED, why)


def _claimed_time(content: bytes, position: int) -> datetime | None:
    """The time in the signature dictionary around ``position``."""
    entry = _TIME_ENTRY.search(content, *_object_around(content, position))
    plain = _OCTAL.sub(lambda m: bytes([int(m[1], 8) & 0xFF]), entry[1]) if entry else b""
    match = _TIME.fullmatch(plain)
    if match is None:
        return None
    digits, utc, sign, hours, minutes = match.groups()
    try:
        local = datetime.strptime(digits.decode(), "%Y%m%d%H%M%S")
        ahead = timedelta() if utc else timedelta(hours=int(hours), minutes=int(minutes))
        return local.replace(tzinfo=timezone(-ahead if sign == b"-" else ahead) if ahead else UTC)
    except ValueError:
        return None
