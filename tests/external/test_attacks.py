"""Attacks on a signed report as forgers make them, each refused by ``verify`` with its own reason.

The kinds are those of the literature on signed PDFs: incremental saving, signature wrapping and
universal forgery (Mladenov et al., "1 Trillion Dollar Refund", ACM CCS 2019), and what a certified
document permits (Rohlmann et al., "Breaking the Specification: PDF Certification", IEEE S&P 2021).
Each is made by pyHanko's writer or by bytes, on a report that the technician certified and on one
that the customer approved as well.
"""

import io
import re
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pikepdf
import pytest
from asn1crypto import cms, x509
from pyhanko.pdf_utils import generic
from pyhanko.pdf_utils.generic import pdf_name
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.pdf_utils.reader import PdfFileReader

from recorder.archive.jobs.record import dump
from recorder.model.plural import counted
from recorder.model.recording import Recording
from recorder.report.verifying.facts import Expected, Verification
from recorder.report.verifying.reasons import Doubt, Fault
from recorder.report.verifying.verify import verify, with_expected
from tests.report.verifying import reports

Judge = Callable[[bytes], Verification]
BASES = {"certified": reports.certified, "approved": reports.approved}


@pytest.fixture(params=BASES)
def report(request: pytest.FixtureRequest) -> bytes:
    return BASES[request.param]()


@pytest.fixture(params=[*BASES, "demo"])
def rich(request: pytest.FixtureRequest) -> bytes:
    """Also the whole report of the demo, with all that a page can hold."""
    return {**BASES, "demo": reports.demo}[request.param]()


@pytest.fixture
def judge(tmp_path: Path) -> Judge:
    def judged(content: bytes) -> Verification:
        path = tmp_path / "report.pdf"
        path.write_bytes(content)
        return verify(path, reports.known())

    return judged


class Writer(IncrementalPdfFileWriter):
    """Leaves the description of the document alone."""

    def _update_meta(self) -> None:
        pass


def revised(content: bytes, change: Callable[[IncrementalPdfFileWriter], None]) -> bytes:
    """With one more revision, as any editor of PDFs saves it."""
    writer = Writer(io.BytesIO(content))
    change(writer)
    out = io.BytesIO()
    writer.write(out)
    assert out.getvalue().startswith(content)
    return out.getvalue()


def put_into(writer: IncrementalPdfFileWriter, stream: generic.StreamObject, data: bytes) -> None:
    """Other content under the same object number."""
    for key in ("/Filter", "/DecodeParms", "/Length"):
        stream.pop(key, None)
    stream._data, stream._encoded_data = data, None
    writer.update_container(stream)


def other_title(writer: IncrementalPdfFileWriter) -> None:
    packet = writer.root["/Metadata"]
    put_into(writer, packet, bytes(packet.data).replace(b"report 4817", b"report 4818"))


def page_of(writer: IncrementalPdfFileWriter) -> generic.DictionaryObject:
    reference, _ = writer.find_page_for_modification(0)
    page: generic.DictionaryObject = reference.get_object()
    return page


def field_of(writer: IncrementalPdfFileWriter, name: str) -> generic.DictionaryObject:
    fields = writer.root["/AcroForm"]["/Fields"]
    return next(each for each in map(fields.__getitem__, range(len(fields))) if each["/T"] == name)


def gap(content: bytes) -> tuple[int, int]:
    """Where the last signature stands, brackets included."""
    *_, match = re.finditer(rb"/ByteRange \[0 (\d+) (\d+) \d+\]", content)
    return int(match[1]), int(match[2])


def reasons(found: Verification) -> list[Fault | Doubt]:
    return [each.reason for each in found.faults]


def test_what_is_attacked_is_good(judge: Judge, rich: bytes) -> None:
    found = judge(rich)
    assert found.faults == ()
    assert found.doubts == ()
    assert found.evidence.page_matches
    assert found.evidence.job_matches
    assert found.metadata_consistent


# The thirteen.


def test_byte_flip(judge: Judge, rich: bytes) -> None:
    flipped = bytearray(rich)
    flipped[rich.index(b"stream") + 40] ^= 1
    found = judge(bytes(flipped))
    assert reasons(found) == [Fault.BYTES_CHANGED]
    assert not found.signatures[0].intact


