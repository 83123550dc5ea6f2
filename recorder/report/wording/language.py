"""A language of the report: texts from .po files, numbers and times as its readers write them.

The only module that imports Babel. English stands in the code and needs no file; a ``.po`` file is
checked as a whole when it is read, so that no text of it can break or bend a page later.
"""

from __future__ import annotations

import gettext
import io
import re
import string
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import Path

from babel import Locale, UnknownLocaleError, dates
from babel.messages.catalog import Catalog, Message
from babel.messages.mofile import write_mo
from babel.messages.pofile import PoFileError, read_po
from babel.numbers import get_decimal_symbol

from recorder.errors import BadWording, FileTooLarge, UnknownLanguage

ENGLISH = "en"
FOLDER = "wording"  # inside a folder of templates
MOST_BYTES = 4_000_000
# Embeddings, overrides and isolates of the bidirectional algorithm (Unicode UAX #9, 2.1 to 2.5).
_TURNING = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}
# A line of a .po file: a comment, or a string that is closed. Babel reads others as empty ones.
_LINE = re.compile(
    r'\s*(#.*|((msgctxt|msgid|msgid_plural|msgstr(\[\d+\])?)\s*)?"([^"\\]|\\.)*"|)\s*'
)


@dataclass(frozen=True, eq=False)
class Language:
    """locale: of numbers and times. texts: from English into the language."""

    locale: Locale
    texts: gettext.NullTranslations

    @property
    def tag(self) -> str:
        """As HTML and PDF name it (BCP 47): 'en', 'de-AT'."""
        return str(self.locale).replace("_", "-")

    def number(self, digits: str) -> str:
        """Digits with a decimal point, with the mark of the language instead."""
        return digits.replace(".", get_decimal_symbol(self.locale))

    def day(self, at: date) -> str:
        return dates.format_date(at, "long", self.locale)

    def month(self, at: date) -> str:
        return dates.format_skeleton("yMMMM", at, locale=self.locale)

    def time_of_day(self, at: time) -> str:
        return dates.format_time(at, "short", locale=self.locale)

    def moment(self, at: datetime) -> str:
        """Day, time in the zone of ``at``, and that zone: its distance to UTC."""
        pattern = str(dates.get_datetime_format("medium", self.locale))
        shown = pattern.replace("'", "").format(self.time_of_day(at.time()), self.day(at))
        offset = dates.get_timezone_gmt(at, "iso8601") if at.utcoffset() else ""
        return f"{shown} UTC{offset}" if at.tzinfo else shown


def load(code: str, folders: Sequence[Path]) -> Language:
    """The language 'de' or 'de_AT' from ``wording/*.po`` in folders of templates.

    What several files hold counts from the first: 'de_AT' before 'de', and in each the folders in
    their order. A text that none of them holds stays English. Raises UnknownLanguage, and
    BadWording or FileTooLarge for a file.
    """
    try:
        locale = Locale.parse(code)
    except (UnknownLocaleError, ValueError) as error:
        raise _unknown(code, folders) from error
    parts = code.split("_")
    names = ["_".join(parts[:length]) for length in range(len(parts), 0, -1)]
    paths = [folder / FOLDER / f"{name}.po" for name in names for folder in folders]
    found = [_texts(path, locale) for path in paths if path.is_file()]
    if not found and locale.language != ENGLISH:
        raise _unknown(code, folders)
    texts = gettext.NullTranslations()
    for each in reversed(found):
        each.add_fallback(texts)
        texts = each
    return Language(locale, texts)


def _unknown(code: str, folders: Sequence[Path]) -> UnknownLanguage:
    there = {path.stem for folder in folders for path in (folder / FOLDER).glob("*.po")}
    return UnknownLanguage(wanted=code, near=", ".join(sorted(there | {ENGLISH})))


def _texts(path: Path, locale: Locale) -> gettext.GNUTranslations:
    catalogue = _catalogue(path, locale)
    compiled = io.BytesIO()
    write_mo(compiled, catalogue)
    compiled.seek(0)
    try:
        texts = gettext.GNUTranslations(compiled)
        forms = [texts.plural(n) for n in range(1000)]  # type: ignore[attr-defined]
    except (ValueError, ArithmeticError) as error:
        raise BadWording(path=path, line=1, detail=f"Plural-Forms: {error}") from error
    of_one = forms[1] if forms.count(forms[1]) == 1 else None
    for message in catalogue:
        wrong = next(_faults(message, catalogue.num_plurals, of_one), None) if message.id else None
        if wrong:
            raise BadWording(path=path, line=message.lineno, detail=wrong)
    return texts


def _catalogue(path: Path, locale: Locale) -> Catalog:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise FileTooLarge(path=path, size=path.stat().st_size, limit=f"{MOST_BYTES} bytes")
        lines = path.read_text(encoding="utf-8-sig").split("\n")
    except UnicodeDecodeError as error:
        at = error.object[: error.start].count(b"\n") + 1
        raise BadWording(path=path, line=at, detail="it is not UTF-8") from error
    except OSError as error:
        raise BadWording(path=path, line=1, detail=error.strerror) from error
    for count, line in enumerate(lines, 1):
        if not _LINE.fullmatch(line):
            detail = f"{line.strip()[:60]!r} is no line of a .po file"
            raise BadWording(path=path, line=count, detail=detail)
    try:
        catalogue = read_po(lines, locale=locale, abort_invalid=True)
    except PoFileError as error:
        detail = str(error).removesuffix(f" on {error.lineno}")
        raise BadWording(path=path, line=error.lineno + 1, detail=detail) from error
    except Exception as error:  # of the header: it parses dates, numbers and names of its own
        raise BadWording(path=path, line=1, detail=f"its header: {error}") from error
    catalogue.charset = "utf-8"  # of what write_mo makes
    return catalogue


def _faults(message: Message, plurals: int, of_one: int | None) -> Iterator[str]:
    """What would break or bend a page; nothing of a message without a translation.

    of_one: the plural form of the number one alone, which may do without {n} as in English.
    """
    told = [message.string] if isinstance(message.string, str) else list(message.string or ())
    if not any(told) or message.fuzzy:
        return
    if message.pluralizable and (len(told) != plurals or not all(told)):
        yield f"it must have {plurals} plural forms"
    ids = (message.id,) if isinstance(message.id, str) else message.id
    wanted = placeholders(ids[-1])
    for form, text in enumerate(told):
        try:
            names = placeholders(text)
        except ValueError as error:
            yield f"{text!r}: {error}"
            continue
        if names != wanted and not (form == of_one and names == placeholders(ids[0])):
            yield f"{text!r} must hold {_listed(wanted)}, and holds {_listed(names)}"
        unseen = next((char for char in text if _unfit(char)), None)
        if unseen:
            yield f"a control character U+{ord(unseen):04X} in {text!r}"


def placeholders(text: str) -> set[str]:
    """Names in braces. ValueError for anything in braces that is more than a name."""
    names = set()
    for _, name, spec, conversion in string.Formatter().parse(text):
        if name is None:
            continue
        if not name.isidentifier() or spec or conversion:
            raise ValueError("braces hold a name and nothing else")
        names.add(name)
    return names


def _listed(names: set[str]) -> str:
    return " ".join(f"{{{name}}}" for name in sorted(names)) or "no {name}"


def _unfit(char: str) -> bool:
    return unicodedata.category(char) == "Cc" or unicodedata.bidirectional(char) in _TURNING
