"""A technician who holds the key, and a file in which his reader and the customer's see two pages.

Each was shown so by poppler, which the attacks in tests/external do not need to know.
"""

import io

import pikepdf
import pytest

from recorder.report.signing import appearance
from recorder.report.verifying import ambiguity
from recorder.report.verifying.reasons import Fault, Finding
from tests.report.verifying import reports
from tests.report.verifying.conftest import Judge


def reasons(found: tuple[Finding, ...]) -> list[object]:
    return [each.reason for each in found]


def test_a_linearised_document(judge: Judge) -> None:
    """Its first cross-reference counts for some readers as soon as its told length is right."""
    file = io.BytesIO()
    with pikepdf.open(io.BytesIO(reports.document())) as pdf:
        pdf.save(file, linearize=True, deterministic_id=True)
    found = judge(reports.signed(file.getvalue(), reports.firm()))
    assert reasons(found.faults) == [Fault.AMBIGUOUS]
    assert "linearised" in found.failed


def test_its_name_in_another_spelling() -> None:
    beginning = b"%PDF-1.7\n1 0 obj\n<< /Line#61rized 1 >>\nendobj\n"
    assert reasons(ambiguity.of_file(beginning, ())) == [Fault.AMBIGUOUS]


@pytest.mark.parametrize(
    "tail",
    [
        b"startxref\n" + b" " * 1015 + b"12345\n%%EOF\n",  # further than poppler looks
        b"startxref\r\n12345\r\n%%EOF\n",
        b"startxref\n12345\n%%EOF\n%%EOF\n",
        b"%%EOF\n",
    ],
)
def test_an_end_that_not_every_reader_finds(tail: bytes) -> None:
    good = b"%PDF-1.7\nstartxref\n12345\n%%EOF\n"
    assert ambiguity.of_file(good, (len(good),)) == ()
    bad = b"%PDF-1.7\n" + tail
    assert reasons(ambiguity.of_file(bad, (len(bad),))) == [Fault.AMBIGUOUS]


def drawn(content: bytes) -> bytes:
    file = io.BytesIO()
    with pikepdf.new() as pdf:
        pdf.add_blank_page(page_size=(241, 96))
        pdf.pages[0].Contents = pikepdf.Stream(pdf, content)
        pdf.save(file, compress_streams=False)
    return file.getvalue()


def test_an_object_hidden_in_the_drawing(judge: Judge, monkeypatch: pytest.MonkeyPatch) -> None:
    """Found by a reader that searches the file for objects, in place of the page's own content."""
    hidden = b"q Q\n9 0 obj\n<< /Length 30 >>\nstream\n1 g 0 500 600 300 re f\nendstream\nendobj\n"
    verdicts = []
    for content in (hidden, b"q Q"):
        monkeypatch.setattr(appearance, "drawn", lambda *_, content=content: drawn(content))
        verdicts.append(judge(reports.witnessed(reports.certified(), reports.firm())))
    assert [reasons(each.faults) for each in verdicts] == [[Fault.AMBIGUOUS], []]
    assert "hidden" in verdicts[0].failed


def test_a_name_like_an_object(judge: Judge, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reports, "CUSTOMER_NAME", "9 0 obj endobj /ByteRange [0 1 2 3] startxref")
    assert judge(reports.witnessed(reports.certified(), reports.firm())).failed == ""
