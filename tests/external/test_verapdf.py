"""The judge of the PDF standards is shown what it must condemn."""

import re

import pytest
from weasyprint import HTML

from tests.external import verapdf

PAGE = "<html lang=en><title>Page</title><h1>A page</h1><p>Text</p>"
ID = b"0123456789abcdef"


@pytest.mark.parametrize(
    ("flavour", "missing"),
    [
        ("3a", {"6.2.4.3 t2", "6.6.2.1 t1"}),  # an output intent for its colours, and XMP
        ("ua1", {"7.1 t8"}),  # XMP
    ],
)
def test_a_plain_page_fails(flavour: verapdf.Flavour, missing: set[str]) -> None:
    told = verapdf.failures(HTML(string=PAGE).write_pdf(pdf_identifier=ID, pdf_tags=True), flavour)
    assert {line.partition(":")[0] for line in told} == missing
    assert all(re.search(r" \(root/document\[0\]", line) for line in told), "where it is"


@pytest.mark.parametrize(
    ("flavour", "variant", "unmarked"),
    [("3a", "pdf/a-3a", "6.7.2.2 t1"), ("ua1", "pdf/ua-1", "6.2 t1")],
)
def test_one_thing_wrong_is_told_alone(
    flavour: verapdf.Flavour, variant: str, unmarked: str
) -> None:
    good = HTML(string=PAGE).write_pdf(
        pdf_identifier=ID, pdf_variant=variant, uncompressed_pdf=True
    )
    assert verapdf.failures(good, flavour) == []
    bad = good.replace(b"/Marked true", b"/Marked null")
    (line,) = verapdf.failures(bad, flavour)
    assert line.startswith(unmarked)


@pytest.mark.parametrize("flavour", ["3a", "ua1"])
@pytest.mark.parametrize("pdf", [b"", b"%PDF-1.7 and no more"])
def test_what_cannot_be_read_does_not_pass(pdf: bytes, flavour: verapdf.Flavour) -> None:
    (line,) = verapdf.failures(pdf, flavour)
    assert line.startswith("cannot be judged")
