"""The technician certifies a finished document."""

from __future__ import annotations

from datetime import datetime

from recorder.report.document.about import CUSTOMER, TECHNICIAN
from recorder.report.identity.identity import Identity
from recorder.report.signing import appearance, revision
from recorder.report.signing.revision import Stamp


def certify(
    document: bytes,
    identity: Identity,
    reason: str,
    location: str,
    now: datetime,
    stamp: Stamp | None = None,
    drawing: bytes = b"",
) -> bytes:
    """The document of ``recorder.report.document`` with a signature over every byte of it.

    From then on only the customer's field may be filled (DocMDP 2 and FieldMDP; ISO 32000-1, 12.8).
    The field shows nothing but a drawing: the page tells who signed.
    now: the time to claim, with zone. drawing: what the technician drew by hand, as
    ``recorder.report.signing.drawing`` gives it; empty for none. Raises NotAReport, EngineMissing,
    and what ``identity.sign`` raises.
    """
    statement = revision.Statement(
        field=TECHNICIAN,
        reason=reason,
        location=location,
        at=now,
        certifies=True,
        leaves_open=(CUSTOMER,),
    )
    return revision.add(document, identity, statement, stamp, _shown(document, drawing))


def _shown(document: bytes, drawing: bytes) -> bytes:
    """What the field shows; empty for what it shows already."""
    field = revision.fields(document).get(TECHNICIAN) if drawing else None
    return appearance.own(drawing, (field.width, field.height)) if field else b""
