"""The text of a tagged PDF in the order of its structure tree, as a screen reader tells it.

By pypdf (https://pypdf.readthedocs.io): what each marked-content sequence shows, then the tree over
these (ISO 32000-1, 14.7.4.2 and 14.8.2.3). poppler's pdfinfo can do the same and takes a minute.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from pypdf import PageObject, PdfReader
from pypdf.generic import ArrayObject, DictionaryObject

Pieces = dict[tuple[int, int], str]


def in_order(path: Path) -> list[str]:
    """Pieces of text; empty ones where a sequence shows none."""
    reader = PdfReader(path)
    pieces: Pieces = {}
    for page in reader.pages:
        _collect(page, pieces)
    root: Any = reader.trailer["/Root"]
    return list(_told(root["/StructTreeRoot"].raw_get("/K"), 0, pieces))


def _collect(page: PageObject, pieces: Pieces) -> None:
    """Add the text of each sequence of a page, by the page's object number and the sequence's."""
    assert page.indirect_reference
    number = page.indirect_reference.idnum
    open_ones: list[int | None] = []

    def operator(name: bytes, operands: Any, *_: Any) -> None:
        if name in (b"BDC", b"BMC"):
            properties = operands[1] if len(operands) > 1 else None
            open_ones.append(properties.get("/MCID") if isinstance(properties, dict) else None)
        elif name == b"EMC":
            open_ones.pop()

    def text(shown: str, *_: Any) -> None:
        if shown.strip() and open_ones and open_ones[-1] is not None:
            key = number, open_ones[-1]
            pieces[key] = pieces.get(key, "") + shown

    page.extract_text(visitor_operand_before=operator, visitor_text=text)


def _told(node: Any, page: int, pieces: Pieces) -> Iterator[str]:
    """node: an element, a list of these, or the number of a sequence on the page."""
    found = node.get_object()
    if isinstance(found, ArrayObject):
        for kid in found:
            yield from _told(kid, page, pieces)
    elif isinstance(found, int):
        yield pieces.get((page, found), "")
    elif isinstance(found, DictionaryObject):
        on = found.raw_get("/Pg").idnum if "/Pg" in found else page
        if found.get("/Type") == "/MCR":
            sequence: Any = found["/MCID"]
            yield pieces.get((on, sequence), "")
        elif "/K" in found:
            yield from _told(found.raw_get("/K"), on, pieces)
