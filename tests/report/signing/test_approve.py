"""The customer's approval: what it shows and says, and what cannot be approved."""

import io

import pytest
from PIL import Image
from pypdf import PdfReader

from recorder.errors import BadValue, CannotApprove, NotADrawing, NotAReport
from recorder.report.document.about import CUSTOMER, TECHNICIAN
from recorder.report.document.assemble import assemble
from recorder.report.identity.identity import Identity
from recorder.report.signing.approve import approve
from recorder.report.signing.certify import certify
from recorder.report.verifying import container
from tests.report.document.conftest import ABOUT, FIELDS, page
from tests.report.signing import conftest
from tests.report.signing.conftest import NOW
from tests.report.signing.drawings import as_bytes, scribble
from tests.report.signing.test_certify import containers, fields

DRAWING = as_bytes(scribble())
REPLACED = ("/V", "/AP", "/P")  # the page is another object of the parser each time


def appearance(pdf: bytes) -> str:
    """The text that the customer's field shows, by poppler."""
    import subprocess

    done = subprocess.run(["pdftotext", "-", "-"], input=pdf, capture_output=True, check=True)
    return done.stdout.decode()


def test_the_certified_report_stays_and_a_revision_follows(
    certified: bytes, approved: bytes, key: Identity
) -> None:
    assert approved.startswith(certified)
    first, second = (container.read(each) for each in containers(approved))
    assert first.certificate.der == second.certificate.der == key.certificate.der
    assert second.chain == key.chain


def test_the_signature_tells_the_truth_about_itself(approved: bytes) -> None:
    signature = fields(approved)[CUSTOMER]["/V"]
    assert signature["/Reason"] == (
        f"Approved by {conftest.CUSTOMER}: drawn on the device and witnessed by the technician"
    )
    assert "/Name" not in signature, "which readers would show as the holder of the key"
    assert signature["/Reference"][0]["/TransformParams"]["/Action"] == "/All"


def test_the_page_shows_name_time_and_manner_under_the_drawing(approved: bytes) -> None:
    text = appearance(approved)
    assert f"{conftest.CUSTOMER}, {NOW.isoformat()}" in text
    assert "drawn on the device and witnessed by the technician" in text
    shown = fields(approved)[CUSTOMER]["/AP"]["/N"]
    (picture,) = (each.get_object() for each in shown["/Resources"]["/XObject"].values())
    assert picture["/ColorSpace"] == "/DeviceGray"
    assert not picture.get("/Interpolate", False).value
    assert "/SMask" not in picture
    rect, box = (
        list(map(float, each)) for each in (fields(approved)[CUSTOMER]["/Rect"], shown["/BBox"])
    )
    assert box[2] == pytest.approx(rect[2] - rect[0], abs=0.01)
    assert box[3] == pytest.approx(rect[3] - rect[1], abs=0.01)


def test_one_object_changes_and_it_is_the_field(certified: bytes, approved: bytes) -> None:
    before = PdfReader(io.BytesIO(certified))
    old = int(before.trailer["/Size"])
    added = approved[len(certified) :]
    changed = [number for number in range(1, old) if b"\n%d 0 obj" % number in b"\n" + added]
    place = before.root_object["/AcroForm"]["/Fields"][1]
    assert changed == [place.idnum]
    old_entries, new_entries = (
        {name: str(value) for name, value in fields(pdf)[CUSTOMER].items() if name not in REPLACED}
        for pdf in (certified, approved)
    )
    assert old_entries == new_entries
    assert fields(approved)[CUSTOMER].keys() - fields(certified)[CUSTOMER].keys() == {"/V"}


def test_nothing_of_the_device_is_in_the_file(certified: bytes, key: Identity) -> None:
    exif = Image.Exif()
    exif[0x010F] = "Phone of Somebody"
    photo = as_bytes(scribble(), "JPEG", exif=exif)
    made = approve(certified, key, photo, "Anna Berg", NOW)
    streams = [
        each.get_object().get_data()
        for each in fields(made)[CUSTOMER]["/AP"]["/N"]["/Resources"]["/XObject"].values()
    ]
    assert all(b"Somebody" not in part for part in (made, *streams))


