"""Identifiers dictated in digits and letters: job number, belt serial, template, press."""

from __future__ import annotations

from dataclasses import replace

from recorder.notes.fields.slot import Slot
from recorder.notes.names.leads import after_lead
from recorder.notes.numbers.numbers import number_at
from recorder.notes.numbers.unit_words import unit_at
from recorder.notes.words.lexer import Sort, Tokens
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import Phrases, vocabulary, words

FEWEST_DIGITS = 3
_MOST_LETTERS = 3
_MOST_NUMBERED = 99.0
_NEEDS_CODE = {"template", "press", "belt_serial", "job_number"}
_NEEDS_LETTER = {"template", "press"}


@kept
def _identifiers() -> Phrases[str]:
    table = vocabulary()["identifiers"]
    return Phrases((phrase, name) for name, phrases in table.items() for phrase in phrases)


@kept
def _numbers() -> Phrases[str]:
    table = vocabulary()["numbered"]
    return Phrases((phrase, name) for name, phrases in table.items() for phrase in phrases)


@kept
def _behind() -> Phrases[str]:
    """What names the digits before it: "5521 is the job number"."""
    table = vocabulary()["named_behind"]
    names = vocabulary()["identifiers"]
    return Phrases((p, name) for name, phrases in table.items() if name in names for p in phrases)


def identifiers_of(tokens: Tokens) -> list[Slot]:
    """All identifiers from left to right."""
    found: list[Slot] = []
    end = 0
    for hit in _identifiers().all(tokens):
        if of_another(tokens, hit.start):
            continue
        slot = _identifier(tokens, hit.meanings[0], hit.start, hit.end)
        if slot is not None and hit.start >= end:
            found.append(slot)
            end = slot.end
    for hit in _numbers().all(tokens):
        numbered = _numbered(tokens, hit.meanings[0], hit.start, hit.end)
        if numbered and not any(s.start <= hit.start < s.end for s in found[-8:]):
            found.append(numbered)
    if found:
        return found
    for hit in _behind().all(tokens):
        told = _told_before(tokens, hit.meanings[0], hit.start, hit.end)
        found += [told] if told else []
    return found


def of_another(tokens: Tokens, i: int) -> bool:
    """As in "the old serial number", "their fitter"."""
    return i > 0 and tokens[i - 1].text in words("speech", "others")


def _identifier(tokens: Tokens, field: str, start: int, end: int) -> Slot | None:
    i = after_lead(tokens, end).place
    i += i < len(tokens) and tokens[i].text in words("movement", "number")
    if i >= len(tokens):
        return None
    if tokens[i].sort is Sort.CODE:
        return slot_of(tokens, field, tokens[i].raw, start, i + 1)
    code = spelt_code(tokens, field, start, i) if field in _NEEDS_CODE else None
    if code or field in _NEEDS_LETTER:
        return code
    return dictated(tokens, field, start, i)


def dictated(tokens: Tokens, field: str, start: int, i: int) -> Slot | None:
    """The digits told from tokens[i] on, with the letters behind them, for a cue at ``start``."""
    digits, j, repaired = dictated_digits(tokens, i)
    if len(digits) < FEWEST_DIGITS:
        return None
    suffix, j = letters_behind(tokens, j)
    doubts = ("a word was taken for a digit",) if repaired else ()
    return slot_of(tokens, field, digits + suffix, start, j, doubts)


def _told_before(tokens: Tokens, field: str, start: int, end: int) -> Slot | None:
    """The digits that end right before the cue, but for a sign: "5521, that's the job number"."""
    last = start - 1 if start and tokens[start - 1].sort is Sort.SIGN else start
    for i in range(max(0, last - 2 * 15), last):
        digits, j, repaired = dictated_digits(tokens, i)
        if j == last and len(digits) >= FEWEST_DIGITS:
            doubts = ("a word was taken for a digit",) if repaired else ()
            return slot_of(tokens, field, digits, i, end, doubts)
    return None


def _numbered(tokens: Tokens, field: str, start: int, end: int) -> Slot | None:
    """As in "press number 3", "press is number 3": the number alone, which ends its clause."""
    lead = after_lead(tokens, end)
    i = lead.place
    told = tokens[end - 1].text in words("movement", "number")
    while i < len(tokens) and tokens[i].text in words("movement", "number"):
        i, told = i + 1, True
    number = number_at(tokens, i) if i < len(tokens) else None
    if number is None or not number.digits or unit_at(tokens, number.end):
        return None
    after = tokens[number.end] if number.end < len(tokens) else None
    ends = after is None or after.sort is Sort.SIGN
    if not (ends or told) or number.value > _MOST_NUMBERED or len(number.groups) > 1:
        return None
    return slot_of(tokens, field, number.digits, start, number.end)


def letters_behind(tokens: Tokens, i: int) -> tuple[str, int]:
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


def spelt_code(tokens: Tokens, field: str, start: int, i: int) -> Slot | None:
    """As in "P two", "P 2", "T thirty dash ten", "kilo lima four four two nine": a few letters
    and a number.
    """
    letters, i = _letters(tokens, i)
    number = number_at(tokens, i) if letters and i < len(tokens) else None
    if number is None or not number.digits or unit_at(tokens, number.end):
        return None
    if field not in _NEEDS_LETTER:
        digits, end, _ = dictated_digits(tokens, i)
        return slot_of(tokens, field, letters + digits, start, end)
    code, end = letters + number.digits, number.end
    dashed = end + 1 < len(tokens) and tokens[end].text in words("speech", "dashes")
    rest = number_at(tokens, end + 1) if dashed else None
    if rest is not None and rest.digits:
        return slot_of(tokens, field, f"{code}-{rest.digits}", start, rest.end)
    slot = slot_of(tokens, field, code, start, end)
    if len(number.groups) != 2 or any(len(group) != 2 for group in number.groups):
        return slot
    parted = f"{letters}{'-'.join(number.groups)}"
    doubt = "a dash may be missing"
    return replace(slot, value=parted, doubts=(doubt,), candidates=(code,))


def _letters(tokens: Tokens, i: int) -> tuple[str, int]:
    """The letters told from tokens[i] on, and the place after them: "P", "kilo lima", "B as in
    bravo".
    """
    letters = ""
    while i < len(tokens) and len(letters) < _MOST_LETTERS:
        token = tokens[i]
        if token.text in words("naming", "letters"):
            letters, i = letters + token.text[0].upper(), i + 1
        elif token.raw.isupper() and token.raw.isalpha() and len(token.raw) <= _MOST_LETTERS:
            letters, i = letters + token.raw, i + 1
        else:
            break
        hit = _spelling().at(tokens, i) if i < len(tokens) else None
        if hit and hit.end < len(tokens):
            i = hit.end + 1
            i += i < len(tokens) and tokens[i].text == ","
    return letters[:_MOST_LETTERS], i


@kept
def _spelling() -> Phrases[str]:
    """Between a letter and the word that spells it: "B as in bravo"."""
    return Phrases((phrase, phrase) for phrase in words("naming", "spelling"))


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
        repeated = token.text in words("naming", "repeats")
        short = repeated or all(len(group) == 1 for group in number.groups)
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


def slot_of(
    tokens: Tokens, field: str, value: str, start: int, end: int, doubts: tuple[str, ...] = ()
) -> Slot:
    """A slot of words told in tokens[start:end]."""
    return Slot(field, value, start, end, tuple(range(start, end)), doubts=doubts)
