"""A whole report in a language that is one small file: German, invented for this test."""

import re
import subprocess
from pathlib import Path

import pypdf
import pytest

from recorder.errors import BadWording, UnknownLanguage
from recorder.report.content.edition import Edition
from recorder.report.page.render import render
from tests.report import sample

FILE = """\
msgid ""
msgstr ""
"Content-Type: text/plain; charset=UTF-8\\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\\n"

msgid "Job {number}"
msgstr "Auftrag {number}"

msgid "Belt width"
msgstr "Gurtbreite"

msgid "Top platen"
msgstr "Obere Heizplatte"

msgid "flat"
msgstr "flach"

msgid "said {value}"
msgstr "gesagt: {value}"

msgid "not confirmed"
msgstr "unbestätigt"

msgid "within limit"
msgstr "innerhalb"

msgid "at most {value}"
msgstr "höchstens {value}"

msgid "{low} to {high}"
msgstr "{low} bis {high}"

msgid "below {value}"
msgstr "unter {value}"

msgid "{n} value not confirmed"
msgid_plural "{n} values not confirmed"
msgstr[0] "{n} Wert unbestätigt"
msgstr[1] "{n} Werte unbestätigt"

msgid "{n} finger"
msgid_plural "{n} fingers"
msgstr[0] "{n} Finger"
msgstr[1] "{n} Zinken"

msgid "over {share}"
msgstr "über {share}"

msgid "page {page} of {pages}"
msgstr "Seite {page} von {pages}"
"""
SETTINGS = sample.SETTINGS.model_copy(update={"language": "de"})


def edition(folder: Path, text: str) -> Edition:
    path = folder / "wording" / "de.po"
    path.parent.mkdir()
    path.write_text(text, encoding="utf-8")
    return sample.EDITION.model_copy(update={"overrides": folder})


@pytest.fixture(scope="module")
def pdf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("german")
    job = sample.demo_job(folder)
    path = folder / "page.pdf"
    home = edition(tmp_path_factory.mktemp("templates"), FILE)
    path.write_bytes(render(job, folder, SETTINGS, home))
    return path


@pytest.fixture(scope="module")
def text(pdf: Path) -> str:
    told = subprocess.run(["pdftotext", pdf, "-"], capture_output=True, text=True, check=True)
    return " ".join(told.stdout.split())


def test_the_document_says_its_language(pdf: Path) -> None:
    assert pypdf.PdfReader(pdf).root_object["/Lang"] == "de"


def test_labels_values_and_plurals_are_german(text: str) -> None:
    for expected in (
        "Auftrag 4817", "Gurtbreite", "Obere Heizplatte", "flach", "unbestätigt", "innerhalb",
        "1 Wert unbestätigt", "7 Zinken", "Seite 1 von", "gesagt: 32 psi",
    ):  # fmt: skip
        assert expected in text, expected


def test_decimals_have_commas_and_dates_their_order(text: str) -> None:
    for expected in (
        "0,15 ± 0,08 mm", "höchstens 0,5 mm", "69,3 bis 70,7 mm", "unter 0,12 mm", "2,21 bar",
        "31,9 psi", "über 99,9 %", "12,5 pixels a millimetre", "25. November 2025",
    ):  # fmt: skip
        assert expected in text, expected
    known = re.sub(r"0\.1\.0|20\d\d-\d\d-\d\dT[\d:+]+", "", text)
    points = [known[max(0, m.start() - 30) : m.end() + 10] for m in re.finditer(r"\d\.\d", known)]
    assert points == []


def test_what_has_no_translation_is_english(text: str) -> None:
    assert "The technician reported the conveyor isolated and locked out." in text


def test_the_record_stays_in_its_own_words(text: str) -> None:
    assert "no, make that one seventy two" in text
    assert "the two hearings differ" in text


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('msgid "Job {number}"\nmsgstr "Auftrag"\n', r"de\.po, line 1: 'Auftrag' must hold"),
        ('msgid "Job {number}\nmsgstr ""\n', r"de\.po, line 1: "),
    ],
)
def test_a_broken_language_is_refused_before_a_page_is_set(
    tmp_path: Path, text: str, told: str
) -> None:
    job = sample.demo_job(tmp_path)
    (tmp_path / "own").mkdir()
    with pytest.raises(BadWording, match=told):
        render(job, tmp_path, SETTINGS, edition(tmp_path / "own", text))


def test_a_language_without_a_file_is_refused(tmp_path: Path) -> None:
    job = sample.demo_job(tmp_path)
    with pytest.raises(UnknownLanguage, match="no words for the language 'de'"):
        render(job, tmp_path, SETTINGS, sample.EDITION)
