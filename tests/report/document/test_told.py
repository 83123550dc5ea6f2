"""The description of a document, as it was written and as it is read again."""

from xml.sax.saxutils import escape

import pytest

from recorder.errors import NotAReport
from recorder.report.document.told import description


def test_both_places_are_read(document: bytes) -> None:
    told = description(document, "report.pdf")
    assert told.information.keys() >= {"/Title", "/Author", "/CreationDate", "/Producer"}
    assert escape(told.information["/Title"]).encode() in told.xmp


def test_what_cannot_be_read(document: bytes) -> None:
    with pytest.raises(NotAReport):
        description(document[:200], "report.pdf")
