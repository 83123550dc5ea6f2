"""German number words and written numbers to digits, which the grammar of numbers reads.

German says a whole number in one word, the unit before the ten
("hundertfünfundsiebzig"), and a half behind "ein": "zweieinhalb" is 2.5. It writes 1.200,5 for
twelve hundred and a half. A recogniser may part the one word ("einhundert fünfundsiebzig"), and
people dictate digit by digit ("eins sieben fünf"), which the grammar joins as it joins 1 7 5.
"""

from __future__ import annotations

import re

from recorder.notes.lexer import Sort, Token, Tokens
from recorder.notes.speaking import in_force, kept

_ONES = {
    **{"eins": 1, "ein": 1, "zwei": 2, "zwo": 2, "drei": 3, "vier": 4, "fünf": 5},
    **{"sechs": 6, "sieben": 7, "acht": 8, "neun": 9},
}
_TEENS = {
    **{"zehn": 10, "elf": 11, "zwölf": 12, "dreizehn": 13, "vierzehn": 14, "fünfzehn": 15},
    **{"sechzehn": 16, "siebzehn": 17, "achtzehn": 18, "neunzehn": 19},
}
_TENS = {
    **{"zwanzig": 20, "dreissig": 30, "vierzig": 40, "fünfzig": 50},
    **{"sechzig": 60, "siebzig": 70, "achtzig": 80, "neunzig": 90},
}
_PARTS = {
    **{"halb": 2, "drittel": 3, "viertel": 4, "fünftel": 5, "sechstel": 6, "achtel": 8},
    **{"zehntel": 10, "zwölftel": 12, "sechzehntel": 16, "hundertstel": 100, "tausendstel": 1000},
}
# What "ste" and "te" leave of erste, dritte, sechste, siebte and achte.
_STEMS = {"er": 1, "drit": 3, "sech": 6, "sieb": 7, "ach": 8}
_ARTICLES = {"ein", "eine", "einen", "einem", "einer", "eines"}
_POINTS = {"komma", "punkt"}
_BIG = ("hundert", "tausend")
_MOST_TOKENS = 9  # "neun tausend neun hundert neun und neunzig", and a little room
_LONGEST_WORD = 100  # letters; no number that a job has is longer
_MOST_DIGITS = 13
_LAST_HOUR = 24


def _any_of(words: dict[str, int]) -> str:
    return "|".join(sorted(words, key=len, reverse=True))


_BELOW_100 = f"(?:(?:{_any_of(_ONES)})und(?:{_any_of(_TENS)})|{_any_of(_TEENS | _TENS | _ONES)})"
_BELOW_10000 = f"(?:(?:{_BELOW_100})?hundert(?:(?:und)?{_BELOW_100})?|{_BELOW_100})"
_WHOLE = re.compile(
    f"(?:(?P<millions>{_BELOW_10000})million(?:en)?(?:und)?)?"
    f"(?:(?P<thousands>{_BELOW_10000})?(?P<scale>tausend)(?:und)?)?(?P<rest>{_BELOW_10000})?"
)
_HUNDREDS = re.compile(
    f"(?:(?P<hundreds>{_BELOW_100})?(?P<scale>hundert)(?:und)?)?(?P<rest>{_BELOW_100})?"
)
_TWO_DIGITS = re.compile(f"(?:(?P<one>{_any_of(_ONES)})und)?(?P<ten>{_any_of(_TENS)})")
_ENDING = "(?:e[nmrs]?)?"
_PROPER = re.compile(f"(?P<above>{_BELOW_100})?(?P<part>{_any_of(_PARTS)}){_ENDING}")
_MIXED = re.compile(
    f"(?:(?P<whole>{_BELOW_10000})(?P<above>ein|drei)|ander)t?(?P<part>halb|viertel){_ENDING}"
)
_JOINED = re.compile(
    "(?P<part>(?:drei)?viertel|halb)(?P<unit>.+)|(?P<whole>.+)(?P<point>komma)(?P<tail>.+)"
)
_ORDINAL = re.compile("(?P<stem>.+?)s?te[nmrs]?")
_WRITTEN = re.compile(r"[0-9]+(?:[.,][0-9]+)*")
_GROUPED = re.compile(r"[1-9][0-9]{0,2}(?:\.[0-9]{3})+(?:,[0-9]+)?")


