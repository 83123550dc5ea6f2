"""Signing, and every way of tampering that must be seen."""

import re
from collections.abc import Callable
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from recorder.errors import FileEmpty, FileMissing, IdentityUnusable, InputRefused, NotAReport
from recorder.report.identity import identity
from recorder.report.signing.sign import BLOCK_MM, FIELD, POINTS_PER_MM, sign
from recorder.report.verifying.verify import Verification, verify

SAMPLES = 150

Judge = Callable[[bytes], Verification]


@pytest.fixture
def judge(tmp_path: Path, key: identity.Identity) -> Judge:
    def judged(content: bytes) -> Verification:
        path = tmp_path / "report.pdf"
        path.write_bytes(content)
        return verify(path, (key.certificate,))

    return judged


def gap(signed: bytes) -> tuple[int, int]:
    """Start and end of the signature, brackets included."""
    match = re.search(rb"/ByteRange \[0 (\d+) (\d+) \d+\]", signed)
    assert match
    return int(match[1]), int(match[2])


def test_a_good_report(judge: Judge, signed: bytes, key: identity.Identity) -> None:
    found = judge(signed)
    assert found.failed == ""
    assert found.signed
    assert found.intact
    assert found.valid
    assert found.covers_whole_file
    assert found.changed_since == ""
    assert found.signer == "DEMO Imke Dorn"
    assert found.organization == "DEMO, not for real work"
    assert found.fingerprint == key.fingerprint
    assert found.known
    assert found.demo
    assert found.in_time
    assert found.signed_at is not None
    assert abs(datetime.now().astimezone() - found.signed_at) < timedelta(minutes=10)


def test_an_unknown_signer_is_told_apart_from_a_changed_file(tmp_path: Path, signed: bytes) -> None:
    path = tmp_path / "report.pdf"
    path.write_bytes(signed)
    found = verify(path, ())
    assert found.failed == ""
    assert not found.known


