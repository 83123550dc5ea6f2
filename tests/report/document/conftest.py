"""One small page with everything that a document is made of."""

from datetime import datetime, timedelta, timezone
from typing import Any

import pytest
import weasyprint

from recorder.report.document.about import CUSTOMER, TECHNICIAN, About, Attachment
from recorder.report.document.assemble import assemble

BLOCK = """<div id="{side}" class="block {side}"><p>{side}</p>
<a id="{field}" href="#{field}"></a></div>"""
FIELDS = BLOCK.format(side="technician", field=TECHNICIAN) + BLOCK.format(
    side="customer", field=CUSTOMER
)
PAGE = """<html lang="en"><title>Page</title><style>
@page { size: 210mm 297mm; margin: 0 }
.block { position: absolute; top: 200mm; width: 80mm; height: 30mm }
.technician { left: 20mm } .customer { left: 110mm }
.block a { position: absolute; left: 0; top: 10mm; width: 80mm; height: 15mm }
svg { position: absolute; left: 10mm; top: 100mm; width: 40mm; height: 20mm }
</style><h1>A report</h1>
<svg viewBox="0 0 40 20"><title>Code for verification: 1</title><rect width="40" height="20"/></svg>
<svg viewBox="0 0 40 20"><title>The gap</title><rect width="40" height="20"/></svg>
FIELDS
<p><a href="#customer">Signatures</a></p>"""
ATTACHMENTS = (
    Attachment("job.json", b'{"id": 1}\r\n\x00\xff', "application/json", "Source", "The record"),
    Attachment("evidence.json", b"{}" * 50_000, "application/json", "Data", "The originals"),
)
ABOUT = About(
    title='Splice report 4817, <Larkfield> & "Sons" 日本\x07',
    author="Quillback Belt Service",
    subject="Record of a splice",
    language="en-GB",
    written_at=datetime(2026, 3, 4, 11, 40, 5, tzinfo=timezone(-timedelta(hours=3, minutes=30))),
    creator="Seamnote 0.1.0",
    labels={TECHNICIAN: "Signature of the technician", CUSTOMER: "Signature of the customer"},
)


def page(fields: str = FIELDS, identifier: bytes = b"0123456789abcdef", **options: Any) -> bytes:
    html = weasyprint.HTML(string=PAGE.replace("FIELDS", fields))
    pdf: bytes = html.write_pdf(pdf_identifier=identifier, pdf_variant="pdf/a-3a", **options)
    return pdf


@pytest.fixture(scope="session")
def document() -> bytes:
    return assemble(page(), ATTACHMENTS, ABOUT)