def read_numbers(tokens: Tokens) -> Tokens:
    """The same text in which each number is one token of digits, or one of a proper fraction."""
    tokens = tuple(part for token in tokens for part in _split(token))
    read: list[Token] = []
    i = 0
    while i < len(tokens):
        time = _time_of_day(tokens, i)
        number = None if time else _ordinal(tokens, i) or _number(tokens, i)
        one = ((number[0],), number[1]) if number else None
        here, i = time or one or ((tokens[i],), i + 1)
        read += here
    return tuple(read)


def whole_number(word: str) -> int | None:
    """The value of a whole number as one word; None for any other word."""
    if word == "null":
        return 0
    match = _WHOLE.fullmatch(_respelt(word)) if 0 < len(word) <= _LONGEST_WORD else None
    if match is None:
        return None
    millions = _below_10000(match["millions"]) if match["millions"] else 0
    return 1_000_000 * millions + _scaled(match["thousands"], match["scale"], match["rest"], 1000)


def _scaled(above: str | None, scale: str | None, rest: str | None, factor: int) -> int:
    value = factor * (_below_10000(above) if above else 1) if scale else 0
    return value + (_below_10000(rest) if rest else 0)


def _below_10000(word: str) -> int:
    match = _HUNDREDS.fullmatch(word)
    if match and match["scale"]:
        return _scaled(match["hundreds"], match["scale"], match["rest"], 100)
    match = _TWO_DIGITS.fullmatch(word)
    if match:
        return _TENS[match["ten"]] + (_ONES[match["one"]] if match["one"] else 0)
    return (_TEENS | _ONES)[word]


def _at(tokens: Tokens, i: int) -> str:
    """The word at tokens[i], or nothing."""
    return tokens[i].text if i < len(tokens) and tokens[i].sort is Sort.WORD else ""


def _respelt(word: str) -> str:
    """In one spelling: "dreißig" as "dreissig", "fuenf" as "fünf"."""
    return word.replace("ß", "ss").replace("fuenf", "fünf").replace("zwoelf", "zwölf")


def _number(tokens: Tokens, i: int) -> tuple[Token, int] | None:
    """The number at tokens[i] and the place after it."""
    whole = _written(tokens, i) or _spoken(tokens, i)
    if whole is None:
        return _fraction(tokens, i) or _one(tokens, i) or _with_point(tokens, i, i, "0")
    digits, j = whole
    if "." in digits:
        return _digits(tokens, i, j, digits)
    point = _with_point(tokens, i, j, digits)
    below = _PARTS.get(_respelt(_at(tokens, j)))
    if point is None and below and 0 < int(digits) < below:
        return _part(tokens, i, j + 1, int(digits) / below)
    return point or _digits(tokens, i, j, digits)


def _written(tokens: Tokens, i: int) -> tuple[str, int] | None:
    """1.200 and 1 200 are twelve hundred; 2,5 and 2.5 are two and a half."""
    raw = tokens[i].raw.replace(" ", "")
    if tokens[i].sort not in (Sort.NUMBER, Sort.CODE) or not _WRITTEN.fullmatch(raw):
        return None
    if len(raw) > _MOST_DIGITS or not raw.isascii():
        return None
    if _GROUPED.fullmatch(raw):
        return raw.replace(".", "").replace(",", "."), i + 1
    return (raw.replace(",", "."), i + 1) if len(re.findall("[.,]", raw)) <= 1 else None


def _spoken(tokens: Tokens, i: int) -> tuple[str, int] | None:
    """The longest whole number in words from tokens[i] on. A bare "ein" is the article."""
    best: tuple[str, int] | None = None
    joined = ""
    for j in range(i, min(i + _MOST_TOKENS, len(tokens))):
        word = _at(tokens, j)
        if not word or (joined and not _goes_on(joined, word)):
            break
        joined += word
        value = whole_number(joined) if joined != "ein" else None
        if value is not None:
            best = str(value), j + 1
    return best


