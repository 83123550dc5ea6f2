"""The code on the first page: what a phone reads to tell this report from any other."""

from __future__ import annotations

import io
from datetime import datetime
from urllib.parse import quote

import segno

QUIET_MODULES = 4  # the light margin that ISO/IEC 18004 wants around a QR code
LONGEST_NUMBER = 40  # of a job; with a longer one the modules get too small for a phone


def text(number: str, job_id: str, written: datetime, digest: str) -> str:
    """'seamnote:report?job=4817&date=2026-11-25&sha256=…', which ``seamnote verify`` compares.

    number: of the job; its id stands in where that is empty or too long.
    digest: of the document, SHA-256 in hex.
    """
    name = number if 0 < len(number) <= LONGEST_NUMBER else job_id
    job = quote(name, safe="", errors="replace")
    return f"seamnote:report?job={job}&date={written:%Y-%m-%d}&sha256={digest}"


def drawing(said: str) -> bytes:
    """The text as a QR code in SVG, black on white, with its quiet zone; the same bytes each time.

    Correction level M mends about 15 % of damage (ISO/IEC 18004), for a page that gets dirty.
    Raises ValueError when the text is longer than a code can hold.
    """
    out = io.BytesIO()
    code = segno.make_qr(said, error="m", boost_error=False, encoding="utf-8")
    code.save(out, kind="svg", border=QUIET_MODULES, xmldecl=False, light="white", nl=False)
    return out.getvalue()