def test_byte_range_edit(judge: Judge, report: bytes) -> None:
    """The end of the file is left out, so that something else could stand there."""
    start, end = gap(report)
    tail = len(report) - end
    old = b"/ByteRange [0 %d %d %d]" % (start, end, tail)
    new = b"/ByteRange [0 %d %d %d]" % (start, end, tail - 100)
    forged = report.replace(old, new.ljust(len(old)))
    assert len(forged) == len(report)
    assert forged != report
    assert Fault.RANGE_CHANGED in reasons(judge(forged))


def test_overlay_by_incremental_save(judge: Judge, rich: bytes) -> None:
    def overlay(writer: IncrementalPdfFileWriter) -> None:
        page = page_of(writer)
        white = writer.add_object(generic.StreamObject(stream_data=b"1 g 0 500 600 300 re f"))
        page["/Contents"] = generic.ArrayObject([page.raw_get("/Contents"), white])
        writer.update_container(page)

    found = judge(revised(rich, overlay))
    assert reasons(found) == [Fault.PAGE_DRAWN_OVER]
    assert found.signatures[0].intact
    assert not found.covers_whole_file


def test_added_annotation(judge: Judge, rich: bytes) -> None:
    def annotate(writer: IncrementalPdfFileWriter) -> None:
        page = page_of(writer)
        note = generic.DictionaryObject({
            pdf_name("/Type"): pdf_name("/Annot"),
            pdf_name("/Subtype"): pdf_name("/FreeText"),
            pdf_name("/Rect"): generic.ArrayObject(map(generic.NumberObject, (50, 700, 400, 760))),
            pdf_name("/Contents"): generic.TextStringObject("Largest gap 0.11 mm"),
            pdf_name("/DA"): generic.TextStringObject("/Helv 12 Tf"),
        })  # fmt: skip
        page["/Annots"].append(writer.add_object(note))
        writer.update_container(page["/Annots"])

    assert reasons(judge(revised(rich, annotate))) == [Fault.ANNOTATION_CHANGED]


def test_content_swap(judge: Judge, rich: bytes) -> None:
    def swap(writer: IncrementalPdfFileWriter) -> None:
        put_into(writer, page_of(writer)["/Contents"], b"BT (0.11 mm) Tj ET")

    assert reasons(judge(revised(rich, swap))) == [Fault.PAGE_CHANGED]


@pytest.mark.parametrize("name", ["job.json", "evidence.json"])
def test_attachment_swap(judge: Judge, rich: bytes, name: str) -> None:
    def swap(writer: IncrementalPdfFileWriter) -> None:
        names = writer.root["/Names"]["/EmbeddedFiles"]["/Names"]
        place = next(index for index in range(0, len(names), 2) if names[index] == name)
        put_into(writer, names[place + 1]["/EF"]["/F"], b'{"readings": "better ones"}')

    assert reasons(judge(revised(rich, swap))) == [Fault.ATTACHMENT_CHANGED]


@pytest.mark.parametrize("name", ["TechnicianSignature", "CustomerSignature"])
def test_appearance_swap(judge: Judge, report: bytes, name: str) -> None:
    def swap(writer: IncrementalPdfFileWriter) -> None:
        put_into(writer, field_of(writer, name)["/AP"]["/N"], b"0 0 m 100 50 l S")

    assert reasons(judge(revised(report, swap))) == [Fault.APPEARANCE_CHANGED]


def test_font_swap(judge: Judge, rich: bytes) -> None:
    """A font whose three looks like an eight changes what the page says and not its content."""

    def swap(writer: IncrementalPdfFileWriter) -> None:
        fonts = page_of(writer)["/Resources"]["/Font"]
        descriptor = fonts[next(iter(fonts))]["/DescendantFonts"][0]["/FontDescriptor"]
        (program,) = (descriptor[key] for key in descriptor if key.startswith("/FontFile"))
        put_into(writer, program, b"another font")

    assert reasons(judge(revised(rich, swap))) == [Fault.FONT_CHANGED]


def test_xmp_swap(judge: Judge, rich: bytes) -> None:
    assert reasons(judge(revised(rich, other_title))) == [Fault.METADATA_CHANGED]


def test_a_second_opinion_alone_is_not_enough() -> None:
    """pyHanko's own policy takes a well-formed packet for an update of metadata."""
    forged = revised(reports.certified(), other_title)
    (signature,) = PdfFileReader(io.BytesIO(forged)).embedded_signatures
    signature.compute_integrity_info()
    assert signature.summarise_integrity_info()["docmdp_ok"]


