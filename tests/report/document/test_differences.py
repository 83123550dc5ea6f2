"""Two states of a file, compared from the trailer down."""

import io
from collections.abc import Callable

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Pdf, Stream

from recorder.errors import NotAReport
from recorder.report.document.differences import Difference, differences


def changed(document: bytes, change: Callable[[Pdf], None]) -> bytes:
    with pikepdf.open(io.BytesIO(document)) as pdf:
        change(pdf)
        out = io.BytesIO()
        pdf.save(out, static_id=True, preserve_pdfa=False, fix_metadata_version=False)
        return out.getvalue()


def found(document: bytes, change: Callable[[Pdf], None]) -> list[Difference]:
    """By a rewritten file, whose objects have the numbers that qpdf gives them."""
    before = changed(document, lambda pdf: None)
    return list(differences(before, changed(document, change), "report.pdf"))


def test_the_same_has_none(document: bytes) -> None:
    assert differences(document, document, "report.pdf") == ()
    assert found(document, lambda pdf: None) == []


def test_a_changed_stream(document: bytes) -> None:
    def change(pdf: Pdf) -> None:
        pdf.Root.Metadata.write(b"<other/>")

    assert found(document, change) == [Difference(("/Root", "/Metadata"), "changed")]


def test_a_changed_text(document: bytes) -> None:
    def change(pdf: Pdf) -> None:
        pdf.Root.Lang = "fr"

    assert found(document, change) == [Difference(("/Root", "/Lang"), "changed")]


def test_what_was_added_and_removed(document: bytes) -> None:
    def change(pdf: Pdf) -> None:
        pdf.Root.OpenAction = Dictionary(S=Name.Named, N=Name.Print)
        del pdf.Root.ViewerPreferences

    assert set(found(document, change)) == {
        Difference(("/Root", "/OpenAction"), "added"),
        Difference(("/Root", "/ViewerPreferences"), "removed"),
    }


def test_a_page_that_is_drawn_over(document: bytes) -> None:
    def change(pdf: Pdf) -> None:
        page = pdf.pages[0].obj
        more = Stream(pdf, b"1 g 0 0 100 100 re f")
        page.Contents = Array([page.Contents, pdf.make_indirect(more)])

    way = ("/Root", "/Pages", "/Kids", "0", "/Contents")
    assert Difference(way, "extended") in found(document, change)


def test_a_field_is_met_as_a_field(document: bytes) -> None:
    def change(pdf: Pdf) -> None:
        pdf.Root.AcroForm.Fields[1].T = "Another"

    way = ("/Root", "/AcroForm", "/Fields", "1", "/T")
    assert found(document, change) == [Difference(way, "changed")]


def test_what_cannot_be_read(document: bytes) -> None:
    with pytest.raises(NotAReport):
        differences(document, document[: len(document) // 2], "report.pdf")