@pytest.mark.parametrize(
    "name", ["", " \t", "\u200b\u200e", "\x00\x07", "—", "....", "\ufffd\ufffd", "\U000e0041"]
)
def test_a_name_with_nothing_printable_is_refused(
    certified: bytes, key: Identity, name: str
) -> None:
    with pytest.raises(BadValue, match="name of the person who drew"):
        approve(certified, key, DRAWING, name, NOW)


def test_an_endless_name_is_refused(certified: bytes, key: Identity) -> None:
    with pytest.raises(BadValue, match="at most 100"):
        approve(certified, key, DRAWING, "Anna " * 1000, NOW)


def test_hostile_names_are_text(certified: bytes, key: Identity) -> None:
    name = '<img src="file:///etc/hostname"> & {name} O"Hara'
    made = approve(certified, key, DRAWING, name, NOW)
    assert name in fields(made)[CUSTOMER]["/V"]["/Reason"]
    assert '{name} O"Hara' in " ".join(appearance(made).split())


def test_the_longest_name_finds_room_beside_the_drawing(certified: bytes, key: Identity) -> None:
    name = ("Wilhelmina " * 10)[:100].strip()
    text = " ".join(appearance(approve(certified, key, DRAWING, name, NOW)).split())
    assert f"{name}, {NOW.isoformat()} drawn on the device" in text


def test_what_the_typeface_lacks_is_told_by_its_codes(certified: bytes, key: Identity) -> None:
    made = approve(certified, key, DRAWING, "李明 Li", NOW)
    assert fields(made)[CUSTOMER]["/V"]["/Reason"].startswith("Approved by 李明 Li:")
    assert "Li (U+660E, U+674E), " in " ".join(appearance(made).split())


def test_an_approved_report_cannot_be_approved_again(approved: bytes, key: Identity) -> None:
    with pytest.raises(CannotApprove, match="signed it already"):
        approve(approved, key, DRAWING, "Anna Berg", NOW)


def test_a_report_must_be_certified_first(document: bytes, key: Identity) -> None:
    with pytest.raises(CannotApprove, match="draft or was not signed"):
        approve(document, key, DRAWING, "Anna Berg", NOW)


def test_a_document_without_fields_cannot_be_approved(key: Identity) -> None:
    with pytest.raises(CannotApprove, match="draft or was not signed"):
        approve(page(fields=""), key, DRAWING, "Anna Berg", NOW)


def test_a_report_without_a_place_for_the_customer_cannot_be_approved(key: Identity) -> None:
    alone = f'<div class="block"><a id="{TECHNICIAN}" href="#{TECHNICIAN}"></a></div>'
    labels = {TECHNICIAN: "Signature of the technician"}
    about = type(ABOUT)(**{**vars(ABOUT), "labels": labels})
    report = certify(assemble(page(alone), (), about), key, "Record", "", NOW)
    with pytest.raises(CannotApprove, match="no place for the customer"):
        approve(report, key, DRAWING, "Anna Berg", NOW)


@pytest.mark.parametrize("size", ["width: 0; height: 15mm", "width: 45mm; height: 15mm",
                                  "width: 80mm; height: 10mm"])  # fmt: skip
def test_a_field_without_room_cannot_be_filled(key: Identity, size: str) -> None:
    """As a firm's own template may have it."""
    small = FIELDS.replace(f'<a id="{CUSTOMER}"', f'<a id="{CUSTOMER}" style="{size}"')
    report = certify(assemble(page(small), (), ABOUT), key, "Record", "", NOW)
    with pytest.raises(CannotApprove, match=f"too small.*<a id={CUSTOMER}>"):
        approve(report, key, DRAWING, "Anna Berg", NOW)


def test_a_blank_drawing_is_refused(certified: bytes, key: Identity) -> None:
    with pytest.raises(NotADrawing, match="blank"):
        approve(certified, key, as_bytes(Image.new("L", (300, 100), 255)), "Anna Berg", NOW)


@pytest.mark.parametrize("kept", [0.02, 0.5, 0.98])
def test_half_a_report_is_refused(certified: bytes, key: Identity, kept: float) -> None:
    with pytest.raises((NotAReport, CannotApprove)):
        approve(certified[: int(len(certified) * kept)], key, DRAWING, "Anna Berg", NOW)
