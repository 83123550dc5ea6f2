"""The complete document, read by another library than the one that writes it."""

import io
import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any
from xml.etree import ElementTree

import pypdf
import pytest

from recorder.errors import NotAReport, PageFailed
from recorder.report.document.about import CUSTOMER, TECHNICIAN
from recorder.report.document.assemble import assemble
from tests.external import verapdf
from tests.report.document.conftest import ABOUT, ATTACHMENTS, FIELDS, page

MM = 72 / 25.4
TITLE = ABOUT.title.replace("\x07", "\ufffd")


def catalog(pdf: bytes) -> Any:
    return pypdf.PdfReader(io.BytesIO(pdf)).root_object


def test_it_is_archival_and_accessible(document: bytes) -> None:
    assert verapdf.failures(document, "3a") == []
    assert verapdf.failures(document, "ua1") == []


def test_the_same_page_gives_the_same_bytes(document: bytes) -> None:
    assert assemble(page(), ATTACHMENTS, ABOUT) == document


def test_the_identifier_of_the_page_stays(document: bytes) -> None:
    first, second = pypdf.PdfReader(io.BytesIO(document)).trailer["/ID"]
    assert first == "0123456789abcdef"
    other = assemble(page(identifier=b"fedcba9876543210"), ATTACHMENTS, ABOUT)
    assert pypdf.PdfReader(io.BytesIO(other)).trailer["/ID"][0] == "fedcba9876543210"
    changed = assemble(page(), ATTACHMENTS[:1], ABOUT)
    assert pypdf.PdfReader(io.BytesIO(changed)).trailer["/ID"][1] != second


def test_title_and_origin_are_told_alike_to_all_readers(document: bytes) -> None:
    info = pypdf.PdfReader(io.BytesIO(document)).metadata
    assert info is not None
    assert info.title == TITLE
    assert info.author == ABOUT.author
    assert info.subject == ABOUT.subject
    assert info.creator == ABOUT.creator
    assert info.creation_date == info.modification_date == ABOUT.written_at
    xmp = pypdf.PdfReader(io.BytesIO(document)).xmp_metadata
    assert xmp is not None
    assert xmp.dc_title == {"x-default": TITLE}
    assert xmp.dc_creator == [ABOUT.author]
    assert xmp.dc_description == {"x-default": ABOUT.subject}
    assert xmp.dc_language == [ABOUT.language] == [catalog(document)["/Lang"]]
    assert xmp.xmp_creator_tool == ABOUT.creator
    assert xmp.pdf_producer == info.producer
    assert str(info.producer).startswith("WeasyPrint")
    assert xmp.xmp_create_date.utctimetuple() == ABOUT.written_at.utctimetuple()
    assert catalog(document)["/ViewerPreferences"]["/DisplayDocTitle"]


def test_metadata_can_be_read_without_a_pdf_library(document: bytes) -> None:
    """PDF/A's reason for XMP. The packet itself must be well-formed."""
    (packet,) = re.findall(rb"<x:xmpmeta.*</x:xmpmeta>", document, re.DOTALL)
    assert ElementTree.fromstring(packet)


@pytest.mark.parametrize(("name", "left_mm"), [(TECHNICIAN, 20), (CUSTOMER, 110)])
def test_a_field_lies_where_the_page_left_room(document: bytes, name: str, left_mm: int) -> None:
    fields = {
        field.get_object()["/T"]: field.get_object()
        for field in catalog(document)["/AcroForm"]["/Fields"]
    }
    assert list(fields) == [TECHNICIAN, CUSTOMER]
    assert set(catalog(document)["/AcroForm"]) == {"/Fields"}, "appearances are not left to readers"
    field = fields[name]
    wanted = [left_mm, 297 - 225, left_mm + 80, 297 - 210]
    assert [float(side) / MM for side in field["/Rect"]] == pytest.approx(wanted, abs=0.01)
    assert (field["/FT"], field["/Subtype"], field["/F"]) == ("/Sig", "/Widget", 4)
    assert "/V" not in field
    assert field["/TU"] == ABOUT.labels[name]
    assert [float(side) / MM for side in field["/AP"]["/N"]["/BBox"]] == pytest.approx(
        [0, 0, 80, 15], abs=0.01
    )


