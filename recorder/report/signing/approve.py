"""The customer approves a certified report, with a drawing that the technician witnesses."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from recorder.errors import BadValue, CannotApprove
from recorder.report.content.text import UNPRINTABLE, clean
from recorder.report.document.about import CUSTOMER, TECHNICIAN
from recorder.report.identity.identity import Identity
from recorder.report.signing import appearance, revision
from recorder.report.signing.drawing import normalised
from recorder.report.signing.revision import Field, Stamp
from recorder.report.wording.wording import say


def approve(
    report: bytes,
    identity: Identity,
    drawing: bytes,
    name: str,
    at: datetime,
    stamp: Stamp | None = None,
    overrides: Path | None = None,
) -> bytes:
    """The report with a second revision, in which the customer's field shows the drawing.

    report: certified by the technician, and intact as the caller has verified. identity: of the
    technician as witness; the customer has no key, and the signature does not pretend so.
    drawing: PNG, JPEG or WebP. name: of the person who drew. at: the time to claim, with zone.
    overrides: the folder of the firm's own templates, for its fonts.
    Raises BadValue for a name, NotADrawing, CannotApprove, NotAReport, EngineMissing, BadTemplate,
    and what ``identity.sign`` raises.
    """
    shown = _shown(name)
    picture = normalised(drawing)
    field = _open_field(revision.fields(report))
    statement = revision.Statement(
        field=CUSTOMER,
        reason=say("Approved by {name}: {manner}", name=shown, manner=appearance.manner()),
        location="",
        at=at,
    )
    looks = appearance.drawn(picture, shown, at, (field.width, field.height), overrides)
    return revision.add(report, identity, statement, stamp, looks)


def _shown(name: str) -> str:
    line = clean(name).strip()
    if not any(char.isalnum() and char != UNPRINTABLE for char in line):
        hint = "give the name of the person who drew the signature"
    elif len(line) > appearance.LONGEST_NAME:
        hint = f"give at most {appearance.LONGEST_NAME} characters"
    else:
        return line
    raise BadValue(value=name[:200], field="a customer's name", hint=hint)


def _open_field(fields: dict[str, Field]) -> Field:
    if TECHNICIAN not in fields or not fields[TECHNICIAN].filled:
        detail, mend = "it is a draft or was not signed", "sign it first with 'seamnote report'"
    elif CUSTOMER not in fields:
        detail = "it has no place for the customer's signature"
        mend = "write it anew with 'seamnote report'"
    elif fields[CUSTOMER].filled:
        detail, mend = "the customer has signed it already", "nothing is left to do"
    elif not appearance.fits(fields[CUSTOMER].width, fields[CUSTOMER].height):
        detail = "its place for the customer's signature is too small"
        mend = f"give <a id={CUSTOMER}> of the template more room and write the report anew"
    else:
        return fields[CUSTOMER]
    raise CannotApprove(path="the report", detail=detail, mend=mend)