def test_flipped_bytes_all_over_the_file(judge: Judge, signed: bytes) -> None:
    accepted = []
    for position in range(0, len(signed), len(signed) // SAMPLES):
        changed = bytearray(signed)
        changed[position] ^= 0x20
        if not judge(bytes(changed)).failed:
            accepted.append(position)
    assert accepted == []


def test_flips_from_the_signature_to_the_end(judge: Judge, signed: bytes) -> None:
    """The signature dictionary, its padding and all that follows; every seventh byte, each bit."""
    start, _ = gap(signed)
    accepted = []
    for position in range(start - 300, len(signed), 7):
        changed = bytearray(signed)
        changed[position] ^= 1 << position % 8
        if not judge(bytes(changed)).failed:
            accepted.append(position)
    assert accepted == []


def test_hex_digits_of_the_other_case(judge: Judge, signed: bytes) -> None:
    start, end = gap(signed)
    changed = signed[:start] + signed[start:end].lower() + signed[end:]
    assert changed != signed
    assert "form in which it was written" in judge(changed).failed


def test_padding_is_part_of_the_file(judge: Judge, signed: bytes) -> None:
    _, end = gap(signed)
    changed = bytearray(signed)
    changed[end - 2] = ord("1")
    assert "form in which it was written" in judge(bytes(changed)).failed


@pytest.mark.parametrize("kept", [0.02, 0.5, 0.98, -1])
def test_truncation(judge: Judge, signed: bytes, kept: float) -> None:
    length = int(len(signed) * kept) if kept > 0 else len(signed) - 1
    assert judge(signed[:length]).failed


@pytest.mark.parametrize("junk", [b"\n", b"\0", b"%%EOF\n", b"% /ByteRange [0 5 9 2]\n"])
def test_trailing_junk(judge: Judge, signed: bytes, junk: bytes) -> None:
    found = judge(signed + junk)
    assert found.failed
    assert not found.known or found.changed_since


def test_overlay_by_incremental_update(judge: Judge, signed: bytes) -> None:
    """Page 1 gets other content in a second revision, as a forger would do it."""
    import io

    from pyhanko.pdf_utils.generic import StreamObject, pdf_name
    from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter

    writer = IncrementalPdfFileWriter(io.BytesIO(signed))
    page, _ = writer.find_page_for_modification(0)
    page.get_object()[pdf_name("/Contents")] = writer.add_object(
        StreamObject(stream_data=b"0 0 300 300 re f")
    )
    writer.update_container(page.get_object())
    out = io.BytesIO()
    writer.write(out)
    assert out.getvalue().startswith(signed)
    found = judge(out.getvalue())
    assert "added after signing" in found.failed
    assert found.intact
    assert not found.covers_whole_file


def test_the_signature_permits_no_change(signed: bytes) -> None:
    """DocMDP level 1, ISO 32000-2, table 257."""
    import io

    from pyhanko.pdf_utils.reader import PdfFileReader

    (signature,) = PdfFileReader(io.BytesIO(signed)).embedded_signatures
    assert signature.docmdp_level is not None
    assert signature.docmdp_level.value == 1


def test_zeroed_signature(judge: Judge, signed: bytes) -> None:
    start, end = gap(signed)
    zeroed = signed[: start + 1] + b"0" * (end - start - 2) + signed[end - 1 :]
    assert len(zeroed) == len(signed)
    assert "signature was changed" in judge(zeroed).failed


def test_emptied_signature(judge: Judge, signed: bytes) -> None:
    start, end = gap(signed)
    assert judge(signed[:start] + b"<>" + signed[end:]).failed


def test_a_byte_range_that_leaves_something_out(judge: Judge, signed: bytes) -> None:
    start, end = gap(signed)
    old = b"/ByteRange [0 %d %d " % (start, end)
    new = b"/ByteRange [9 %d %d " % (start - 9, end)
    changed = signed.replace(old, new)
    assert changed != signed
    assert judge(changed).failed


def test_a_signature_from_another_report(
    judge: Judge, signed: bytes, demo_pdf: bytes, key: identity.Identity
) -> None:
    other = sign(demo_pdf + b"\n", key, "Record of the splice job", "Larkfield, packing hall 2")
    (start, end), (from_, to) = gap(signed), gap(other)
    transplanted = signed[:start] + other[from_:to] + signed[end:]
    found = judge(transplanted)
    assert found.failed
    assert not found.intact


def test_another_certificate_under_the_same_name(
    judge: Judge, tmp_path: Path, demo_pdf: bytes, key: identity.Identity
) -> None:
    forger = identity.create(tmp_path / "forged.p12", "x", "Imke Dorn", "", demo=True)
    found = judge(sign(demo_pdf, forger, "Record of the splice job", ""))
    assert found.signer == key.common_name
    assert not found.known


def test_a_certificate_swapped_into_the_signature(
    judge: Judge, signed: bytes, tmp_path: Path
) -> None:
    from asn1crypto import cms, x509

    start, end = gap(signed)
    container = cms.ContentInfo.load(bytes.fromhex(signed[start + 1 : end - 1].decode()))
    forger = identity.create(tmp_path / "forged.p12", "x", "Imke Dorn", "", demo=True)
    container["content"]["certificates"] = [x509.Certificate.load(forger.certificate.der)]
    written = container.dump(force=True).hex().upper().encode()
    padded = b"<" + written.ljust(end - start - 2, b"0") + b">"
    assert judge(signed[:start] + padded[: end - start] + signed[end:]).failed


def test_an_unsigned_report(judge: Judge, demo_pdf: bytes) -> None:
    found = judge(demo_pdf)
    assert not found.signed
    assert found.failed == "it carries no signature"


@pytest.mark.parametrize("text", [b"hello", b"\xff\xd8\xff jpeg", b"PK\x03\x04"])
def test_not_a_pdf(judge: Judge, text: bytes) -> None:
    with pytest.raises(NotAReport):
        judge(text)


def test_nothing_there(tmp_path: Path) -> None:
    with pytest.raises(FileMissing):
        verify(tmp_path / "none.pdf", ())
    (tmp_path / "empty.pdf").touch()
    with pytest.raises(FileEmpty):
        verify(tmp_path / "empty.pdf", ())
    with pytest.raises(InputRefused):
        verify(tmp_path, ())


def test_a_text_that_looks_like_a_byte_range(judge: Judge, key: identity.Identity) -> None:
    """A customer's name cannot spoil the report that holds it."""
    from recorder.report.page import weasy

    title = "/ByteRange [0 3 9 27] /M (D:20200101000000Z)"
    html = f"<title>{title}</title><p>{title}</p>"
    found = judge(sign(weasy.pdf(html, {}, b"0" * 16), key, "test", title))
    assert found.failed == ""
    assert found.signed_at is not None
    assert found.signed_at.year != 2020


def test_the_claimed_time_keeps_its_zone(
    judge: Judge, demo_pdf: bytes, key: identity.Identity
) -> None:
    zone = timezone(timedelta(hours=-3, minutes=-30))
    now = datetime.now(zone).replace(microsecond=0)
    found = judge(sign(demo_pdf, key, "test", "", now))
    assert found.signed_at == now
    assert found.signed_at.utcoffset() == timedelta(hours=-3, minutes=-30)


@pytest.mark.parametrize("years", [-30, 30])
def test_no_signing_outside_of_the_certificates_time(
    demo_pdf: bytes, key: identity.Identity, years: int
) -> None:
    now = datetime.now().astimezone() + timedelta(days=365 * years)
    with pytest.raises(IdentityUnusable, match="the clock says"):
        sign(demo_pdf, key, "test", "", now)


def test_signing_what_is_no_pdf(key: identity.Identity) -> None:
    with pytest.raises(NotAReport):
        sign(b"no pdf at all", key, "test", "")


def test_the_field_lies_over_the_block_on_the_page(signed: bytes, tmp_path: Path) -> None:
    import pypdf

    path = tmp_path / "report.pdf"
    path.write_bytes(signed)
    reader = pypdf.PdfReader(path)
    field = (reader.get_fields() or {})[FIELD]
    assert field.field_type == "/Sig"
    ((widget, page),) = [
        (a, page.extract_text())
        for page in reader.pages
        for a in page.get("/Annots", [])
        if a.get_object().get("/T") == FIELD
    ]
    left, bottom, right, top = (float(side) for side in widget.get_object()["/Rect"])
    assert right - left == pytest.approx(BLOCK_MM[0] * POINTS_PER_MM, abs=1)
    assert top - bottom == pytest.approx(BLOCK_MM[1] * POINTS_PER_MM, abs=1)
    assert 40 < left < 60
    assert "DEMO Imke Dorn" in page
