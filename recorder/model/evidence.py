"""The evidence manifest: what a report rests on, by digests. The content of evidence.json.

It is attached to the report, and the SHA-256 of its bytes is the *document digest* that page 1
shows and its code holds. So one number on paper leads to the manifest, from there to the record,
and from both to every original file.
"""

from __future__ import annotations

import hashlib
import json
from typing import Literal

from pydantic import AwareDatetime

from recorder.model.base import Value
from recorder.model.digests import Sha256, Size
from recorder.model.job import MediaKind
from recorder.model.report_record import Variant
from recorder.model.software import Software

FILE_NAME = "evidence.json"


class RecordDigest(Value):
    """Of job.json, byte for byte. sha256, size_bytes."""

    sha256: Sha256
    size_bytes: Size


class OriginalDigest(Value):
    """One original file. name: as the user named it. path: in the job folder."""

    name: str
    kind: MediaKind
    path: str
    sha256: Sha256
    size_bytes: Size


class EventsDigest(Value):
    """Of the job's events when the report was written. count: how many. head: hash of the last."""

    count: Size
    head: Sha256


class Evidence(Value):
    """job_id, job_number: the number is empty when nobody told it. written_at: of the report.
    variant: of its page. record: the job.json that is attached. originals: in the record's order.
    software: what heard, measured and wrote, as far as it is known. events: None in a manifest of
    schema 1, which did not know them.
    """

    schema_version: Literal[1, 2] = 2
    job_id: str
    job_number: str = ""
    written_at: AwareDatetime
    variant: Variant
    record: RecordDigest
    originals: tuple[OriginalDigest, ...] = ()
    software: tuple[Software, ...] = ()
    events: EventsDigest | None = None


def dump(evidence: Evidence) -> bytes:
    """The content of evidence.json. Equal values give equal bytes: names sorted, UTF-8."""
    values = evidence.model_dump(mode="json")
    return json.dumps(values, ensure_ascii=False, indent=2, sort_keys=True).encode() + b"\n"


def parse(content: bytes) -> Evidence:
    """The manifest in the content of an evidence.json. Raises ValueError, in words."""
    return Evidence.model_validate_json(content)


def digest(content: bytes) -> str:
    """SHA-256 in hexadecimal: of evidence.json the document digest."""
    return hashlib.sha256(content).hexdigest()
