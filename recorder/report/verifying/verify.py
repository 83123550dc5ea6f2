"""Verifying a signed report: is every byte of the file what its signer signed?

The file is judged as bytes and not as a PDF. Our reports carry one signature whose byte range is
the whole file but for the signature itself, so that the digest settles every byte outside, and
``recorder.report.verifying.container`` every byte inside. No PDF parser takes part, and nothing
that a parser may read two ways can be abused.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

from recorder.errors import FileEmpty, FileMissing, FileTooLarge, InputRefused, NotAReport
from recorder.report.identity.certificates import Certificate
from recorder.report.verifying import container

LARGEST_BYTES = 200_000_000
MOST_SIGNATURES = 16  # byte ranges looked at; a report of ours has one

_RANGE = re.compile(rb"/ByteRange ?\[ ?(\d{1,10}) (\d{1,10}) (\d{1,10}) (\d{1,10}) ?\]")
_TIME_ENTRY = re.compile(rb"/M ?\((D[^()]{14,60})\)")
_OCTAL = re.compile(rb"\\([0-7]{3})")  # pyHanko escapes every sign of a date but its digits
_TIME = re.compile(rb"D:(\d{14})(?:(Z)|([+-])(\d\d)'(\d\d)'?)")


@dataclass(frozen=True)
class Verification:
    """What was found, each fact by itself.

    file: its name. signed: it carries a signature at all.
    intact: the bytes that the signature covers are the bytes that were signed.
    valid: the signature value was made by the key of the certificate in it.
    covers_whole_file: nothing lies outside of what the signature covers.
    changed_since: what was done to the file after it was signed, in words; empty if nothing.
    signer, organization, fingerprint: of the certificate; empty when it cannot be read. Only
        ``known`` ties them to a person: everybody can make a certificate with any name.
    known: the certificate is among those that this home knows.
    demo: a throw-away key signed it.
    signed_at: as the device's clock claimed; None when it cannot be read.
    in_time: the certificate was valid at that time.
    """

    file: str
    signed: bool = False
    intact: bool = False
    valid: bool = False
    covers_whole_file: bool = False
    changed_since: str = ""
    signer: str = ""
    organization: str = ""
    fingerprint: str = ""
    known: bool = False
    demo: bool = False
    signed_at: datetime | None = None
    in_time: bool = False

    @property
    def failed(self) -> str:
        """Why this is not the report that was signed; empty when it is.

        An unknown signer is not a failure of the file, and is told apart by ``known``.
        """
        if not self.signed:
            return "it carries no signature"
        if self.changed_since:
            return self.changed_since
        if not self.intact:
            return "its content was changed after signing"
        if not self.valid:
            return "its signature does not belong to its certificate"
        if not self.covers_whole_file:
            return "its signature does not cover the whole file"
        if not self.in_time:
            return "its certificate was not valid at the time of signing"
        return ""


@dataclass(frozen=True)
class _Range:
    """A byte range: before and after the signature, which fills start..end."""

    position: int
    first: int
    start: int
    end: int
    stop: int


def verify(path: Path, known: Iterable[Certificate]) -> Verification:
    """Judge a file. Raises FileMissing, FileEmpty, FileTooLarge or NotAReport if there is nothing
    to judge; every fault of a signed file is a fact of the result.
    """
    content = _read(path)
    ranges = _ranges(content)
    if not ranges:
        if not content.startswith(b"%PDF-"):
            raise NotAReport(path=path, detail="it does not begin like a PDF")
        return Verification(file=path.name)
    trusted = {certificate.fingerprint for certificate in known}
    judged = [_judge(path.name, content, each, trusted) for each in ranges]
    # Text that looks like a byte range may stand before ours; only a whole-file range can pass.
    return next((found for found in judged if not found.failed), judged[-1])


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


def _ranges(content: bytes) -> list[_Range]:
    found = []
    for match in _RANGE.finditer(content):
        first, length, second, rest = (int(number) for number in match.groups())
        found.append(_Range(match.start(), first, first + length, second, second + rest))
    return found[-MOST_SIGNATURES:]


def _judge(name: str, content: bytes, covered: _Range, trusted: set[str]) -> Verification:
    size = len(content)
    result = Verification(
        file=name,
        signed=True,
        covers_whole_file=covered.first == 0 and covered.stop == size,
        changed_since=_changed_since(covered, size),
        signed_at=_claimed_time(content, covered.position),
    )
    if not 0 <= covered.first < covered.start < covered.end <= covered.stop:
        return replace(result, changed_since="the range that its signature covers was changed")
    try:
        signature = container.read(content[covered.start : covered.end])
    except ValueError as error:
        return replace(result, changed_since=f"its signature was changed ({error})")
    digest = hashlib.sha256(content[covered.first : covered.start])
    digest.update(content[covered.end : covered.stop])
    certificate = signature.certificate
    at = result.signed_at
    return replace(
        result,
        intact=digest.digest() == signature.message_digest,
        valid=signature.matches_certificate(),
        signer=certificate.common_name,
        organization=certificate.organization,
        fingerprint=certificate.fingerprint,
        known=certificate.fingerprint in trusted,
        demo=certificate.demo,
        in_time=at is not None and certificate.not_before <= at <= certificate.not_after,
    )


def _changed_since(covered: _Range, size: int) -> str:
    if covered.stop < size:
        return f"{size - covered.stop} bytes were added after signing"
    if covered.stop > size:
        return f"{covered.stop - size} bytes are missing at the end"
    return ""


def _claimed_time(content: bytes, position: int) -> datetime | None:
    """The time in the signature dictionary around ``position``."""
    start = max(content.rfind(b" obj", 0, position), 0)
    end = content.find(b"endobj", position)
    entry = _TIME_ENTRY.search(content, start, end if end > 0 else len(content))
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
