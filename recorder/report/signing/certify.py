"""The technician certifies a finished document."""

from __future__ import annotations

from datetime import datetime

from recorder.report.document.about import CUSTOMER, TECHNICIAN
from recorder.report.identity.identity import Identity
from recorder.report.signing import revision
from recorder.report.signing.revision import Stamp


def certify(
    document: bytes,
    identity: Identity,
    reason: str,
    location: str,
    now: datetime,
    stamp: Stamp | None = None,
) -> bytes:
    """The document of ``recorder.report.document`` with a signature over every byte of it.

    From then on only the customer's field may be filled (DocMDP 2 and FieldMDP; ISO 32000-1, 12.8).
    The field shows nothing of its own: the page tells who signed.
    now: the time to claim, with zone. Raises NotAReport, and what ``identity.sign`` raises.
    """
    statement = revision.Statement(
        field=TECHNICIAN,
        reason=reason,
        location=location,
        at=now,
        certifies=True,
        leaves_open=(CUSTOMER,),
    )
    return revision.add(document, identity, statement, stamp)
