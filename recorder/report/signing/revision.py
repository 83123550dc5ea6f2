"""One more signed revision of a document (ISO 32000-1, 7.5.6 and 12.8): the door to pyHanko.

A revision holds what belongs to its signature and nothing else: not even the date of change and the
metadata, which ``recorder.report.verifying`` holds to be those of the document that was certified.
"""

from __future__ import annotations

import asyncio
import io
import logging
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import datetime

from asn1crypto import algos, cms, x509
from pyhanko.pdf_utils import generic
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.fields import (
    FieldMDPAction,
    FieldMDPSpec,
    MDPPerm,
    SigSeedSubFilter,
    enumerate_sig_fields,
)
from pyhanko.sign.signers.cms_embedder import (
    PdfCMSEmbedder,
    SigIOSetup,
    SigMDPSetup,
    SigObjSetup,
)
from pyhanko.sign.signers.pdf_byterange import SignatureObject
from pyhanko.sign.signers.pdf_cms import Signer
from pyhanko_certvalidator.registry import SimpleCertificateStore

from recorder.errors import NotAReport, SeamnoteError
from recorder.report.identity.identity import Identity

# From the value of a signature to a time-stamp token over it in DER (RFC 3161); b"" for none.
Stamp = Callable[[bytes], bytes]

LARGEST_STAMP = 16_384  # bytes of a token; common ones have 3 to 8 thousand
_SIGNED_ATTRIBUTES = 1_024  # bytes, generously: they and the frame of the container take half of it
_DIGEST = "sha256"

logging.getLogger("pyhanko").setLevel(logging.ERROR)


@dataclass(frozen=True)
class Statement:
    """What a signature says of itself, and what may be done after it.

    field: the empty signature field that it fills. reason, location: in words; location may be
    empty. at: the time that it claims, with zone. certifies: it vouches for the whole document, and
    permits only to fill in and sign (DocMDP 2; ISO 32000-1, table 254). leaves_open: names of the
    fields that may still be filled after it.
    """

    field: str
    reason: str
    location: str
    at: datetime
    certifies: bool = False
    leaves_open: tuple[str, ...] = ()


@dataclass(frozen=True)
class Field:
    """A signature field. filled: it bears a signature. width, height: in points."""

    filled: bool
    width: float
    height: float


def fields(document: bytes) -> dict[str, Field]:
    """The signature fields of a document by name. Raises NotAReport."""
    with _Faults():
        found = {}
        for name, value, place in enumerate_sig_fields(PdfFileReader(io.BytesIO(document))):
            left, bottom, right, top = map(float, place.get_object()["/Rect"])
            found[str(name)] = Field(value is not None, right - left, top - bottom)
        return found


def add(
    document: bytes,
    identity: Identity,
    statement: Statement,
    stamp: Stamp | None = None,
    appearance: bytes = b"",
) -> bytes:
    """The document with a PAdES signature (B-B, or B-T with a stamp) in a field that it has.

    appearance: a PDF whose first page the field shows from now on; without one what it shows stays.
    Raises NotAReport for a document that cannot be read or has no such empty field, and what
    ``identity.sign`` raises.
    """
    with _Faults():
        file = io.BytesIO(document)
        writer = _Writer(file)
        steps = PdfCMSEmbedder().write_cms(statement.field, writer, existing_fields_only=True)
        field = next(steps).get_object()
        if appearance:
            page = PdfFileReader(io.BytesIO(appearance))
            shown = {generic.pdf_name("/N"): writer.import_page_as_xobject(page)}
            field[generic.pdf_name("/AP")] = generic.DictionaryObject(shown)  # type: ignore[no-untyped-call]
        steps.send(_prepared(statement, _room(identity, stamp)))
        digest, output = steps.send(SigIOSetup(md_algorithm=_DIGEST, in_place=True))
        steps.send(_container(identity, digest.document_digest, stamp))
        return bytes(output.getvalue())


class _Writer(IncrementalPdfFileWriter):
    """pyHanko's, which would write new metadata in every revision."""

    def _update_meta(self) -> None:
        pass


class _KeySigner(Signer):
    """Signs with an identity, wherever its key lies."""

    def __init__(self, identity: Identity) -> None:
        chain = [x509.Certificate.load(each) for each in identity.chain]
        super().__init__(
            signing_cert=x509.Certificate.load(identity.certificate.der),
            cert_registry=SimpleCertificateStore.from_certs(chain),  # type: ignore[no-untyped-call]
            signature_mechanism=algos.SignedDigestAlgorithm({"algorithm": "sha256_rsa"}),
            embed_roots=True,  # so that a reader can show the authority and be told to trust it
        )
        self._identity = identity

    async def async_sign_raw(
        self, data: bytes, digest_algorithm: str, dry_run: bool = False
    ) -> bytes:
        return self._identity.sign(data)


def _prepared(statement: Statement, room: int) -> SigObjSetup:
    lock = FieldMDPSpec(
        FieldMDPAction.EXCLUDE if statement.leaves_open else FieldMDPAction.ALL,
        list(statement.leaves_open) or None,
    )
    return SigObjSetup(
        sig_placeholder=SignatureObject(
            timestamp=statement.at,
            subfilter=SigSeedSubFilter.PADES,
            location=statement.location or None,
            reason=statement.reason,
            bytes_reserved=2 * room,
        ),
        mdp_setup=SigMDPSetup(
            md_algorithm=_DIGEST,
            certify=statement.certifies,
            docmdp_perms=MDPPerm.FILL_FORMS if statement.certifies else None,
            field_lock=lock,
        ),
    )


def _room(identity: Identity, stamp: Stamp | None) -> int:
    """Bytes to keep free for the container; twice as many digits stand in the file."""
    certificates = sum(map(len, (identity.certificate.der, *identity.chain)))
    unstamped = certificates + identity.signature_bytes + _SIGNED_ATTRIBUTES
    return unstamped + (LARGEST_STAMP if stamp else 0)


def _container(identity: Identity, digest: bytes, stamp: Stamp | None) -> cms.ContentInfo:
    """The one form that ``recorder.report.verifying.container`` knows."""
    signer = _KeySigner(identity)
    # A thread of its own, because pyHanko needs an event loop and a caller may be in one.
    with ThreadPoolExecutor(1) as thread:
        signing = signer.async_sign(digest, _DIGEST, use_pades=True)
        container: cms.ContentInfo = thread.submit(asyncio.run, signing).result()
    (info,) = container["content"]["signer_infos"]
    token = stamp(info["signature"].native) if stamp else b""
    if token:
        kind = "signature_time_stamp_token"
        attribute = cms.CMSAttribute({"type": kind, "values": [cms.ContentInfo.load(token)]})
        info["unsigned_attrs"] = cms.CMSAttributes([attribute])
    return container


class _Faults:
    """Whatever pyHanko raises on a file that is none becomes NotAReport."""

    def __enter__(self) -> None:
        pass

    def __exit__(self, kind: object, error: BaseException | None, trace: object) -> None:
        if isinstance(error, Exception) and not isinstance(error, SeamnoteError | OSError):
            detail = " ".join(str(error).split()) or type(error).__name__
            raise NotAReport(path="the report", detail=detail) from error
