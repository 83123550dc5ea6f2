"""A language is a file: what it may hold, what is refused, and numbers and times in it."""

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from recorder.errors import BadWording, FileTooLarge, UnknownLanguage
from recorder.report.wording import language, markup
from recorder.report.wording.wording import (
    count,
    day,
    digits,
    language_tag,
    moment,
    number,
    say,
    say_in,
    writing,
)

HEADER = """\
msgid ""
msgstr ""
"Content-Type: text/plain; charset=UTF-8\\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\\n"
"""
GERMAN = (
    HEADER
    + """
msgid "Job {number}"
msgstr "Auftrag {number}"

msgid "{n} value"
msgid_plural "{n} values"
msgstr[0] "{n} Wert"
msgstr[1] "{n} Werte"

msgctxt "of a finger"
msgid "open"
msgstr "klaffend"

msgid "open"
msgstr "offen"

msgid "not translated"
msgstr ""

#, fuzzy
msgid "only guessed"
msgstr "geraten {wrong}"
"""
)
AT = datetime(2025, 3, 9, 14, 32, 5, tzinfo=timezone(timedelta(hours=1)))


def folder(path: Path, **texts: str) -> Path:
    for name, text in texts.items():
        file = path / "wording" / f"{name}.po"
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, encoding="utf-8")
    return path


def test_english_needs_no_file() -> None:
    assert say("Job {number}", number="4817") == "Job 4817"
    assert count("{n} value", "{n} values", 1) == "1 value"
    assert say_in("of a finger", "open") == "open"
    assert say("") == ""
    assert language_tag() == "en"
    with writing("en_GB", ()):
        assert language_tag() == "en-GB"
        assert day(date(2025, 3, 9)) == "9 March 2025"
    assert day(date(2025, 3, 9)) == "March 9, 2025"


def test_a_file_is_a_language(tmp_path: Path) -> None:
    with writing("de", [folder(tmp_path, de=GERMAN)]):
        assert say("Job {number}", number="{n}") == "Auftrag {n}"
        assert [count("{n} value", "{n} values", n) for n in (0, 1, 7)] == [
            "0 Werte", "1 Wert", "7 Werte",
        ]  # fmt: skip
        assert (say("open"), say_in("of a finger", "open")) == ("offen", "klaffend")
        assert say("not translated") == "not translated"
        assert say("only guessed") == "only guessed"
        assert say("of no file {x}", x=1) == "of no file 1"
        assert number(-1234.5, 2) == "-1234,50"
        assert digits("0.5") == "0,5"
        assert day(AT) == "9. März 2025"
        assert moment(AT) == "9. März 2025, 14:32 UTC+01:00"
        assert moment(AT.astimezone(UTC)) == "9. März 2025, 13:32 UTC"
        assert language_tag() == "de"
    assert say("Job {number}", number="4817") == "Job 4817"


def test_the_home_counts_before_what_is_shipped_and_a_country_before_its_language(
    tmp_path: Path,
) -> None:
    def texts(**some: str) -> str:
        rows = (f'msgid "{key}"\nmsgstr "{value}"\n' for key, value in some.items())
        return HEADER + "\n" + "\n".join(rows)

    home = folder(tmp_path / "home", de=texts(a="home a"), en=texts(a="firm a"))
    shipped = folder(
        tmp_path / "shipped",
        de=texts(a="ours a", b="ours b", c="ours c"),
        de_AT=texts(c="Austrian c"),
    )
    with writing("de_AT", [home, shipped]):
        assert [say(key) for key in "abcd"] == ["home a", "ours b", "Austrian c", "d"]
        assert language_tag() == "de-AT"
    with writing("en", [home, shipped]):
        assert [say(key) for key in "ab"] == ["firm a", "b"]