@pytest.mark.parametrize("junk", [b"\n", b"\0" * 9, b"%%EOF\n", b"% /ByteRange [0 5 9 2]\n%%EOF\n"])
def test_trailing_junk(judge: Judge, report: bytes, junk: bytes) -> None:
    found = judge(report + junk)
    assert reasons(found) == [Fault.BYTES_APPENDED]
    assert f"({counted(len(junk), 'byte')})" in found.failed


def test_zeroed_signature(judge: Judge, report: bytes) -> None:
    start, end = gap(report)
    zeroed = report[: start + 1] + b"0" * (end - start - 2) + report[end - 1 :]
    assert len(zeroed) == len(report)
    assert reasons(judge(zeroed)) == [Fault.SIGNATURE_EMPTIED]


def test_signature_wrapping(judge: Judge, report: bytes) -> None:
    """The signed bytes are kept, but further apart; between them stands another document."""
    start, end = gap(report)
    section = int(re.findall(rb"startxref\s+(\d+)", report)[-1])
    number = PdfFileReader(io.BytesIO(report)).embedded_signatures[-1].sig_field.raw_get("/V").idnum
    room = 3 * len(report)
    wrapped = report[:start] + report[start:end]
    signature = (
        b"\n%d 0 obj\n<< /Type /Sig /Filter /Adobe.PPKLite /SubFilter /ETSI.CAdES.detached"
        b" /Contents %s /ByteRange [0 %d %d %d] >>\nendobj\n"
        % (number, report[start:end], start, end + room, len(report) - end)
    )
    place = len(wrapped) + 1
    wrapped += signature + b"% the other pages would stand here\n"
    wrapped += b" " * (section - len(wrapped))
    earlier = re.findall(rb"startxref\s+(\d+)", report)[-2]
    wrapped += b"xref\n%d 1\n%010d 00000 n \ntrailer\n<< /Prev %s >>\n" % (number, place, earlier)
    wrapped = wrapped.ljust(end + room) + report[end:]
    found = judge(wrapped)
    assert Fault.RANGE_HOLDS_MORE in reasons(found)
    assert found.signatures[-1].signer is None


def test_rollback_of_the_customers_signature(judge: Judge) -> None:
    """No trace of it is left in the file; only an expectation can tell, and verify says so."""
    rolled_back = judge(reports.approved()[: len(reports.certified())])
    assert rolled_back.faults == ()
    assert not rolled_back.customer_signed
    found = with_expected(rolled_back, Expected(2, "the option --signatures"))
    assert reasons(found) == [Fault.NUMBER_OF_SIGNATURES]
    assert "the customer's signature is missing" in found.failed


# And more.


def test_customers_signature_taken_out_of_the_form(judge: Judge) -> None:
    def empty(writer: IncrementalPdfFileWriter) -> None:
        field = field_of(writer, "CustomerSignature")
        del field["/V"]
        writer.update_container(field)

    assert reasons(judge(revised(reports.approved(), empty))) == [Fault.SIGNATURE_REMOVED]


def test_text_read_out_swapped(judge: Judge, report: bytes) -> None:
    """What a screen reader says, and with it the digest that the page names."""

    def swap(writer: IncrementalPdfFileWriter) -> None:
        tree = writer.root["/StructTreeRoot"]
        tree["/Lang"] = generic.TextStringObject("fr")
        writer.update_container(tree)

    assert reasons(judge(revised(report, swap))) == [Fault.STRUCTURE_CHANGED]


def test_title_swapped(judge: Judge, report: bytes) -> None:
    def swap(writer: IncrementalPdfFileWriter) -> None:
        information = writer.trailer_view["/Info"]
        information["/Title"] = generic.TextStringObject("Splice report 4818")
        writer.update_container(information)

    assert reasons(judge(revised(report, swap))) == [Fault.METADATA_CHANGED]


def test_another_catalog(judge: Judge, report: bytes) -> None:
    def swap(writer: IncrementalPdfFileWriter) -> None:
        page = writer.add_object(
            generic.DictionaryObject({
                pdf_name("/Type"): pdf_name("/Page"),
                pdf_name("/MediaBox"): generic.ArrayObject(map(generic.NumberObject, (0, 0, 9, 9))),
            })
        )  # fmt: skip
        writer.root["/Pages"]["/Kids"] = generic.ArrayObject([page])
        writer.update_container(writer.root["/Pages"])

    assert Fault.PAGE_CHANGED in reasons(judge(revised(report, swap)))


