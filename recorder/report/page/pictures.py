"""The pages of a report as pictures for a screen: the wrapper around PDFium."""

from __future__ import annotations

import io
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pypdfium2

from recorder.errors import NotAReport

MOST_PAGES = 200
LONGEST_PX = 1800  # of the longer side: sharp on a tablet, and no more than 4 megapixels
_one_at_a_time = threading.Lock()  # PDFium keeps state of its own and is not for several threads


def count(path: Path) -> int:
    """How many pages a PDF has. Raises NotAReport."""
    with _opened(path) as document:
        return len(document)


def picture(path: Path, number: int) -> bytes:
    """Page ``number``, from 1, as PNG. Raises NotAReport, also where it has no such page."""
    with _opened(path) as document:
        if not 1 <= number <= len(document):
            raise NotAReport(path=path, detail=f"it has no page {number}")
        page = document[number - 1]
        scale = LONGEST_PX / max(*page.get_size(), 1.0)
        shown = page.render(scale=scale, may_draw_forms=True)
        file = io.BytesIO()
        shown.to_pil().save(file, "PNG")
        return file.getvalue()


def drawn(pdf: bytes, width_px: int) -> bytes:
    """The first page of a PDF of our own as PNG of so many pixels across."""
    with _one_at_a_time:
        document = pypdfium2.PdfDocument(pdf)
        try:
            page = document[0]
            shown = page.render(scale=width_px / page.get_width())
            file = io.BytesIO()
            shown.to_pil().convert("RGB").save(file, "PNG", optimize=True)
            return file.getvalue()
        finally:
            document.close()


@contextmanager
def _opened(path: Path) -> Iterator[Any]:
    with _one_at_a_time:
        try:
            document = pypdfium2.PdfDocument(path)
        except (pypdfium2.PdfiumError, OSError) as error:
            raise NotAReport(path=path, detail=str(error)) from error
        try:
            document.init_forms()  # the drawn signatures are fields of a form
            if len(document) > MOST_PAGES:
                raise NotAReport(path=path, detail=f"it has more than {MOST_PAGES} pages")
            yield document
        except pypdfium2.PdfiumError as error:
            raise NotAReport(path=path, detail=str(error)) from error
        finally:
            document.close()