@pytest.mark.parametrize("told", [True, False], ids=["in the file", "of the language"])
def test_plural_forms_are_those_of_the_language(tmp_path: Path, told: bool) -> None:
    rule = "n==1 ? 0 : n%10>=2 && n%10<=4 && (n%100<10 || n%100>=20) ? 1 : 2"
    header = HEADER.replace("nplurals=2; plural=(n != 1)", f"nplurals=3; plural=({rule})")
    if not told:
        header = "\n".join(line for line in HEADER.splitlines() if "Plural" not in line)
    forms = "".join(f'msgstr[{i}] "{{n}} {word}"\n' for i, word in enumerate(("a", "b", "c")))
    text = f'{header}\n\nmsgid "{{n}} value"\nmsgid_plural "{{n}} values"\n{forms}'
    with writing("pl", [folder(tmp_path, pl=text)]):
        assert [count("{n} value", "{n} values", n)[-1] for n in (1, 2, 5, 12, 22)] == list("abccb")


ONE = 'msgid "the last photo"\nmsgid_plural "the {n} last photos"\n'


def test_one_may_be_told_without_its_number_where_it_is_the_only_one(tmp_path: Path) -> None:
    told = f'{HEADER}\n{ONE}msgstr[0] "das letzte Foto"\nmsgstr[1] "die letzten {{n}} Fotos"\n'
    with writing("de", [folder(tmp_path, de=told)]):
        assert count("the last photo", "the {n} last photos", 1) == "das letzte Foto"
        assert count("the last photo", "the {n} last photos", 2) == "die letzten 2 Fotos"
    of_none_too = told.replace("n != 1", "n > 1")
    with pytest.raises(BadWording, match=r"'das letzte Foto' must hold \{n\}"):
        language.load("fr", [folder(tmp_path, fr=of_none_too)])


@pytest.mark.parametrize("code", ["fr", "xx", "not a code", "de/../../etc", ""])
def test_a_language_without_words_is_refused(tmp_path: Path, code: str) -> None:
    with pytest.raises(UnknownLanguage, match="use one of de, en"):
        language.load(code, [folder(tmp_path, de=GERMAN)])


BROKEN = {
    "missing value": ('msgid "Job {number}"\nmsgstr "Auftrag"', 6, "must hold {number}"),
    "other value": ('msgid "Job {number}"\nmsgstr "Auftrag {nummer}"', 6, "holds {nummer}"),
    "value too many": ('msgid "Job"\nmsgstr "Auftrag {number}"', 6, "must hold no {name}"),
    "reaching in": ('msgid "{x}"\nmsgstr "{x.__class__}"', 6, "a name and nothing else"),
    "a width": ('msgid "{x}"\nmsgstr "{x:>99999999}"', 6, "a name and nothing else"),
    "a conversion": ('msgid "{x}"\nmsgstr "{x!r}"', 6, "a name and nothing else"),
    "a number": ('msgid "{x}"\nmsgstr "{0}"', 6, "a name and nothing else"),
    "no name": ('msgid "{x}"\nmsgstr "{}"', 6, "a name and nothing else"),
    "an open brace": ('msgid "{x}"\nmsgstr "{x"', 6, "'}'"),
    "a lost plural": (
        'msgid "{n} a"\nmsgid_plural "{n} b"\nmsgstr[0] "{n} c"\nmsgstr[1] "d"', 6, "'d' must hold",
    ),
    "too few plurals": (
        'msgid "{n} a"\nmsgid_plural "{n} b"\nmsgstr[0] "{n} c"', 6, "must have 2 plural",
    ),
    "too many plurals": (
        'msgid "{n} a"\nmsgid_plural "{n} b"\n'
        'msgstr[0] "{n} c"\nmsgstr[1] "{n} d"\nmsgstr[2] "{n} e"', 6, "more translations than",
    ),
    "not a po file": ("that is no message", 6, "'that is no message' is no line of a .po file"),
    "an open quote": ('msgid "a\nmsgstr "b"', 6, "is no line of"),
    "a quote within": ('msgid "a"\nmsgstr "b"c"', 7, "is no line of"),
    "another word": ('msgid "a"\nmsgstr "b"\nmsgtxt "c"', 8, "is no line of"),
    "no message": ('msgid "a"\nmsgid_plural "b"', 6, ""),
    "control": ('msgid "a"\nmsgstr "b\x07"', 6, "U+0007"),
    "line break": ('msgid "a"\nmsgstr "b\\nc"', 6, "U+000A"),
    "turned around": ('msgid "a"\nmsgstr "\u202e271"', 6, "U+202E"),
}  # fmt: skip