def test_drawing_put_into_the_empty_field(judge: Judge) -> None:
    """The customer seems to have signed, and no signature says so."""

    def draw(writer: IncrementalPdfFileWriter) -> None:
        field = field_of(writer, "CustomerSignature")
        look = generic.StreamObject(stream_data=b"0 0 m 100 50 l S")
        look["/Subtype"] = pdf_name("/Form")
        field["/AP"] = generic.DictionaryObject({pdf_name("/N"): writer.add_object(look)})
        writer.update_container(field)

    assert reasons(judge(revised(reports.certified(), draw))) == [Fault.APPEARANCE_CHANGED]


def test_approval_of_another_report(judge: Judge) -> None:
    """The customer's drawing and signature, as they were given for something else."""
    other = reports.signed(reports.document(gap="0.13"), reports.firm())
    approval = reports.witnessed(other, reports.firm())[len(other) :]
    found = judge(reports.certified() + approval)
    assert reasons(found)[0] in (Fault.RANGE_CHANGED, Fault.BYTES_CHANGED)  # by their lengths
    assert [each.intact for each in found.signatures] == [True, False]


def test_signature_of_another_report(judge: Judge) -> None:
    report = reports.certified()
    other = reports.signed(reports.document(gap="0.13"), reports.firm())
    (start, end), (from_, to) = gap(report), gap(other)
    found = judge(report[:start] + other[from_:to] + report[end:])
    assert reasons(found) == [Fault.BYTES_CHANGED]
    assert found.signatures[0].valid


def test_approval_by_a_stranger(judge: Judge) -> None:
    """With the technician's name and an authority of the same name, but other keys."""
    found = judge(reports.witnessed(reports.certified(), reports.stranger()))
    assert reasons(found) == [Fault.STRANGER]
    assert found.signatures[0].signer
    assert found.signatures[0].signer.trusted
    assert found.signatures[1].signer
    assert not found.signatures[1].signer.trusted


def test_report_by_a_stranger_with_the_same_names(judge: Judge) -> None:
    """Nothing is wrong with such a file, but that it is not by those whom its names tell."""
    found = judge(reports.signed(reports.document(), reports.stranger()))
    assert found.faults == ()
    assert not found.known
    assert [each.reason for each in found.doubts] == [Doubt.NAMESAKE]


@pytest.mark.parametrize("position", [0, 1])
def test_certificate_swapped_for_one_of_the_same_name(judge: Judge, position: int) -> None:
    report = reports.certified()
    start, end = gap(report)
    container = cms.ContentInfo.load(bytes.fromhex(report[start + 1 : end - 1].decode()))
    own = [reports.firm().certificate.der, *reports.firm().chain]
    own[position] = [reports.stranger().certificate.der, *reports.stranger().chain][position]
    container["content"]["certificates"] = [x509.Certificate.load(each) for each in own]
    digits = container.dump(force=True).hex().upper().encode()
    forged = report[:start] + b"<" + digits.ljust(end - start - 2, b"0") + b">" + report[end:]
    assert len(forged) == len(report)
    assert reasons(judge(forged)) == [Fault.SIGNATURE_DAMAGED]


@pytest.mark.parametrize("years", [-30, 30])
def test_signed_when_the_certificate_was_not_valid(judge: Judge, years: int) -> None:
    at = reports.NOW + timedelta(days=365 * years)
    found = judge(reports.signed(reports.document(), reports.firm(), at))
    assert reasons(found) == [Fault.NOT_IN_TIME]


@pytest.mark.parametrize(
    "new",
    [
        b"/ByteRange null",
        b"/ByteRange [0 0 0 0]",
        b"/ByteRange [0 -1 -1 99]",
        b"/ByteRange [9 %d %d %d]",
        b"/ByteRange [%d 0 %d %d]",
        b"/BiteRange [0 %d %d %d]",
    ],
)
def test_universal_forgery_by_the_range(judge: Judge, report: bytes, new: bytes) -> None:
    """A reader that finds nothing to check may say that nothing is wrong."""
    *_, match = re.finditer(rb"/ByteRange \[0 (\d+) (\d+) (\d+)\]", report)
    told = new % tuple(map(int, match.groups())) if b"%d" in new else new
    forged = report[: match.start()] + told.ljust(len(match[0])) + report[match.end() :]
    assert len(forged) == len(report)
    assert judge(forged).failed


