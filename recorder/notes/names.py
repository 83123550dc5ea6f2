"""Names and identifiers: job number, customer, technician, template and the like."""

from __future__ import annotations

import difflib
from dataclasses import replace

from recorder.notes.lexer import Sort, Tokens
from recorder.notes.numbers import number_at
from recorder.notes.slot import Slot
from recorder.notes.speaking import kept
from recorder.notes.unit_words import unit_at
from recorder.notes.values import Habit
from recorder.notes.vocabulary import Phrases, vocabulary, words

_FEWEST_DIGITS = 3
_LONGEST_NAME = 6  # words
_MOST_LETTERS = 3
_NEAR = 0.8  # similarity of a heard name to the job card's
_BETWEEN = {"is", ":", "#", "was", "'s", "="}
_INSIDE = {"&", "and", "of", "-", "'", "’", "+"}
_NEEDS_CODE = {"template", "press", "belt_serial"}
_NEEDS_LETTER = {"template", "press"}
# Told in plain words, without capitals.
_COMMON = {"belt_material"}


@kept
def _identifiers() -> Phrases[str]:
    table = vocabulary()["identifiers"]
    return Phrases((phrase, name) for name, phrases in table.items() for phrase in phrases)


@kept
def _names() -> Phrases[str]:
    table = vocabulary()["names"]
    return Phrases((phrase, name) for name, phrases in table.items() for phrase in phrases)


@kept
def _numbers() -> Phrases[str]:
    table = vocabulary()["numbered"]
    return Phrases((phrase, name) for name, phrases in table.items() for phrase in phrases)


def names_of(tokens: Tokens, habit: Habit) -> list[Slot]:
    """All names and identifiers from left to right."""
    found: list[Slot] = []
    end = 0
    for hit in _identifiers().all(tokens):
        field = hit.meanings[0]
        slot = _identifier(tokens, field, hit.start, hit.end)
        if slot is None or hit.start < end:
            continue
        found.append(slot)
        end = slot.end
        if field == "job_number" and end < len(tokens):
            place = end + 1 if tokens[end].text == "," else end
            behind = words("speech", "after_job")
            while place < len(tokens) and tokens[place].text in behind:
                place += 1
            if place < len(tokens) and tokens[place - 1].text in behind:
                customer = _name(tokens, "customer", place - 1, place, habit)
                found += [customer] if customer else []
    for hit in _numbers().all(tokens):
        numbered = _numbered(tokens, hit.meanings[0], hit.start, hit.end)
        if numbered and not any(s.start <= hit.start < s.end for s in found[-8:]):
            found.append(numbered)
    for hit in _names().all(tokens):
        name = _name(tokens, hit.meanings[0], hit.start, hit.end, habit)
        found += [name] if name else []
    return sorted(found, key=lambda slot: slot.start)


def corrected_name(tokens: Tokens, field: str, habit: Habit, begin: int) -> Slot | None:
    """As in "job number 5216, no, 5261": the name that was told last, told anew from ``begin``."""
    found = answered_name(tokens, field, habit, begin)
    if found is None or any(t.sort is Sort.WORD for t in tokens[found.end :]):
        return None
    named = field in vocabulary()["identifiers"] or tokens[found.start].raw[:1].isupper()
    short = len(str(found.value)) < _FEWEST_DIGITS
    return None if short or not named else replace(found, corrects=True)


def answered_name(tokens: Tokens, field: str, habit: Habit, begin: int = 0) -> Slot | None:
    """The whole of a short answer as a name, or the digits in it as a job number.

    begin: the first token of the answer.
    """
    openers = set(words("answers", "openers"))
    i = begin
    while i < len(tokens) and (tokens[i].text in openers or tokens[i].sort is Sort.SIGN):
        i += 1
    if i >= len(tokens) or _is_no_answer(tokens[i:]):
        return None
    if field in vocabulary()["identifiers"]:
        if tokens[i].sort is Sort.CODE:
            return _slot(tokens, field, tokens[i].raw, i, i + 1, ())
        digits, end, repaired = dictated_digits(tokens, i)
        suffix, end = _suffix(tokens, end) if digits else ("", end)
        digits += suffix
        doubts = ("a word was taken for a digit",) if repaired else ()
        return _slot(tokens, field, digits, i, end, doubts) if digits else None
    j = len(tokens)
    while j > i and tokens[j - 1].sort is Sort.SIGN:
        j -= 1
    if j - i > 2 * _LONGEST_NAME or j == i:
        return None
    card = habit.names.get(field)
    if card and _as_on_card(tokens, i, card) == j:
        return _slot(tokens, field, card, i, j, ())
    return _slot(tokens, field, _text(tokens, i, j), i, j, ())