def _goes_on(joined: str, word: str) -> bool:
    """Whether two words may be one number that was parted: not "zwei hundertachtzig"."""
    return joined.endswith((*_BIG, "und")) or word in (*_BIG, "und")


def _fraction(tokens: Tokens, i: int) -> tuple[Token, int] | None:
    """As in "halbe", "ein halb", "dreiviertel", "fünfachtel", "anderthalb", "zweieinhalb"."""
    j = i + 1 if _at(tokens, i) in _ARTICLES else i
    word = _at(tokens, j)
    word = _respelt(word) if 0 < len(word) <= _LONGEST_WORD else ""
    match = _PROPER.fullmatch(word) if word else None
    if match:
        above, below = _below_10000(match["above"] or "ein"), _PARTS[match["part"]]
        if above >= below:
            return None
        # "Ein einhalb" is one and a half; "ein dreiviertel" may be that much more than one, too.
        mixed = match["above"] and _at(tokens, i) == "ein" and j > i
        if mixed and above > 1:
            return _spanning(tokens, i, j + 1, word, Sort.CODE, 0.0), j + 1
        if mixed:
            return _digits(tokens, i, j + 1, f"{1 + above / below:g}")
        return _part(tokens, i, j + 1, above / below)
    match = _MIXED.fullmatch(word) if word and j == i else None
    if match is None:
        return None
    whole = whole_number(match["whole"] or "ein") or 0
    value = whole + _ONES[match["above"] or "ein"] / _PARTS[match["part"]]
    return _digits(tokens, i, j + 1, f"{value:g}")


def _one(tokens: Tokens, i: int) -> tuple[Token, int] | None:
    """As in "ein Bar", "eine Minute", and not "ein Riss"."""
    if _at(tokens, i) in _ARTICLES and _at(tokens, i + 1) in _unit_words():
        return _digits(tokens, i, i + 1, "1")
    if _at(tokens, i) == "ein" and _at(tokens, i + 1) == "komma":
        return _with_point(tokens, i, i + 1, "1")
    return None


def _with_point(tokens: Tokens, i: int, j: int, whole: str) -> tuple[Token, int] | None:
    """As in "null Komma null fünf", "zwei Komma fünfundzwanzig", "Komma acht"."""
    if _at(tokens, j) not in _POINTS or (i == j and _at(tokens, j) != "komma"):
        return None
    digits, j = "", j + 1
    while j < len(tokens) and len(digits) < _MOST_DIGITS:
        raw = tokens[j].raw if tokens[j].sort is Sort.NUMBER else ""
        spoken = whole_number(_at(tokens, j))
        here = raw if raw.isdigit() else "" if spoken is None else str(spoken)
        # A second group is the next number: "zwei Komma fünf, hundertachtzig Grad".
        if not here or (len(here) > 1 and digits) or (len(here) > 2 and not raw):
            break
        digits, j = digits + here, j + 1
        if len(here) > 1:
            break
    return _digits(tokens, i, j, f"{whole}.{digits}") if digits else None


def _ordinal(tokens: Tokens, i: int) -> tuple[Token, int] | None:
    """As in "zweite", and "2." before what can be counted."""
    word = _at(tokens, i)
    match = _ORDINAL.fullmatch(word) if len(word) <= _LONGEST_WORD else None
    if match:
        number = _STEMS.get(match["stem"]) or whole_number(match["stem"])
        return _counting(tokens, i, i + 1, number) if number else None
    if i + 2 >= len(tokens) or tokens[i + 1].text != "." or not tokens[i + 1].glued:
        return None
    digits = tokens[i].raw
    counted = tokens[i + 2].text in _counted()
    if not (counted and digits.isascii() and digits.isdigit() and len(digits) <= 2):
        return None
    return _counting(tokens, i, i + 2, int(digits))


