"""Signing a report: PAdES B-B by pyHanko, as a certification of the whole document."""

from __future__ import annotations

import io
import logging
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime
from pathlib import Path
from typing import Any

from asn1crypto import keys, x509
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.pdf_utils.layout import LayoutError
from pyhanko.pdf_utils.misc import PdfError
from pyhanko.sign.fields import MDPPerm, SigFieldSpec, SigSeedSubFilter
from pyhanko.sign.general import SigningError
from pyhanko.sign.signers import PdfSignatureMetadata, PdfSigner, SimpleSigner
from pyhanko.sign.signers.pdf_signer import PdfSigningSession
from pyhanko.stamp import StaticStampStyle
from pyhanko_certvalidator.registry import SimpleCertificateStore

from recorder.errors import IdentityUnusable, NotAReport
from recorder.report.identity.identity import Identity

FIELD = "TechnicianSignature"
ANCHOR = "signature-technician"  # the id of the block which report.html draws for it
BLOCK_MM = (85.0, 34.0)  # width and height of that block, as report.css draws it
POINTS_PER_MM = 72 / 25.4

# The page itself draws what is signed by whom; the field over it only makes that block clickable.
NOTHING_DRAWN = StaticStampStyle(border_width=0, background_opacity=0)

logging.getLogger("pyhanko").setLevel(logging.ERROR)


def sign(
    pdf: bytes, identity: Identity, reason: str, location: str, now: datetime | None = None
) -> bytes:
    """The PDF with a certifying signature over every byte of it.

    It permits no change at all (DocMDP level 1; ISO 32000-2, table 257), so that other readers
    condemn what ``recorder.report.verifying.verify`` condemns. now: the time to claim, with zone;
    default the clock of this machine.
    Raises IdentityUnusable outside the certificate's time and NotAReport for an unreadable PDF.
    """
    claimed = now or datetime.now().astimezone()
    certificate = identity.certificate
    if not certificate.not_before <= claimed <= certificate.not_after:
        span = f"{certificate.not_before:%Y-%m-%d} to {certificate.not_after:%Y-%m-%d}"
        detail = f"it is valid from {span}, and the clock says {claimed:%Y-%m-%d}"
        raise IdentityUnusable(path=Path(certificate.common_name), detail=detail)
    signer = SimpleSigner(
        signing_cert=x509.Certificate.load(certificate.der),
        signing_key=keys.PrivateKeyInfo.load(identity.key_der),
        cert_registry=SimpleCertificateStore(),  # type: ignore[no-untyped-call]
    )
    metadata = PdfSignatureMetadata(
        field_name=FIELD,
        md_algorithm="sha256",
        reason=reason,
        location=location or None,
        name=certificate.common_name,
        certify=True,
        docmdp_permissions=MDPPerm.NO_CHANGES,
        subfilter=SigSeedSubFilter.PADES,
    )
    try:
        writer = IncrementalPdfFileWriter(io.BytesIO(pdf))
        at = _ClockedSigner(metadata, signer, _field(writer), claimed)
        # A thread of its own, because pyHanko starts an event loop and a caller may be in one.
        with ThreadPoolExecutor(1) as thread:
            signed = thread.submit(at.sign_pdf, writer).result()
    except (PdfError, SigningError, LayoutError, ValueError) as error:
        raise NotAReport(path="the unsigned report", detail=str(error)) from error
    return bytes(signed.getvalue())


class _ClockedSigner(PdfSigner):
    """pyHanko's signer with a given clock."""

    def __init__(
        self,
        metadata: PdfSignatureMetadata,
        signer: SimpleSigner,
        field: SigFieldSpec,
        claimed: datetime,
    ) -> None:
        super().__init__(metadata, signer, stamp_style=NOTHING_DRAWN, new_field_spec=field)
        self._claimed = claimed

    def init_signing_session(self, *args: Any, **kwargs: Any) -> PdfSigningSession:
        session = super().init_signing_session(*args, **kwargs)
        session.system_time = self._claimed
        return session


def _field(writer: IncrementalPdfFileWriter) -> SigFieldSpec:
    """Over the block that the page drew; without a place when the page has none."""
    destinations = _destinations(writer)
    if ANCHOR not in destinations:
        return SigFieldSpec(sig_field_name=FIELD)
    page, left, top = destinations[ANCHOR]
    width, height = (POINTS_PER_MM * side for side in BLOCK_MM)
    box = (round(left), round(top - height), round(left + width), round(top))
    return SigFieldSpec(
        sig_field_name=FIELD, on_page=page, box=box, readable_field_name="Technician's signature"
    )


def _destinations(writer: IncrementalPdfFileWriter) -> dict[str, tuple[int, float, float]]:
    """Named places of the PDF: page index, x and y in points from the lower left corner."""
    root = writer.prev.root
    try:
        flat = list(root["/Names"]["/Dests"]["/Names"])
    except KeyError:
        return {}
    pages = [page.idnum for page in root["/Pages"].raw_get("/Kids")]  # WeasyPrint's tree is flat
    return {
        str(name): (pages.index(place.raw_get(0).idnum), float(place[2]), float(place[3]))
        for name, place in zip(flat[0::2], flat[1::2], strict=True)
    }
