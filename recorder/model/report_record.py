"""What is known of one report that was written. The content of its file beside the PDF."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from recorder.model.base import Value

Variant = Literal["full", "short"]


class ReportRecord(Value):
    """path: of the PDF, in the job folder. sha256, size_bytes: of the PDF; the size is None where
    an older program did not keep it.
    written_at: with zone. signer: common name on the technician's key. signatures: how many it
    bears. document_digest: SHA-256 of the evidence manifest in it; empty where it has none.
    variant: of the page; None where it is not known.
    """

    path: str
    sha256: str
    size_bytes: int | None = None
    written_at: datetime
    signer: str
    signatures: int = 1
    document_digest: str = ""
    variant: Variant | None = None


def dump(record: ReportRecord) -> bytes:
    """The content of the file beside the PDF of a report."""
    return record.model_dump_json(indent=2).encode() + b"\n"