def read_out(document: bytes) -> Iterator[Any]:
    """The elements of the structure and the annotations in them, in order."""
    waiting = [catalog(document)["/StructTreeRoot"]["/K"]]
    while waiting:
        element = waiting.pop(0).get_object()
        if isinstance(element, list):
            waiting = [*element, *waiting]
        elif isinstance(element, dict) and element.get("/Type") == "/OBJR":
            yield element["/Obj"].get_object()
        elif isinstance(element, dict):
            yield element
            waiting.insert(0, element["/K"])


def test_fields_are_read_out_where_they_stand(document: bytes) -> None:
    """Between the words before them and what comes after, as form elements of the structure."""
    names = [str(e.get("/S", e.get("/Subtype"))) for e in read_out(document)]
    assert [name for name in names if name not in ("/Document", "/Span", "/Div", "/NonStruct")] == [
        "/H1", "/Figure", "/Figure", "/P", "/Form", "/Widget", "/P", "/Form", "/Widget",
        "/P", "/Link", "/Link",
    ]  # fmt: skip
    assert pypdf.PdfReader(io.BytesIO(document)).pages[0]["/Tabs"] == "/S"
    widgets = [e for e in read_out(document) if e.get("/Subtype") == "/Widget"]
    assert [widget["/T"] for widget in widgets] == [TECHNICIAN, CUSTOMER]
    parents = catalog(document)["/StructTreeRoot"]["/ParentTree"]["/Nums"]
    owner = dict(zip(parents[0::2], parents[1::2], strict=True))
    for widget in widgets:
        assert owner[widget["/StructParent"]].get_object()["/S"] == "/Form"
        assert widget["/P"]["/Type"] == "/Page"


def test_figures_tell_where_they_are(document: bytes) -> None:
    figures = [e for e in read_out(document) if e.get("/S") == "/Figure"]
    assert [figure["/Alt"] for figure in figures] == ["Code for verification: 1", "The gap"]
    for figure in figures:
        box = [float(side) / MM for side in figure["/A"]["/BBox"]]
        assert box == pytest.approx([10, 297 - 120, 50, 297 - 100], abs=0.01)


@pytest.mark.parametrize("times", [0, 2])
def test_a_template_without_room_is_named(times: int) -> None:
    customer = f'<a id="{CUSTOMER}" href="#{CUSTOMER}"></a>'
    fields = FIELDS.replace(customer, customer * times)
    with pytest.raises(PageFailed, match=f"{times} elements <a id={CUSTOMER}>"):
        assemble(page(fields), ATTACHMENTS, ABOUT)


def test_hostile_words_about_it_break_nothing() -> None:
    hostile = (
        "]]> <?xpacket end='w'?> </rdf:RDF> &amp; {x} \x00 \ud800 \uffff 🙂 ) \\ (" + "x" * 5000
    )
    document = assemble(page(), ATTACHMENTS, replace(ABOUT, title=hostile, author=hostile))
    assert verapdf.failures(document, "3a") == []
    info = pypdf.PdfReader(io.BytesIO(document)).metadata
    xmp = pypdf.PdfReader(io.BytesIO(document)).xmp_metadata
    assert info is not None
    assert xmp is not None
    assert xmp.dc_creator == [info.author] == [re.sub("[\x00\ud800\uffff]", "\ufffd", hostile)]


@pytest.mark.parametrize("broken", [b"", b"%PDF-1.7\n", page()[:-200]])
def test_what_is_no_pdf_is_one_line(broken: bytes) -> None:
    with pytest.raises(NotAReport):
        assemble(broken, ATTACHMENTS, ABOUT)
