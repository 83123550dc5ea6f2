"""A small report with all that belongs to one, certified and approved once for all tests.

Its page is no more than what ``verify`` looks at: the code, a picture, a font, two fields.
"""

import functools
import hashlib
import io
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from PIL import Image, ImageDraw

from recorder.archive.jobs.record import dump
from recorder.model import evidence
from recorder.model.evidence import Evidence, OriginalDigest, RecordDigest
from recorder.model.job import Job, MediaFile, MediaKind
from recorder.report.content import code
from recorder.report.content.edition import Edition
from recorder.report.document.about import CUSTOMER, TECHNICIAN, About, Attachment
from recorder.report.document.assemble import assemble
from recorder.report.identity import identity, keyfile
from recorder.report.identity.identity import Identity
from recorder.report.page import weasy
from recorder.report.page.render import render
from recorder.report.signing.approve import approve
from recorder.report.signing.certify import certify
from recorder.report.signing.revision import Stamp
from recorder.report.verifying.signers import Known
from tests.report import sample

NOW = datetime.now(UTC).astimezone().replace(microsecond=0)
CUSTOMER_NAME = "Odile Marchetti"
PASSPHRASE = "a passphrase"
PHOTO = b"the bytes of a photo"
JOB_ID = "20261126-110500-3f9a"

_PAGE = """<html lang="en"><title>Splice report 4817</title><style>
@font-face {{ font-family: Face; src: url(seamnote:face.otf) }}
html {{ font-family: Face }} a {{ display: inline-block; width: 85mm; height: 34mm }}
img {{ image-rendering: crisp-edges; width: 25mm }}
</style><h1>Splice report 4817</h1><p>Largest gap {gap} mm: within the limit.</p>
<p><img src="seamnote:code.svg" alt="Code for verification: {code}"></p>
<p><a id="TechnicianSignature" href="#TechnicianSignature"></a>
<a id="CustomerSignature" href="#CustomerSignature"></a></p></html>"""


def job(number: str = "4817") -> Job:
    photo = MediaFile(
        name="photo.jpg",
        path="media/photo.jpg",
        kind=MediaKind.PHOTO,
        sha256=hashlib.sha256(PHOTO).hexdigest(),
        size_bytes=len(PHOTO),
    )
    return Job(id=JOB_ID, created_at=NOW, version=number, complete=True, media=(photo,))


def manifest(record: bytes, about: Job | None = None) -> bytes:
    about = about or job()
    told = Evidence(
        job_id=about.id,
        job_number="4817",
        written_at=NOW,
        variant="full",
        record=RecordDigest(sha256=evidence.digest(record), size_bytes=len(record)),
        originals=tuple(
            OriginalDigest.model_validate(media.model_dump(exclude={"refused", "removed"}))
            for media in about.media
        ),
    )
    return evidence.dump(told)


def document(
    record: bytes | None = None,
    attached_record: bytes | None = None,
    attached_manifest: bytes | None = None,
    gap: str = "0.31",
    title: str = "Splice report 4817",
) -> bytes:
    """Ready to be signed. The two attachments can be others than those that the page names."""
    record = record or dump(job())
    told = manifest(record)
    text = code.text("4817", JOB_ID, NOW, evidence.digest(told))
    font = Path(__file__).parents[3] / "report_templates/fonts/Inter-Regular.otf"
    files = {"seamnote:code.svg": code.drawing(text), "seamnote:face.otf": font.read_bytes()}
    html = _PAGE.format(code=text.replace("&", "&amp;"), gap=gap)
    page = weasy.pdf(html, files, b"0" * 16)
    return _complete(page, attached_record or record, attached_manifest or told, title)


def _complete(page: bytes, record: bytes, told: bytes, title: str) -> bytes:
    kind = "application/json"
    attachments = (
        Attachment("job.json", record, kind, "Source", "The job"),
        Attachment("evidence.json", told, kind, "Data", "The evidence"),
    )
    about = About(
        title=title,
        author="Quillback Belt Service",
        subject="Record of a belt splice",
        language="en",
        written_at=NOW,
        creator="Seamnote",
        labels={TECHNICIAN: "Signature of the technician", CUSTOMER: "Signature of the customer"},
    )
    return assemble(page, attachments, about)


@functools.cache
def firm() -> Identity:
    return _made("firm")[0]


def firm_key() -> bytes:
    """Of the firm's technician, PKCS#8, for what the program itself never does with it."""
    return _made("firm")[1]


@functools.cache
def stranger() -> Identity:
    """With every name as the firm's own, and other keys."""
    return _made("stranger")[0]


@functools.cache
def _made(whose: str) -> tuple[Identity, bytes]:
    with tempfile.TemporaryDirectory(prefix=whose) as folder:
        path = Path(folder) / "signer.p12"
        made = identity.create(path, PASSPHRASE, "Imke Dorn", "Quillback Belt Service")
        key = keyfile.read(path, PASSPHRASE)[0]
    return made, key.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())


@functools.cache
def known() -> Known:
    (authority,) = firm().chain
    return Known(signers=(identity.Certificate.from_der(authority),))


def signed(
    content: bytes, key: Identity, at: datetime | None = None, stamp: Stamp | None = None
) -> bytes:
    return certify(content, key, "Record of the splice job", "Larkfield", at or NOW, stamp)


def witnessed(
    content: bytes, key: Identity, at: datetime | None = None, stamp: Stamp | None = None
) -> bytes:
    later = at or NOW + timedelta(minutes=5)
    return approve(content, key, drawing(), CUSTOMER_NAME, later, stamp)


@functools.cache
def certified() -> bytes:
    return signed(document(), firm())


@functools.cache
def demo() -> bytes:
    """The whole report of the demo's job, certified."""
    with tempfile.TemporaryDirectory() as folder:
        told = sample.demo_job(Path(folder))
        record = dump(told)
        proof = manifest(record, told)
        edition = Edition(
            now=NOW, draft=False, signer="Imke Dorn", digest=evidence.digest(proof), variant="full"
        )
        page = render(told, Path(folder), sample.SETTINGS, edition)
    return signed(_complete(page, record, proof, "Splice report 4817"), firm())


@functools.cache
def approved() -> bytes:
    return witnessed(certified(), firm())


@functools.cache
def drawing(slope: int = 1) -> bytes:
    picture = Image.new("L", (300, 100), 255)
    ImageDraw.Draw(picture).line([(10, 90), (150, 10 * slope), (290, 60)], fill=0, width=5)
    file = io.BytesIO()
    picture.save(file, "PNG")
    return file.getvalue()
