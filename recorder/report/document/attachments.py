"""Files inside a document: put in as associated files (ISO 19005-3, 6.8), and read again."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

import pikepdf
from pikepdf import Array, Dictionary, Name, Stream, String

from recorder.errors import NotAReport
from recorder.report.document.about import Attachment
from recorder.report.document.pdf import LARGEST_STREAM, opened, pdf_date

MOST = 16  # files in a document that is read


def attach(pdf: pikepdf.Pdf, attachments: Sequence[Attachment], written_at: datetime) -> None:
    date = pdf_date(written_at)
    names = Array()
    for attachment in sorted(attachments, key=lambda attachment: attachment.name):
        file = Stream(pdf, attachment.content)
        file.Type = Name.EmbeddedFile
        file.Subtype = Name(f"/{attachment.media_type}")
        file.Params = Dictionary(
            Size=len(attachment.content),
            CheckSum=_fingerprint(attachment.content),
            CreationDate=date,
            ModDate=date,
        )
        specification = Dictionary(
            Type=Name.Filespec,
            F=attachment.name,
            UF=attachment.name,
            Desc=attachment.description,
            AFRelationship=Name(f"/{attachment.relationship}"),
            EF=Dictionary(F=file, UF=file),
        )
        names.extend([String(attachment.name), pdf.make_indirect(specification)])
    pdf.Root.AF = Array(names[1::2])
    pdf.Root.Names.EmbeddedFiles = Dictionary(Names=names)


def attached(content: bytes, name: str | Path) -> dict[str, bytes]:
    """The files inside a document by their names, as ``attach`` puts them in; {} for none.

    content, name: of the PDF. Raises NotAReport for a PDF that cannot be read, or whose files are
    put in in another way, are ambiguous, or too many or too large.
    """
    with opened(content, name) as pdf:
        names = pdf.Root.get("/Names", Dictionary()).get("/EmbeddedFiles", Dictionary())
        pairs = list(names.get("/Names", ()))
        if "/Kids" in names or len(pairs) % 2 or len(pairs) > 2 * MOST:
            raise NotAReport(path=name, detail="its attachments are not those of a report")
        files: dict[str, bytes] = {}
        for key, specification in zip(pairs[0::2], pairs[1::2], strict=True):
            called = str(key)
            one, other = specification.EF.F, specification.EF.UF
            names_agree = called == str(specification.F) == str(specification.UF)
            if one.objgen != other.objgen or not names_agree or called in files:
                raise NotAReport(path=name, detail=f"its attachment {called!r} is ambiguous")
            files[called] = one.read_bytes()
            if _fingerprint(files[called]) != one.Params.CheckSum:
                # A damaged stream is decompressed as far as it goes, without a word.
                raise NotAReport(path=name, detail=f"its attachment {called!r} is damaged")
            if sum(map(len, files.values())) > LARGEST_STREAM:
                raise NotAReport(path=name, detail="its attachments are too large")
    return files


def _fingerprint(content: bytes) -> String:
    """ISO 32000-1, table 46, wants an MD5; what is relied on stands in the evidence manifest."""
    return String(hashlib.md5(content, usedforsecurity=False).digest())
