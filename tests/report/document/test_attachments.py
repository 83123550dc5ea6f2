"""Files in a document, by an honest and by a hostile hand."""

import hashlib
import io
import random
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pikepdf
import pypdf
import pytest
from pikepdf import Array, Dictionary, Name, Stream

from recorder.errors import NotAReport
from recorder.report.document.attachments import MOST, attached
from recorder.report.document.pdf import LARGEST_STREAM
from recorder.report.document.structure import alternative_texts
from tests.report.document.conftest import ATTACHMENTS

CONTENTS = {attachment.name: attachment.content for attachment in ATTACHMENTS}


def test_files_come_back_byte_for_byte(document: bytes) -> None:
    assert attached(document, "report.pdf") == CONTENTS


def test_another_program_gets_the_same_files(document: bytes, tmp_path: Path) -> None:
    """pdfdetach of poppler-utils."""
    (tmp_path / "report.pdf").write_bytes(document)
    subprocess.run(["pdfdetach", "-saveall", "report.pdf"], cwd=tmp_path, check=True)
    assert {name: (tmp_path / name).read_bytes() for name in CONTENTS} == CONTENTS


def test_files_are_associated_with_the_document(document: bytes) -> None:
    root: Any = pypdf.PdfReader(io.BytesIO(document)).root_object
    names = root["/Names"]["/EmbeddedFiles"]["/Names"]
    assert list(names[0::2]) == ["evidence.json", "job.json"], "a name tree is sorted"
    assert list(root["/AF"]) == list(names[1::2])
    for attachment in ATTACHMENTS:
        (found,) = [f.get_object() for f in root["/AF"] if f.get_object()["/F"] == attachment.name]
        assert found["/UF"] == attachment.name
        assert found["/Desc"] == attachment.description
        assert found["/AFRelationship"] == f"/{attachment.relationship}"
        file = found["/EF"]["/F"]
        assert file["/Subtype"] == "/application/json"
        assert file["/Params"]["/Size"] == len(attachment.content)
        digest = hashlib.md5(attachment.content).digest()
        assert file["/Params"]["/CheckSum"].original_bytes == digest
        assert file["/Params"]["/ModDate"] == "D:20260304114005-03'30'"


def test_alternative_texts_are_read_in_order(document: bytes) -> None:
    assert alternative_texts(document, "report.pdf") == ("Code for verification: 1", "The gap")


def names_of(pdf: pikepdf.Pdf) -> Array:
    names = pdf.Root.Names.EmbeddedFiles.Names
    assert isinstance(names, Array)
    return names


def twice(pdf: pikepdf.Pdf) -> None:
    names_of(pdf).extend([names_of(pdf)[0], names_of(pdf)[1]])


def two_contents(pdf: pikepdf.Pdf) -> None:
    names_of(pdf)[1].EF.UF = Stream(pdf, b"other")


def two_names(pdf: pikepdf.Pdf) -> None:
    names_of(pdf)[1].UF = "other.json"


def a_tree(pdf: pikepdf.Pdf) -> None:
    pdf.Root.Names.EmbeddedFiles.Kids = Array()


def no_pairs(pdf: pikepdf.Pdf) -> None:
    names_of(pdf).append("odd")


def many(pdf: pikepdf.Pdf) -> None:
    for number in range(MOST):
        names_of(pdf).extend([f"{number}", names_of(pdf)[1]])


def a_bomb(pdf: pikepdf.Pdf) -> None:
    """Some KB that would take all memory."""
    names_of(pdf)[1].EF.F.write(b"\0" * (LARGEST_STREAM + 1))


