"""What a document says about itself, read again from the two places where it stands."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from pikepdf import Dictionary

from recorder.report.document.pdf import opened


@dataclass(frozen=True)
class Description:
    """xmp: the packet; b"" without one. information: the document information dictionary, by keys
    as ``/Title``.
    """

    xmp: bytes
    information: dict[str, str]


def description(content: bytes, name: str | Path) -> Description:
    """content, name: of the PDF. Raises NotAReport when it cannot be read."""
    with opened(content, name) as pdf:
        packet = pdf.Root.get("/Metadata")
        information = pdf.trailer.get("/Info", Dictionary())
        return Description(
            xmp=packet.read_bytes() if packet is not None else b"",
            information={key: str(value) for key, value in information.items()},
        )
