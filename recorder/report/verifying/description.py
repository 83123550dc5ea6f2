"""Whether what a document says about itself is said alike in both places (XMP and information).

ISO 19005-3, 6.6.3, wants the two to agree; readers show now the one and now the other.
"""

from __future__ import annotations

import re
from datetime import datetime
from xml.etree import ElementTree

from recorder.report.document.told import Description
from recorder.report.verifying.reasons import Fault, Finding

_RDF = "{http://www.w3.org/1999/02/22-rdf-syntax-ns#}"
_DC = "{http://purl.org/dc/elements/1.1/}"
_XMP = "{http://ns.adobe.com/xap/1.0/}"
_IDENTIFIERS = {  # PDF/A-3a (ISO 19005-3, 6.6.4) and PDF/UA-1 (ISO 14289-1, 5)
    "{http://www.aiim.org/pdfa/ns/id/}part": "3",
    "{http://www.aiim.org/pdfa/ns/id/}conformance": "A",
    "{http://www.aiim.org/pdfua/ns/id/}part": "1",
}
_DATE = re.compile(r"D:(\d{14})(?:Z|([+-]\d\d)'(\d\d)'?)")


def contradictions(description: Description, complete: bool) -> tuple[Finding, ...]:
    """complete: the document is one of this program's complete ones, which claim both standards."""
    if not description.xmp and not complete:
        return ()
    try:
        told = _told(description.xmp)
    except (ElementTree.ParseError, ValueError) as error:
        return (Finding.of(Fault.METADATA_INCONSISTENT, f"its XMP cannot be read: {error}"),)
    found = []
    information = description.information
    titles = told.get(f"{_DC}title", ""), information.get("/Title", "")
    # XML makes one kind of white space out of another.
    if titles[0].split() != titles[1].split():
        found.append("two titles")
    if complete and _moment(told.get(f"{_XMP}CreateDate", "")) != _date(
        information.get("/CreationDate", "")
    ):
        found.append("two dates")
    if complete and any(told.get(name) != value for name, value in _IDENTIFIERS.items()):
        found.append("it does not claim PDF/A-3a and PDF/UA-1")
    return tuple(Finding.of(Fault.METADATA_INCONSISTENT, each) for each in found)


def _told(xmp: bytes) -> dict[str, str]:
    """The properties of a packet by name, the first item of those that are lists."""
    if b"<!" in xmp:  # a document type could define entities; XMP has none
        raise ValueError("it holds a document type")
    told: dict[str, str] = {}
    for described in ElementTree.fromstring(xmp).iter(f"{_RDF}Description"):
        properties = [*described.attrib.items()]
        properties += [
            (each.tag, next((item.text or "" for item in each.iter(f"{_RDF}li")), each.text or ""))
            for each in described
        ]
        for name, value in properties:
            if name != f"{_RDF}about" and told.setdefault(name, value) != value:
                raise ValueError(f"it tells {name.rpartition('}')[2]} twice")
    return told


def _moment(text: str) -> datetime | None:
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        return None


def _date(text: str) -> datetime | None:
    match = _DATE.fullmatch(text)
    if match is None:
        return None
    digits, hours, minutes = match.groups()
    zone = f"{hours}{minutes}" if hours else "+0000"
    try:
        return datetime.strptime(f"{digits}{zone}", "%Y%m%d%H%M%S%z")
    except ValueError:
        return None
