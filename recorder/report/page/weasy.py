"""HTML to PDF: the wrapper around WeasyPrint, closed to the disk and to the network."""

from __future__ import annotations

import atexit
import contextlib
import gc
import io
import logging
import mimetypes
import re
import threading
import warnings
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import ModuleType
from typing import Any

from PIL import ImageFile

from recorder.errors import EngineMissing, PageFailed

INSTALL = "sudo apt-get install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0"


@dataclass(frozen=True, eq=False)
class Style:
    """Style sheets and fonts, read once. faults: name of a sheet, line, and what is wrong."""

    sheets: tuple[Any, ...]
    fonts: Any
    faults: tuple[tuple[str, int, str], ...]


_styles: dict[bytes, Style] = {}
atexit.register(_styles.clear)  # while the engine can still remove its copies of the fonts
_MOST_STYLES = 4
_one_page = threading.RLock()  # Pango's map of fonts is one for all threads


def style(digest: bytes, sheets: Sequence[tuple[str, str]], files: Mapping[str, bytes]) -> Style:
    """Style sheets by name, the last one counts most; what they may fetch by address.

    digest: of both; the same one gives the same value. Raises EngineMissing.
    """
    engine = _engine()
    from weasyprint.text.fonts import FontConfiguration

    with _one_page:
        if digest not in _styles:
            fonts = FontConfiguration()
            read, faults = [], []
            for name, text in sheets:
                with _listening() as complaints:
                    read.append(
                        engine.CSS(string=text, url_fetcher=_fetcher(files), font_config=fonts)
                    )
                faults += [(name, line, detail) for line, detail in complaints]
            while len(_styles) >= _MOST_STYLES:
                _styles.pop(next(iter(_styles)))
            _styles[digest] = Style(tuple(read), fonts, tuple(faults))
        return _styles[digest]


@contextlib.contextmanager
def _listening() -> Iterator[list[tuple[int, str]]]:
    """The engine's complaints about a style sheet: line, and what is wrong."""
    found: list[tuple[int, str]] = []

    class Listener(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            said = record.getMessage()
            place = re.search(r" at (\d+):\d+", said)
            found.append((int(place[1]) if place else 1, said))

    listener = Listener(logging.WARNING)
    logger = logging.getLogger("weasyprint")
    logger.addHandler(listener)
    try:
        yield found
    finally:
        logger.removeHandler(listener)


@contextlib.contextmanager
def _uncollected() -> Iterator[None]:
    """Without the garbage collector, which looks through all boxes again and again in vain."""
    if not gc.isenabled():
        yield
        return
    gc.disable()
    try:
        yield
    finally:
        gc.enable()


def pdf(
    html: str, files: Mapping[str, bytes], identifier: bytes, style: Style | None = None
) -> bytes:
    """Set a page as PDF/A-3a with tags. The same arguments give the same bytes.

    files: everything that the page may fetch, by address; no other address is ever followed.
    identifier: of the document, 16 bytes. Raises EngineMissing when Pango is not installed, and
    PageFailed when the engine breaks on the page.
    """
    engine = _engine()
    look = {"stylesheets": style.sheets, "font_config": style.fonts} if style else {}
    try:
        document = engine.HTML(string=html, url_fetcher=_fetcher(files))
        with _one_page, _uncollected():
            written = document.write_pdf(
                pdf_identifier=identifier, pdf_variant="pdf/a-3a", pdf_tags=True, **look
            )
    except Exception as error:  # its layout asserts and indexes; no list of kinds is complete
        detail = f"{type(error).__name__}: {error}".removesuffix(": ")
        raise PageFailed(detail=detail) from error
    return bytes(written)


def patch(html: str, files: Mapping[str, bytes], style: Style | None = None) -> bytes:
    """A page without tags, for use as a picture: inside another document, which tags it, or alone.

    files and errors: as for ``pdf``.
    """
    engine = _engine()
    look = {"stylesheets": style.sheets, "font_config": style.fonts} if style else {}
    try:
        document = engine.HTML(string=html, url_fetcher=_fetcher(files))
        with _one_page:
            return bytes(document.write_pdf(pdf_tags=False, **look))
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