@pytest.mark.parametrize("case", BROKEN)
def test_a_broken_file_is_refused_in_one_line_with_its_place(tmp_path: Path, case: str) -> None:
    text, line, told = BROKEN[case]
    place = folder(tmp_path, de=f"{HEADER}\n{text}\n")
    with pytest.raises(BadWording) as refused:
        language.load("de", [place])
    message = str(refused.value)
    assert message.startswith(f"{place / 'wording' / 'de.po'}, line {line}: ")
    assert told in message
    assert "\n" not in message


@pytest.mark.parametrize(
    "header",
    [
        "Plural-Forms: nplurals=two; plural=(n != 1);",
        "Plural-Forms: nplurals=2; plural=__import__('os');",
        "Plural-Forms: nplurals=2; plural=(1 / n);",
        "Plural-Forms: nplurals=2; plural=" + "(" * 300 + "n" + ")" * 300,
        "PO-Revision-Date: whenever",
    ],
)
def test_a_broken_header_is_refused(tmp_path: Path, header: str) -> None:
    place = folder(tmp_path, de=f'msgid ""\nmsgstr ""\n"{header}\\n"\n')
    with pytest.raises(BadWording, match=r"de\.po, line 1: "):
        language.load("de", [place])


def test_a_file_of_another_coding_or_size_is_refused(tmp_path: Path) -> None:
    file = folder(tmp_path, de="") / "wording" / "de.po"
    file.write_bytes(b'msgid "a"\nmsgstr "\xe4"\n')
    with pytest.raises(BadWording, match=r"de\.po, line 2: it is not UTF-8"):
        language.load("de", [tmp_path])
    file.write_bytes(b"#" * (language.MOST_BYTES + 1))
    with pytest.raises(FileTooLarge):
        language.load("de", [tmp_path])


LINES = (
    'msgid ""', 'msgid "a"', 'msgid "{n}"', 'msgid_plural "{n}s"', 'msgctxt "c"', 'msgstr ""',
    'msgstr "b"', 'msgstr[0] "{n}"', 'msgstr[1] "{n}"', 'msgstr[9] "{n}"', '"{n}"', '"\\n"',
    '"Plural-Forms: nplurals=3; plural=n;\\n"', '"Language: zz\\n"', '"Content-Type: a/b;c=d\\n"',
    "", "#~ msgid", "#, fuzzy", "#: a:1", "#| x", "#", 'msgstr "\\', "x",
)  # fmt: skip


@settings(deadline=None)
@given(st.lists(st.sampled_from(LINES), max_size=12))
def test_whatever_a_file_holds_it_is_read_or_refused(
    tmp_path_factory: pytest.TempPathFactory, lines: Sequence[str]
) -> None:
    place = folder(tmp_path_factory.getbasetemp() / "any", de="\n".join(lines))
    try:
        with writing("de", [place]):
            told = say("a") + count("{n}", "{n}s", 5)
    except BadWording as refused:
        told = str(refused)
    assert told in ("a5s", "b5s", "a5", "b5") or ".po, line " in told


def test_markup_escapes_the_text_and_every_value_that_is_not_markup(tmp_path: Path) -> None:
    file = HEADER + '\nmsgid "Job {number}"\nmsgstr "<b>Auftrag</b> & {number}"\n'
    with writing("de", [folder(tmp_path, de=file)]):
        assert (
            markup.say("Job {number}", number="<i>") == "&lt;b&gt;Auftrag&lt;/b&gt; &amp; &lt;i&gt;"
        )
        assert markup.say("Job {number}", number=markup.bdi("<i>")).endswith("<bdi>&lt;i&gt;</bdi>")
    assert markup.count("{n} value <", "{n} values <", 2) == "2 values &lt;"
    assert markup.say_in("of a finger", "open >") == "open &gt;"