def _time_of_day(tokens: Tokens, i: int) -> tuple[Tokens, int] | None:
    """As in "halb drei", "Viertel nach zehn", "zehn Uhr fünfzehn": a clock time and the word "uhr",
    which says that it is no duration.
    """
    part = {"viertel": 15, "halb": 30, "dreiviertel": 45}.get(_at(tokens, i))
    if part:
        side = _at(tokens, i + 1)
        hour = _hour(tokens, i + 2 if side in ("nach", "vor") else i + 1)
        if hour is None or _at(tokens, hour[1]) in _unit_words() | _PARTS.keys():
            return None
        begun = hour[0] if side == "nach" else (hour[0] - 2) % 12 + 1
        minute = 60 - part if side == "vor" else part
        return _clock(tokens, i, hour[1], begun, minute)
    hour = _hour(tokens, i)
    if hour is None or _at(tokens, hour[1]) != "uhr":
        return None
    j = hour[1] + 1
    minute, end = _whole(tokens, j) or (0, j)
    if minute > 59 or _at(tokens, end) in _unit_words():
        minute, end = 0, j
    return _clock(tokens, i, end, hour[0], minute)


def _hour(tokens: Tokens, i: int) -> tuple[int, int] | None:
    whole = _whole(tokens, i)
    return whole if whole and whole[0] <= _LAST_HOUR else None


def _whole(tokens: Tokens, i: int) -> tuple[int, int] | None:
    """A whole number and the place after it."""
    found = (_written(tokens, i) or _spoken(tokens, i)) if i < len(tokens) else None
    return (int(found[0]), found[1]) if found and found[0].isdigit() else None


def _clock(tokens: Tokens, i: int, j: int, hour: int, minute: int) -> tuple[Tokens, int]:
    text = f"{hour}:{minute:02d}"
    time = _spanning(tokens, i, j - 1, text, Sort.CLOCK, 60.0 * hour + minute)
    return (time, tokens[j - 1]._replace(text="uhr", sort=Sort.WORD, value=None)), j


def _split(token: Token) -> Tokens:
    """As in "Viertelstunde", "Dreiviertelzoll", "zweikommafünf": words written as one."""
    match = _JOINED.fullmatch(token.text) if token.sort is Sort.WORD else None
    if match is None:
        return (token,)
    if match["unit"] in _unit_words():
        return tuple(_cut(token, *match.span(name)) for name in ("part", "unit"))
    numbers = match["whole"], match["tail"]
    if None not in numbers and all(whole_number(number) is not None for number in numbers):
        return tuple(_cut(token, *match.span(name)) for name in ("whole", "point", "tail"))
    return (token,)


def _cut(token: Token, start: int, end: int) -> Token:
    return token._replace(
        text=token.text[start:end],
        raw=token.raw[start:end],
        start=token.start + start,
        end=token.start + end,
        glued=token.glued if start == 0 else True,
    )


@kept
def _unit_words() -> frozenset[str]:
    table = in_force().tables["units"]
    return frozenset(phrase for phrases in table.values() for phrase in phrases)


@kept
def _counted() -> frozenset[str]:
    movement = in_force().tables["movement"]
    return frozenset({*movement["splice"], *movement["run"]})


def _digits(tokens: Tokens, i: int, j: int, digits: str) -> tuple[Token, int]:
    return _spanning(tokens, i, j, digits, Sort.NUMBER, float(digits)), j


def _counting(tokens: Tokens, i: int, j: int, number: int) -> tuple[Token, int]:
    return _spanning(tokens, i, j, f"{number}.", Sort.ORDINAL, float(number)), j


def _part(tokens: Tokens, i: int, j: int, value: float) -> tuple[Token, int]:
    return _spanning(tokens, i, j, f"{value:g}", Sort.FRACTION, value), j


def _spanning(tokens: Tokens, i: int, j: int, text: str, sort: Sort, value: float | None) -> Token:
    first, last = tokens[i], tokens[j - 1]
    text = text or " ".join(token.text for token in tokens[i:j])
    return Token(text, text, first.start, last.end, sort, value, first.glued)
