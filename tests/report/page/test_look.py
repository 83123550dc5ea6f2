"""The firm's own templates, style sheets, fonts and pictures, and what a broken one is told."""

import io
import re
from pathlib import Path

import pypdf
import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen

from recorder.errors import BadTemplate
from recorder.model.job import Job
from recorder.report.content.compose import compose
from recorder.report.content.context import Report
from recorder.report.content.pictures import PictureTray
from recorder.report.page import look as looks
from recorder.report.page.render import render
from recorder.report.page.templates import css_string, fill, isolated
from recorder.resources import shipped
from tests.report import sample

JOB = Job(id="empty", created_at=sample.NOW, version="0")


@pytest.fixture(scope="module")
def report() -> Report:
    return compose(JOB, PictureTray(Path()), sample.SETTINGS, sample.DRAFT)


def text_with(overrides: Path, job: Job = JOB) -> str:
    edition = sample.EDITION.model_copy(update={"overrides": overrides, "variant": "short"})
    pages = pypdf.PdfReader(io.BytesIO(render(job, overrides, sample.SETTINGS, edition))).pages
    return " ".join(page.extract_text() for page in pages)


def test_a_style_sheet_of_the_firm_counts(tmp_path: Path) -> None:
    assert "SPLICE RECORD" not in text_with(tmp_path)
    (tmp_path / "firm.css").write_text("h1 { text-transform: uppercase }")
    assert "SPLICE RECORD" in text_with(tmp_path)


def test_a_template_of_the_firm_stands_in_and_may_use_the_shipped_parts(tmp_path: Path) -> None:
    (tmp_path / "report.html").write_text(
        '{% import "parts.html" as parts %}<h1>Ours: {{ report.job_id }}</h1>'
        '{{ parts.facts(report.overview.facts) }}<img src="seamnote:ours.svg" alt="Our mark">'
    )
    (tmp_path / "ours.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 2 2"><path d="M0 0H2V2Z"/></svg>'
    )
    text = text_with(tmp_path)
    assert "Ours: empty" in text
    assert "not recorded" in text


def test_a_font_of_the_firm_has_what_the_shipped_one_lacks(tmp_path: Path) -> None:
    job = JOB.model_copy(update={"readings": (sample.card("customer", "\u4e2d\u6587"),)})
    assert "\u25a1\u25a1" in text_with(tmp_path, job)
    (tmp_path / "fonts").mkdir()
    (tmp_path / "fonts/Ours.ttf").write_bytes(font("\u4e2d"))
    text = text_with(tmp_path, job)
    assert "\u4e2d\u25a1" in text
    assert "lacks 1 character of the record, shown as \u25a1: U+6587." in text


def font(char: str) -> bytes:
    """A font with a box for one character."""
    pen = TTGlyphPen(None)
    pen.moveTo((100, 0))
    pen.lineTo((100, 700))
    pen.lineTo((900, 700))
    pen.closePath()
    build = FontBuilder(1000, isTTF=True)
    build.setupGlyphOrder([".notdef", "box"])
    build.setupCharacterMap({ord(char): "box"})
    build.setupGlyf({name: pen.glyph() for name in (".notdef", "box")})
    build.setupHorizontalMetrics(dict.fromkeys((".notdef", "box"), (1000, 100)))
    build.setupHorizontalHeader(ascent=800, descent=-200)
    build.setupNameTable({"familyName": "Ours", "styleName": "Regular"})
    build.setupOS2()
    build.setupPost()
    out = io.BytesIO()
    build.save(out)
    return out.getvalue()


@pytest.mark.parametrize(
    ("template", "line", "told"),
    [
        ("<p>\n{% if %}", 2, "Expected an expression"),
        ("<p>\n\n{{ report.nothing }}", 3, "nothing"),
        ("{{ report.__class__ }}", 1, "__class__"),
        ("{{ report.model_dump() }}", 1, "model_dump"),
        ("{{ ().__class__.__base__.__subclasses__() }}", 1, "__class__"),
        ("{{ ''.join.__globals__ }}", 1, "__globals__"),
        ("\n{% include '../../etc/passwd' %}", 2, "passwd"),
        ("\n{% include '/etc/passwd' %}", 2, "passwd"),
        ("{{ open('/etc/passwd') }}", 1, "'open' is undefined"),
        ("{{ 1 / 0 }}", 1, "ZeroDivisionError"),
        ("{% for x in range(10 ** 9) %}{% endfor %}", 1, "Range too big"),
        ("{% set report.number = 1 %}", 1, "namespace"),
    ],
)
def test_a_broken_template_is_one_line_with_its_place(
    report: Report, tmp_path: Path, template: str, line: int, told: str
) -> None:
    path = tmp_path / "report.html"
    path.write_text(template)
    with pytest.raises(BadTemplate) as caught:
        fill(report, looks.read(tmp_path))
    assert str(caught.value).startswith(f"{path}, line {line}: ")
    assert told in str(caught.value)
    assert caught.value.exit_code == 3
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("name", "content", "line", "told"),
    [
        ("firm.css", b"p { color: red }\nh1 { colr: red }", 2, "unknown property"),
        ("firm.css", b"p { color: red }\n\nh1 { color: }", 3, "Ignored"),
        ("report.css", b"\xff\xfe", 1, "not UTF-8"),
        ("parts.html", b"\n\xff", 2, "not UTF-8"),
        ("fonts/Ours.otf", b"no font", 1, "not a font"),
    ],
)
def test_a_broken_file_is_one_line_with_its_place(
    tmp_path: Path, name: str, content: bytes, line: int, told: str
) -> None:
    path = tmp_path / name
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(content)
    with pytest.raises(BadTemplate) as caught:
        text_with(tmp_path)
    assert str(caught.value).startswith(f"{path}, line {line}: ")
    assert told in str(caught.value)


def test_a_folder_that_is_not_there_changes_nothing(tmp_path: Path) -> None:
    plain, none = looks.read(None), looks.read(tmp_path / "nothing")
    assert plain == none
    assert none.own == frozenset()


def test_the_shipped_style_sheets_have_no_fault() -> None:
    from recorder.report.page.typesetting import style

    assert style(looks.read(None)).faults == ()


def test_a_string_of_a_style_sheet_ends_neither_it_nor_the_page() -> None:
    written = css_string("</style>\"\\\n'é")
    assert re.fullmatch(r'"[0-9a-zA-Zé\\]*"', written)


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("Larkfield <3", "Larkfield &lt;3"),
        ("\u0645\u062e\u0628\u0632 4", "<bdi>\u0645\u062e\u0628\u0632 4</bdi>"),
    ],
)
def test_only_what_may_turn_is_set_apart(text: str, written: str) -> None:
    assert isolated(text) == written


def test_every_shipped_file_of_the_look_is_read() -> None:
    names = {path.name for path in shipped("report_templates").glob("*.*")}
    assert names == {name for name in looks.read(None).files if "/" not in name}
