"""The technician's certification: what it adds, what it permits, and in which form."""

import io
import re
from dataclasses import replace

import pytest
from pypdf import PdfReader

from recorder.errors import IdentityUnusable, NotAReport
from recorder.report.document.about import CUSTOMER, TECHNICIAN
from recorder.report.identity import tokens
from recorder.report.identity.identity import Identity
from recorder.report.signing.certify import certify
from recorder.report.verifying import container
from recorder.settings import TokenSettings
from tests.report.identity import softhsm
from tests.report.identity.certs import KEYS, ROOT, SIGNER
from tests.report.signing.conftest import NOW


def fields(pdf: bytes) -> dict[str, dict]:
    found = [
        each.get_object() for each in PdfReader(io.BytesIO(pdf)).root_object["/AcroForm"]["/Fields"]
    ]
    return {str(field["/T"]): field for field in found}


def containers(pdf: bytes) -> list[bytes]:
    ranges = re.findall(rb"/ByteRange \[0 (\d+) (\d+) \d+\]", pdf)
    return [pdf[int(start) : int(end)] for start, end in ranges]


def test_the_document_stays_and_a_revision_follows(document: bytes, certified: bytes) -> None:
    assert certified.startswith(document)
    assert fields(certified).keys() == {TECHNICIAN, CUSTOMER}
    assert "/V" not in fields(certified)[CUSTOMER]


def test_what_the_signature_says(certified: bytes) -> None:
    signature = fields(certified)[TECHNICIAN]["/V"]
    assert signature["/Reason"] == "Record of the splice job"
    assert signature["/Location"] == "Larkfield, Halle 2 ü"
    assert signature["/SubFilter"] == "/ETSI.CAdES.detached"
    assert signature["/M"].replace("'", "")[2:16] == f"{NOW:%Y%m%d%H%M%S}"


def test_only_the_field_of_the_customer_may_be_filled_afterwards(certified: bytes) -> None:
    signature = fields(certified)[TECHNICIAN]["/V"]
    rules = {rule["/TransformMethod"]: rule["/TransformParams"] for rule in signature["/Reference"]}
    assert rules["/DocMDP"]["/P"] == 2
    assert rules["/FieldMDP"]["/Action"] == "/Exclude"
    assert rules["/FieldMDP"]["/Fields"] == [CUSTOMER]
    root = PdfReader(io.BytesIO(certified)).root_object
    place = root["/AcroForm"]["/Fields"][0].get_object()
    assert root["/Perms"].raw_get("/DocMDP").idnum == place.raw_get("/V").idnum
    assert root["/AcroForm"]["/SigFlags"] == 3


def test_the_fields_show_what_they_did(document: bytes, certified: bytes) -> None:
    for name in (TECHNICIAN, CUSTOMER):
        before, after = (fields(pdf)[name] for pdf in (document, certified))
        assert after["/AP"]["/N"].get_data() == before["/AP"]["/N"].get_data()
        assert after["/Rect"] == before["/Rect"]
        assert after["/StructParent"] == before["/StructParent"]


def test_nothing_is_described_anew(document: bytes, certified: bytes) -> None:
    before, after = (PdfReader(io.BytesIO(pdf)) for pdf in (document, certified))
    assert after.metadata == before.metadata
    metadata = [reader.root_object.raw_get("/Metadata").idnum for reader in (before, after)]
    assert metadata[0] == metadata[1]
    assert certified.count(b"/Subtype /XML", len(document)) == 0


def test_the_container_is_in_the_one_form_with_the_whole_chain(
    certified: bytes, key: Identity
) -> None:
    (written,) = containers(certified)
    signature = container.read(written)
    assert signature.certificate.der == key.certificate.der
    assert signature.chain == key.chain
    assert len(signature.chain) == 1
    assert signature.stamp == b""
    assert signature.matches_certificate()


def test_the_same_document_key_and_time_make_the_same_claims(
    document: bytes, certified: bytes, key: Identity
) -> None:
    """Only the identifier of the revision is drawn anew, and with it the signature."""
    again = certify(document, key, "Record of the splice job", "Larkfield, Halle 2 ü", NOW)
    assert len(again) == len(certified)
    assert fields(again)[TECHNICIAN]["/V"]["/M"] == fields(certified)[TECHNICIAN]["/V"]["/M"]


def test_a_signature_is_never_put_over_another(certified: bytes, key: Identity) -> None:
    with pytest.raises(NotAReport, match=TECHNICIAN):
        certify(certified, key, "Record", "", NOW)


@pytest.mark.parametrize("content", [b"", b"%PDF-1.7 and no more", b"no PDF at all" * 100])
def test_what_is_no_document_is_refused(content: bytes, key: Identity) -> None:
    with pytest.raises(NotAReport):
        certify(content, key, "Record", "", NOW)


def test_a_token_that_was_pulled_out_is_told(document: bytes, key: Identity) -> None:
    def gone(_: bytes) -> bytes:
        raise IdentityUnusable(path="token", detail="it is not plugged in")

    with pytest.raises(IdentityUnusable, match="not plugged in"):
        certify(document, replace(key, sign=gone), "Record", "", NOW)


async def inside_a_loop(document: bytes, key: Identity) -> bytes:
    return certify(document, key, "Record", "", NOW)


def test_it_signs_inside_of_an_event_loop_too(document: bytes, key: Identity) -> None:
    import asyncio

    assert len(containers(asyncio.run(inside_a_loop(document, key)))) == 1


def test_a_key_on_a_token_certifies_the_same_way(
    document: bytes, tmp_path_factory: pytest.TempPathFactory
) -> None:
    leaf, root = SIGNER.by(ROOT), ROOT.by(ROOT)
    with softhsm.tokens(tmp_path_factory.mktemp("softhsm"), "Quillback"):
        softhsm.put("Quillback", {"imke": KEYS[SIGNER.key]}, (leaf, root))
        settings = TokenSettings(module=softhsm.MODULE, token="Quillback", label="imke")
        key = tokens.load(settings, softhsm.PIN)
        (written,) = containers(certify(document, key, "Record", "", NOW))
    signature = container.read(written)
    assert signature.certificate.der == leaf
    assert signature.chain == (root,)
    assert signature.matches_certificate()
