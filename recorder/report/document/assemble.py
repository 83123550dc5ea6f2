"""The PDF of the page to the complete document, ready to be signed, stage by stage."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pikepdf
from pikepdf import Dictionary, Name, Stream

from recorder.report.document import signature_fields, structure, xmp
from recorder.report.document.about import About, Attachment
from recorder.report.document.attachments import attach
from recorder.report.document.pdf import opened, pdf_date, saved


def assemble(page: bytes, attachments: Sequence[Attachment], about: About) -> bytes:
    """One file that is both PDF/A-3a (ISO 19005-3) and PDF/UA-1 (ISO 14289-1).

    page: PDF/A-3a of ``recorder.report.page``, whose identifier the document keeps. The same
    arguments give the same bytes. Nothing is to be signed where ``about`` has no labels. Raises
    PageFailed when the page has no room for a signature.
    """
    with opened(page, "the page of the report") as pdf:
        structure.place_figures(pdf)
        if about.labels:
            signature_fields.place(pdf, about.labels)
        if attachments:
            attach(pdf, attachments, about.written_at)
        _describe(pdf, about)
        return saved(pdf)


def _describe(pdf: pikepdf.Pdf, about: About) -> None:
    """Language, title and origin, the same in the three places where readers look for them."""
    about = replace(
        about,
        title=xmp.plain(about.title),
        author=xmp.plain(about.author),
        subject=xmp.plain(about.subject),
    )
    producer = str(pdf.docinfo.Producer)
    pdf.Root.Lang = about.language
    pdf.Root.ViewerPreferences = Dictionary(DisplayDocTitle=True)
    date = pdf_date(about.written_at)
    pdf.trailer.Info = pdf.make_indirect(
        Dictionary(
            Title=about.title,
            Author=about.author,
            Subject=about.subject,
            Creator=about.creator,
            Producer=producer,
            CreationDate=date,
            ModDate=date,
        )
    )
    pdf.Root.Metadata = Stream(
        pdf, xmp.packet(about, producer), Type=Name.Metadata, Subtype=Name.XML
    )