def _is_no_answer(tokens: Tokens) -> bool:
    said = " ".join(token.text for token in tokens if token.sort is not Sort.SIGN)
    answers = vocabulary()["answers"]
    return any(said == phrase for key in ("yes", "no", "later") for phrase in answers[key])


def _skip(tokens: Tokens, i: int) -> int:
    while i < len(tokens) and tokens[i].text in _BETWEEN:
        i += 1
    return i


def _identifier(tokens: Tokens, field: str, start: int, end: int) -> Slot | None:
    i = _skip(tokens, end)
    if i >= len(tokens):
        return None
    if tokens[i].sort is Sort.CODE:
        return _slot(tokens, field, tokens[i].raw, start, i + 1, ())
    code = _spelt_code(tokens, field, start, i) if field in _NEEDS_CODE else None
    if code or field in _NEEDS_LETTER:
        return code
    digits, j, repaired = dictated_digits(tokens, i)
    if len(digits) < _FEWEST_DIGITS:
        return None
    suffix, j = _suffix(tokens, j)
    digits += suffix
    doubts = ("a word was taken for a digit",) if repaired else ()
    return _slot(tokens, field, digits, start, j, doubts)


def _suffix(tokens: Tokens, i: int) -> tuple[str, int]:
    """The letters behind a job number, and the place after them: "4817-B", "four eight one A"."""
    joined = i + 1 < len(tokens) and tokens[i].text == "-" and tokens[i].glued
    j = i + 1 if joined else i
    if j >= len(tokens) or tokens[j].sort is not Sort.WORD or not tokens[j].raw.isupper():
        return "", i
    letter = tokens[j]
    ends = j + 1 >= len(tokens) or tokens[j + 1].sort is Sort.SIGN
    if joined and letter.glued and len(letter.raw) <= 3:
        return f"-{letter.raw}", j + 1
    if not joined and len(letter.raw) == 1 and ends:
        return letter.raw, j + 1
    return "", i


def _numbered(tokens: Tokens, field: str, start: int, end: int) -> Slot | None:
    """As in "press number 3": the number alone, where the cue says that it is one."""
    i = _skip(tokens, end)
    number = number_at(tokens, i) if i < len(tokens) else None
    if number is None or not number.digits or unit_at(tokens, number.end):
        return None
    return _slot(tokens, field, number.digits, start, number.end, ())


def _spelt_code(tokens: Tokens, field: str, start: int, i: int) -> Slot | None:
    """As in "P two", "P 2", "T thirty dash ten": a few capital letters and a number."""
    i += i + 1 < len(tokens) and tokens[i].text in words("speech", "the")
    letters = tokens[i].raw
    if len(letters) > _MOST_LETTERS or not (letters.isupper() and letters.isalpha()):
        return None
    number = number_at(tokens, i + 1) if i + 1 < len(tokens) else None
    if number is None or not number.digits or unit_at(tokens, number.end):
        return None
    code, end = letters + number.digits, number.end
    dashed = end + 1 < len(tokens) and tokens[end].text in words("speech", "dashes")
    rest = number_at(tokens, end + 1) if dashed else None
    if rest is not None and rest.digits:
        return _slot(tokens, field, f"{code}-{rest.digits}", start, rest.end, ())
    slot = _slot(tokens, field, code, start, end, ())
    if len(number.groups) != 2 or any(len(group) != 2 for group in number.groups):
        return slot
    parted = f"{letters}{'-'.join(number.groups)}"
    doubt = "a dash may be missing"
    return replace(slot, value=parted, doubts=(doubt,), candidates=(code,))