@pytest.mark.parametrize(
    "new", [b"/Contents null", b"/Contents <>", b"/Contents <00>", b"/Kontents"]
)
def test_universal_forgery_by_the_contents(judge: Judge, report: bytes, new: bytes) -> None:
    start, end = gap(report)
    old = report[report.rindex(b"/Contents", 0, start) : end]
    told = new + old[len(b"/Contents") :] if new == b"/Kontents" else new.ljust(len(old))
    assert judge(report.replace(old, told)).failed


@pytest.mark.parametrize("compressed", [True, False])
def test_saved_anew_by_an_editor(judge: Judge, rich: bytes, compressed: bool) -> None:
    """The fields keep their look, and a careless reader its trust."""
    with pikepdf.open(io.BytesIO(rich)) as pdf:
        pdf.pages[0].contents_add(b"1 g 0 500 600 300 re f")
        out = io.BytesIO()
        mode = pikepdf.ObjectStreamMode.generate if compressed else pikepdf.ObjectStreamMode.disable
        pdf.save(out, object_stream_mode=mode)
    found = judge(out.getvalue())
    assert found.failed
    assert not any(each.intact for each in found.signatures)


# A technician who holds the key and cheats.


def test_job_of_another_day_attached_before_signing(judge: Judge) -> None:
    other = reports.document(attached_record=dump(reports.job("another")))
    found = judge(reports.signed(other, reports.firm()))
    assert reasons(found) == [Fault.JOB_DIFFERS]
    assert found.evidence.page_matches
    assert found.evidence.job_matches is False


def test_job_and_evidence_of_another_day_attached_before_signing(judge: Judge) -> None:
    record = dump(reports.job("another"))
    other = reports.document(attached_record=record, attached_manifest=reports.manifest(record))
    found = judge(reports.signed(other, reports.firm()))
    assert reasons(found) == [Fault.DIGEST_DIFFERS]
    assert found.evidence.job_matches


def test_gap_in_the_sound_hidden_in_the_attached_job(judge: Judge) -> None:
    def stretches(second_after_s: float) -> bytes:
        recordings = tuple(
            Recording(
                file=f"{begin}.flac", began_at=reports.NOW + timedelta(seconds=begin),
                samples=480_000, rate_hz=48_000,
            )
            for begin in (0, second_after_s)
        )  # fmt: skip
        return dump(reports.job().model_copy(update={"recordings": recordings}))

    honest, smoothed = stretches(70), stretches(10)
    good = reports.document(honest)
    assert reasons(judge(reports.signed(good, reports.firm()))) == []
    forged = reports.document(honest, attached_record=smoothed)
    found = judge(reports.signed(forged, reports.firm()))
    assert reasons(found) == [Fault.JOB_DIFFERS]


def test_page_changed_between_certification_and_approval(judge: Judge) -> None:
    def overlay(writer: IncrementalPdfFileWriter) -> None:
        page = page_of(writer)
        white = writer.add_object(generic.StreamObject(stream_data=b"1 g 0 500 600 300 re f"))
        page["/Contents"] = generic.ArrayObject([page.raw_get("/Contents"), white])
        writer.update_container(page)

    changed = revised(reports.certified(), overlay)
    found = judge(reports.witnessed(changed, reports.firm()))
    assert reasons(found) == [Fault.PAGE_DRAWN_OVER]
    assert found.covers_whole_file
    assert all(each.intact and each.valid for each in found.signatures)


def test_metadata_changed_between_certification_and_approval(judge: Judge) -> None:
    changed = revised(reports.certified(), other_title)
    found = judge(reports.witnessed(changed, reports.firm()))
    assert reasons(found)[0] is Fault.METADATA_CHANGED
    assert found.metadata_consistent is False


def test_objects_that_belong_to_nothing(judge: Judge) -> None:
    """Hidden in the approval, to be brought to light by a later revision."""

    def hide(writer: IncrementalPdfFileWriter) -> None:
        writer.add_object(generic.StreamObject(stream_data=b"BT (0.11 mm) Tj ET"))

    changed = revised(reports.certified(), hide)
    found = judge(reports.witnessed(changed, reports.firm()))
    assert reasons(found) == [Fault.STRUCTURE_CHANGED]
    assert "belong to nothing" in found.failed
