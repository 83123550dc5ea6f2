"""The catalogue of the report's wording: ``python -m tests.wording`` writes it anew.

All texts of the templates, of the code that composes the page and of the model's tables, as a
gettext template. ``tests/report/wording/test_catalogue.py`` fails when it is out of date.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.pofile import write_po
from jinja2.ext import babel_extract

from recorder.knowhow.preparing.checks import CHECK_LIST, DEFERS
from recorder.model.characteristics import CHARACTERISTICS, limit_label
from recorder.model.fields import FIELDS, choice_label
from recorder.model.measurement import LIMITED_AS, NOMINAL
from recorder.model.recording import WHY_SILENT

ROOT = Path(__file__).parents[1]
CATALOGUE = ROOT / "report_templates/wording/report.pot"
KEYWORDS = {"say": None, "say_in": ((1, "c"), 2), "count": (1, 2), "noted": None}
CODE = ("recorder/model", "recorder/report", "recorder/knowhow", "recorder/flows")
TEMPLATES = ("*.html", "*.svg")
HEADER = """\
# Every text of the Seamnote report, made by 'python -m tests.wording'.
# A language is a copy of this file, <code>.po, with its texts in msgstr. What stands in {braces}
# is a value: every translation of a message holds the same ones, wherever they stand.
msgid ""
msgstr ""
"Content-Type: text/plain; charset=UTF-8\\n"
"Content-Transfer-Encoding: 8bit\\n"

"""

Message = str | tuple[str, ...]


def from_files() -> Iterator[tuple[str, Message, str | None]]:
    """Where it stands, the text or its two forms, and its context, of code and templates."""
    for folder in CODE:
        for path in sorted((ROOT / folder).rglob("*.py")):
            yield from _texts(path, "python")
    for kind in TEMPLATES:
        for path in sorted((ROOT / "report_templates").glob(kind)):
            yield from _texts(path, babel_extract)


def _texts(path: Path, method: object) -> Iterator[tuple[str, Message, str | None]]:
    place = path.relative_to(ROOT).as_posix()
    with path.open("rb") as file:
        for _, text, _, context in extract(method, file, KEYWORDS):
            yield place, text, context


def from_tables() -> Iterator[tuple[str, Message, str | None]]:
    """What is written from a table of the model, so that no call of ``say`` holds it."""
    for field in FIELDS.values():
        yield "recorder/model/fields.py", field.label, None
        for choice in field.choices:
            yield "recorder/model/fields.py", choice_label(choice), None
    for each in CHARACTERISTICS.values():
        yield "recorder/model/characteristics.py", each.label, None
    for why in WHY_SILENT.values():
        yield "recorder/model/recording.py", why, None
    for name in (*LIMITED_AS, *NOMINAL.values()):
        yield "recorder/model/measurement.py", limit_label(name), None
    for text in (DEFERS, *(point.text for point in CHECK_LIST)):
        yield "recorder/knowhow/preparing/checks.py", text, None


def catalogue() -> Catalog:
    """All messages, each with the files that hold it."""
    found = Catalog()
    for place, text, context in (*from_tables(), *from_files()):
        found.add(text, None, [(place, 0)], context=context)
    return found


def write(path: Path) -> None:
    with path.open("wb") as file:
        file.write(HEADER.encode())
        write_po(file, catalogue(), width=100, omit_header=True, include_lineno=False)


if __name__ == "__main__":
    write(CATALOGUE)