def two_halves_of_a_bomb(pdf: pikepdf.Pdf) -> None:
    half = b"\0" * (LARGEST_STREAM // 2 + 1)
    for place in (1, 3):
        names_of(pdf)[place].EF.F.write(half)
        names_of(pdf)[place].EF.F.Params.CheckSum = pikepdf.String(hashlib.md5(half).digest())


def no_content(pdf: pikepdf.Pdf) -> None:
    del names_of(pdf)[1].EF


def a_number_for_names(pdf: pikepdf.Pdf) -> None:
    pdf.Root.Names.EmbeddedFiles.Names = 5


def a_number_for_a_file(pdf: pikepdf.Pdf) -> None:
    names_of(pdf)[1] = 5


def a_filter_that_is_none(pdf: pikepdf.Pdf) -> None:
    names_of(pdf)[1].EF.F.write(b"x", filter=Name.FlateDecode)


@pytest.mark.parametrize(
    ("harm", "reason"),
    [
        (twice, "ambiguous"),
        (two_contents, "ambiguous"),
        (two_names, "ambiguous"),
        (a_tree, "not those of a report"),
        (no_pairs, "not those of a report"),
        (many, "not those of a report"),
        (a_bomb, "memory"),
        (two_halves_of_a_bomb, "too large"),
        (no_content, "/EF"),
        (a_number_for_names, "damaged"),
        (a_number_for_a_file, "damaged"),
        (a_filter_that_is_none, "attachment 'evidence.json' is damaged"),
    ],
)
def test_a_hostile_attachment_is_one_line(
    document: bytes, harm: Callable[[pikepdf.Pdf], None], reason: str
) -> None:
    with pytest.raises(NotAReport, match=rf"report\.pdf is not a PDF report \(.*{reason}.*\)"):
        attached(changed(document, harm), "report.pdf")


def test_a_document_without_attachments_has_none(document: bytes) -> None:
    def remove(pdf: pikepdf.Pdf) -> None:
        del pdf.Root.Names

    assert attached(changed(document, remove), "report.pdf") == {}


def changed(document: bytes, harm: Callable[[pikepdf.Pdf], None], **options: Any) -> bytes:
    file = io.BytesIO()
    with pikepdf.open(io.BytesIO(document)) as pdf:
        harm(pdf)
        pdf.save(file, **options)
    return file.getvalue()


def test_an_encrypted_document_is_refused(document: bytes) -> None:
    for user in ("", "secret"):
        lock = pikepdf.Encryption(user=user, owner="owner")
        locked = changed(document, lambda pdf: None, encryption=lock)
        with pytest.raises(NotAReport, match=r"encrypted|password"):
            attached(locked, "report.pdf")


def ring(pdf: pikepdf.Pdf) -> None:
    pdf.Root.StructTreeRoot.K[0].K.append(pdf.Root.StructTreeRoot.K[0])


def doubling(pdf: pikepdf.Pdf) -> None:
    """Arrays in arrays that would be walked 2^60 times."""
    array = pdf.make_indirect(Array([pdf.Root.StructTreeRoot.K[0]]))
    for _ in range(60):
        array = pdf.make_indirect(Array([array, array]))
    pdf.Root.StructTreeRoot.K = array


def deep(pdf: pikepdf.Pdf) -> None:
    element = pdf.Root.StructTreeRoot.K[0]
    for _ in range(5_000):
        element = pdf.make_indirect(Dictionary(S=Name.Div, K=element))
    pdf.Root.StructTreeRoot.K = element


@pytest.mark.parametrize("harm", [ring, doubling, deep])
def test_a_structure_without_an_end_is_walked_once(
    document: bytes, harm: Callable[[pikepdf.Pdf], None]
) -> None:
    assert len(alternative_texts(changed(document, harm), "report.pdf")) == 2


def test_any_damage_gives_the_files_or_one_line(document: bytes) -> None:
    dice = random.Random(1)
    whole = refused = 0
    for _ in range(300):
        damaged = bytearray(document)
        for _ in range(dice.choice((1, 1, 30))):
            damaged[dice.randrange(len(damaged))] = dice.randrange(256)
        del damaged[dice.choice((len(damaged), dice.randrange(len(damaged)))) :]
        try:
            assert attached(bytes(damaged), "report.pdf") in (CONTENTS, {})
            alternative_texts(bytes(damaged), "report.pdf")
            whole += 1
        except NotAReport:
            refused += 1
    assert whole > 30
    assert refused > 100


def test_a_file_that_would_need_repair_is_refused(document: bytes) -> None:
    """What a program repairs by guessing can look different in the next program."""
    start = document.rindex(b"startxref")
    broken = document[:start] + b"startxref\n1\n%%EOF\n"
    assert pypdf.PdfReader(io.BytesIO(broken)).pages[0]
    with pytest.raises(NotAReport):
        attached(broken, "report.pdf")


def test_a_reason_tells_of_the_file_and_not_of_a_place_in_memory() -> None:
    with pytest.raises(NotAReport) as caught:
        attached(b"%PDF-1.7\nhello", "report.pdf")
    assert caught.value.data["detail"] == "it is damaged: can't find startxref"
