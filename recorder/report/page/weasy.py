"""HTML to PDF: the wrapper around WeasyPrint, closed to the disk and to the network."""

from __future__ import annotations

import contextlib
import io
import logging
import mimetypes
import warnings
from collections.abc import Mapping
from types import ModuleType
from typing import Any

from PIL import ImageFile

from recorder.errors import EngineMissing, PageFailed

INSTALL = "sudo apt-get install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0"


def pdf(html: str, files: Mapping[str, bytes], identifier: bytes) -> bytes:
    """Set a page. The same three arguments give the same bytes.

    files: everything that the page may fetch, by address; no other address is ever followed.
    identifier: of the document, 16 bytes. Raises EngineMissing when Pango is not installed, and
    PageFailed when the engine breaks on the page.
    """
    engine = _engine()
    try:
        document = engine.HTML(string=html, url_fetcher=_fetcher(files))
        return bytes(document.write_pdf(pdf_identifier=identifier, pdf_tags=True))
    except Exception as error:  # its layout asserts and indexes; no list of kinds is complete
        detail = f"{type(error).__name__}: {error}".removesuffix(": ")
        raise PageFailed(detail=detail) from error


def patch(html: str, files: Mapping[str, bytes]) -> bytes:
    """A page without tags, for use as a picture inside another document, which tags it.

    files and errors: as for ``pdf``.
    """
    engine = _engine()
    try:
        document = engine.HTML(string=html, url_fetcher=_fetcher(files))
        return bytes(document.write_pdf(pdf_tags=False))
    except Exception as error:  # as above
        detail = f"{type(error).__name__}: {error}".removesuffix(": ")
        raise PageFailed(detail=detail) from error


def version() -> str:
    """The engine's version. Raises EngineMissing."""
    return str(_engine().__version__)


def _engine() -> ModuleType:
    """WeasyPrint, whose import fails with OSError and prints advice when Pango is missing."""
    try:
        with contextlib.redirect_stdout(io.StringIO()), warnings.catch_warnings():
            warnings.simplefilter("ignore")
            import weasyprint
    except (ImportError, OSError) as error:
        raise EngineMissing(
            engine="WeasyPrint with Pango", detail=str(error).split(": ")[0], install=INSTALL
        ) from error
    logging.getLogger("fontTools").setLevel(logging.ERROR)
    # Its import tells Pillow to fill up cut-off pictures in grey, in the whole process.
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    return weasyprint  # type: ignore[no-any-return]


def _fetcher(files: Mapping[str, bytes]) -> Any:
    from weasyprint.urls import URLFetcher, URLFetcherResponse

    class OnlyOurs(URLFetcher):  # type: ignore[misc]
        def fetch(self, url: str, headers: Any = None) -> Any:
            if url not in files:
                raise ValueError("a report fetches nothing but its own pictures and fonts")
            kind = mimetypes.guess_type(url)[0] or "application/octet-stream"
            return URLFetcherResponse(url, files[url], {"Content-Type": kind})

    return OnlyOurs(allowed_protocols=())
