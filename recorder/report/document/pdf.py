"""PDF files opened and written by pikepdf, whose faults all become one clear error here."""

from __future__ import annotations

import io
import logging
import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

import pikepdf

from recorder.errors import NotAReport, SeamnoteError

LARGEST_STREAM = 32 * 2**20  # bytes, once decompressed; some KB of zeros can stand for gigabytes

pikepdf.settings.set_qpdf_limits(
    flate_max_memory=LARGEST_STREAM,
    png_max_memory=LARGEST_STREAM,
    run_length_max_memory=LARGEST_STREAM,
    tiff_max_memory=LARGEST_STREAM,
    max_stream_filters=1,
)
_BUFFER = re.compile(r"(?:stream )?<[^<>]* object at \w+>:? *")  # how qpdf calls what it reads

logging.getLogger("pikepdf").setLevel(logging.ERROR)


@contextmanager
def opened(content: bytes, name: str | Path) -> Iterator[pikepdf.Pdf]:
    """The parsed PDF. Raises NotAReport, also for what fails while its objects are used.

    A file that must be repaired to be read, or is encrypted, is none that this program wrote.
    """
    try:
        with pikepdf.open(io.BytesIO(content), attempt_recovery=False) as pdf:
            if pdf.is_encrypted:
                raise NotAReport(path=name, detail="it is encrypted")
            yield pdf
    except SeamnoteError:
        raise
    except Exception as error:  # any type can stand in any place of a hostile file
        detail = _BUFFER.sub("", str(error)) or type(error).__name__
        raise NotAReport(path=name, detail=f"it is damaged: {detail}") from error


def saved(pdf: pikepdf.Pdf) -> bytes:
    """The same objects give the same bytes: the identifier is made of them, not of the clock."""
    file = io.BytesIO()
    pdf.save(
        file,
        deterministic_id=True,
        object_stream_mode=pikepdf.ObjectStreamMode.generate,
        fix_metadata_version=False,
    )
    return file.getvalue()


def pdf_date(moment: datetime) -> str:
    """ISO 32000-1, 7.9.4. moment: with zone."""
    offset = f"{moment:%z}"
    return f"D:{moment:%Y%m%d%H%M%S}{offset[:3]}'{offset[3:5]}'"