def dictated_digits(tokens: Tokens, i: int) -> tuple[str, int, bool]:
    """Digits told from tokens[i] on, the place after them, and whether a word was taken for one."""
    digits, end, repaired, singly = "", i, False, True
    while i < len(tokens):
        token = tokens[i]
        number = number_at(tokens, i)
        piece = _digits_of(number.digits, token.raw) if number else ""
        if number is None or not piece or unit_at(tokens, number.end):
            letter = _taken_for_digits().get(token.text)
            follows = i + 1 < len(tokens) and _is_digit(tokens, i + 1)
            if letter and digits and singly and follows and end == i:
                digits, i, end, repaired = digits + letter, i + 1, i + 1, True
                continue
            break
        short = all(len(group) == 1 for group in number.groups)
        if digits and not (singly and short):
            break
        digits, i, end, singly = digits + piece, number.end, number.end, short
        if i < len(tokens) and tokens[i].text in {",", "-"}:
            i += 1
        if len(digits) > 15:
            break
    return digits, end, repaired


@kept
def _taken_for_digits() -> dict[str, str]:
    """What a recogniser writes for a digit between digits."""
    table = vocabulary()["digit_homophones"]
    return {word: digit for digit, homophones in table.items() for word in homophones}


def _digits_of(digits: str, raw: str) -> str:
    if digits:
        return digits
    plain = raw.replace(",", "").replace(" ", "")
    return plain if plain.isdigit() else ""


def _is_digit(tokens: Tokens, i: int) -> bool:
    number = number_at(tokens, i)
    return number is not None and len(number.digits) > 0 and len(number.groups[0]) == 1


def _name(tokens: Tokens, field: str, start: int, end: int, habit: Habit) -> Slot | None:
    """Capitalised words after the cue; any words after a colon; or the job card's name."""
    colon = any(t.text == ":" for t in tokens[end : end + 2])
    i = _skip(tokens, end)
    card = habit.names.get(field)
    j = i
    plain = colon or field in _COMMON
    while j < len(tokens) and j - i < _LONGEST_NAME and _belongs(tokens, i, j, plain):
        # "Kunde Larkfeld Oberplatte 180": where nothing parts them, a setting ends the name.
        if j > i and _opens_setting(tokens, j):
            break
        j += 1
    while j > i and (tokens[j - 1].text in _INSIDE or tokens[j - 1].text == "for"):
        j -= 1
    if card:
        known = _as_on_card(tokens, i, card)
        if known:
            return _slot(tokens, field, card, start, known, ())
    if j == i:
        return None
    return _slot(tokens, field, _text(tokens, i, j), start, j, ())


@kept
def _settings() -> Phrases[str]:
    tables: dict[str, dict[str, list[str]]] = vocabulary()["fields"]
    return Phrases((p, name) for name, table in tables.items() for p in table.get("words", ()))


def _opens_setting(tokens: Tokens, i: int) -> bool:
    hit = _settings().at(tokens, i)
    return hit is not None and hit.end < len(tokens) and number_at(tokens, hit.end) is not None


def _belongs(tokens: Tokens, i: int, j: int, colon: bool) -> bool:
    token = tokens[j]
    if token.sort is Sort.WORD:
        inner = j > i and token.text in _INSIDE
        return inner or colon or token.raw[0].isupper()
    if token.sort in (Sort.NUMBER, Sort.CODE):
        return j > i and unit_at(tokens, j + 1) is None
    # "Mr. Pell"
    if token.text == "." and j > i and tokens[j - 1].text in words("written", "titles"):
        return True
    return j > i and token.text in _INSIDE


def _as_on_card(tokens: Tokens, i: int, card: str) -> int | None:
    """The place after the words that are nearly the card's name, or None."""
    length = len(card.split())
    best: tuple[float, int] | None = None
    for j in range(i + 1, min(len(tokens), i + length + 2) + 1):
        ratio = difflib.SequenceMatcher(None, _text(tokens, i, j).lower(), card.lower()).ratio()
        if ratio >= _NEAR and (best is None or ratio > best[0]):
            best = (ratio, j)
    return best[1] if best else None


def _text(tokens: Tokens, i: int, j: int) -> str:
    return "".join(
        token.raw if token.glued or n == 0 else f" {token.raw}"
        for n, token in enumerate(tokens[i:j])
    )[:80]


def _slot(
    tokens: Tokens, field: str, value: str, start: int, end: int, doubts: tuple[str, ...]
) -> Slot:
    return Slot(field, value, start, end, tuple(range(start, end)), doubts=doubts)
