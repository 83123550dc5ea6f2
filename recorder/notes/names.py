"""Names: customer, technician, site, conveyor, press and material, told in the speaker's words."""

from __future__ import annotations

import difflib
from dataclasses import replace

from recorder.notes.identifiers import (
    FEWEST_DIGITS,
    dictated_digits,
    identifiers_of,
    letters_behind,
    of_another,
    slot_of,
)
from recorder.notes.leads import after_lead
from recorder.notes.lexer import Sort, Tokens
from recorder.notes.materials import material_of
from recorder.notes.numbers import number_at
from recorder.notes.slot import Slot
from recorder.notes.speaking import kept
from recorder.notes.unit_words import unit_at
from recorder.notes.values import Habit
from recorder.notes.vocabulary import Hit, Phrases, vocabulary, words

_LONGEST_NAME = 6  # words
_NEAR = 0.8  # similarity of a heard name to the job card's
_NAME_AND_SURNAME = (2, 3)  # words
_INSIDE = {"&", "and", "of", "-", "'", "’", "+"}
# Told in plain words, without capitals, and told by what they are ("the infeed conveyor").
_COMMON = {"belt_material"}


@kept
def _names() -> Phrases[str]:
    table = vocabulary()["names"]
    return Phrases((phrase, name) for name, phrases in table.items() for phrase in phrases)


@kept
def _behind() -> Phrases[str]:
    """What names the name before it: "Petra Aldous here", "Larkfield, that's the customer"."""
    table = vocabulary()["named_behind"]
    names = vocabulary()["names"]
    return Phrases((p, name) for name, phrases in table.items() if name in names for p in phrases)


@kept
def _kinds(field: str) -> Phrases[str]:
    """What a thing of the field is, as "bakery", "infeed"."""
    return Phrases((phrase, phrase) for phrase in words("kinds", field))


def names_of(tokens: Tokens, habit: Habit) -> list[Slot]:
    """All names and identifiers from left to right."""
    found = identifiers_of(tokens)
    for slot in [slot for slot in found if slot.field == "job_number"]:
        customer = _customer_behind(tokens, slot.end, habit)
        found += [customer] if customer else []
    for hit in _names().all(tokens):
        if of_another(tokens, hit.start):
            continue
        name = _name(tokens, hit.meanings[0], hit.start, hit.end, habit)
        found += [name] if name else []
    named = {slot.field for slot in found}
    for hit in _behind().all(tokens):
        before = _name_before(tokens, hit) if hit.meanings[0] not in named else None
        found += [before] if before else []
    named = {slot.field for slot in found}
    if "technician" not in named:
        found += _introduced(tokens)
    if "belt_material" not in named:
        found += material_of(tokens)
    return sorted(found, key=lambda slot: slot.start)


def _customer_behind(tokens: Tokens, end: int, habit: Habit) -> Slot | None:
    """As in "job 4817 for Larkfield", "job 4817, that's for Larkfield"."""
    i = end + 1 if end < len(tokens) and tokens[end].text == "," else end
    behind = words("speech", "after_job")
    while i < len(tokens) and tokens[i].text in behind:
        i += 1
    if i >= len(tokens) or tokens[i - 1].text not in behind:
        return None
    return _name(tokens, "customer", i - 1, i, habit)


def _name_before(tokens: Tokens, hit: Hit[str]) -> Slot | None:
    """The capitalised words that end right before the cue, but for a comma; two at least."""
    end = hit.start - 1 if hit.start and tokens[hit.start - 1].text == "," else hit.start
    field = hit.meanings[0]
    start = end
    while start > 0 and _kinds(field).at(tokens, start - 1):
        start -= 1
    least = start - (2 if start == end else 1)
    while start > 0 and end - start < _LONGEST_NAME and _is_capital(tokens, start - 1):
        start -= 1
    bare = field == "site" and start > 0 and tokens[start - 1].text in words("naming", "article")
    if start > least + bare:
        return None
    return slot_of(tokens, field, _text(tokens, start, end), start, hit.end)


def _introduced(tokens: Tokens) -> list[Slot]:
    """As in "this is Petra Aldous", which may also be a place or a firm."""
    found = []
    for hit in _introductions().all(tokens):
        j = hit.end
        while j < len(tokens) and j - hit.end < _LONGEST_NAME and _is_capital(tokens, j):
            j += 1
        firm = _kinds("customer").at(tokens, j - 1) or _kinds("site").at(tokens, j - 1)
        if j - hit.end in _NAME_AND_SURNAME and not firm:
            doubt = ("it is not sure whose name this is",)
            found.append(
                slot_of(tokens, "technician", _text(tokens, hit.end, j), hit.start, j, doubt)
            )
    return found


@kept
def _introductions() -> Phrases[str]:
    return Phrases((phrase, phrase) for phrase in words("naming", "introductions"))


def _is_capital(tokens: Tokens, i: int) -> bool:
    token = tokens[i]
    inner = token.text in _INSIDE and i > 0 and tokens[i - 1].raw[:1].isupper()
    own = token.text not in words("naming", "never")
    return inner or (token.sort is Sort.WORD and token.raw[:1].isupper() and own)


def corrected_name(tokens: Tokens, field: str, habit: Habit, begin: int) -> Slot | None:
    """As in "job number 5216, no, 5261": the name that was told last, told anew from ``begin``."""
    found = answered_name(tokens, field, habit, begin)
    if found is None or any(t.sort is Sort.WORD for t in tokens[found.end : found.end + 1]):
        return None
    named = field in vocabulary()["identifiers"] or tokens[found.start].raw[:1].isupper()
    short = len(str(found.value)) < FEWEST_DIGITS
    return None if short or not named else replace(found, corrects=True)


def wondered_name(tokens: Tokens, field: str, habit: Habit) -> Slot | None:
    """The answer to a question that the speaker asked himself: digits, or words in capitals."""
    found = answered_name(tokens, field, habit)
    if found is None:
        return None
    digits = field in vocabulary()["identifiers"]
    return found if digits or tokens[found.start].raw[:1].isupper() else None


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
            return slot_of(tokens, field, tokens[i].raw, i, i + 1)
        digits, end, repaired = dictated_digits(tokens, i)
        suffix, end = letters_behind(tokens, end) if digits else ("", end)
        digits += suffix
        doubts = ("a word was taken for a digit",) if repaired else ()
        return slot_of(tokens, field, digits, i, end, doubts) if digits else None
    j = len(tokens)
    while j > i and tokens[j - 1].sort is Sort.SIGN:
        j -= 1
    # "Redbird Parcel, they changed the name"
    commas = [n for n in range(i, j) if tokens[n].text == ","]
    if commas and _is_capital(tokens, i) and not _is_capital(tokens, commas[0] + 1):
        j = commas[0]
    if j - i > 2 * _LONGEST_NAME or j == i:
        return None
    card = habit.names.get(field)
    if card and _as_on_card(tokens, i, card) == j:
        return slot_of(tokens, field, card, i, j)
    return slot_of(tokens, field, _text(tokens, i, j), i, j)


def _is_no_answer(tokens: Tokens) -> bool:
    said = " ".join(token.text for token in tokens if token.sort is not Sort.SIGN)
    answers = vocabulary()["answers"]
    return any(said == phrase for key in ("yes", "no", "later") for phrase in answers[key])


def _name(tokens: Tokens, field: str, start: int, end: int, habit: Habit) -> Slot | None:
    """Capitalised words after the cue; any words after a colon; or the job card's name."""
    lead = after_lead(tokens, end)
    i = lead.place
    card = habit.names.get(field)
    known = _as_on_card(tokens, i, card) if card else None
    if card and known:
        return slot_of(tokens, field, card, start, known)
    plain = (lead.colon and field != "press") or (
        field in _COMMON and lead.told and tokens[i - 1].text != ","
    )
    j = i
    while j < len(tokens) and j - i < _LONGEST_NAME and _belongs(tokens, i, j, plain):
        # "Kunde Larkfeld Oberplatte 180": where nothing parts them, a setting ends the name.
        if j > i and _opens_setting(tokens, j):
            break
        j += 1
    while j > i and (tokens[j - 1].text in _INSIDE or tokens[j - 1].text == "for"):
        j -= 1
    if not plain:
        j = _with_kind(tokens, field, i, j)
        j = j if j > i else _kind_alone(tokens, field, i, lead.told)
    if j == i:
        return None
    return slot_of(tokens, field, _text(tokens, i, j), start, j)


def _with_kind(tokens: Tokens, field: str, i: int, j: int) -> int:
    """The end of a name with what it is of: "the Moss Lane bakery", "the Boxford 1200"."""
    if j == i:
        return j
    while j < len(tokens) and (hit := _kinds(field).at(tokens, j)):
        j = hit.end
    number = number_at(tokens, j) if j < len(tokens) else None
    if number is None or not number.digits or unit_at(tokens, number.end):
        return j
    return number.end if _ends_clause(tokens, number.end) else j


def _kind_alone(tokens: Tokens, field: str, i: int, told: bool) -> int:
    """The end of a name in plain words: "the cooling line number two", "sorter infeed two"."""
    end = i
    j = i
    cut = words("naming", "cut")
    while j < len(tokens) and j - i < _LONGEST_NAME and tokens[j].sort is Sort.WORD:
        if tokens[j].text in cut or number_at(tokens, j):
            break
        hit = _kinds(field).at(tokens, j)
        j = hit.end if hit else j + 1
        end = j if hit else end
    if end == i:
        return i
    k = end + (end < len(tokens) and tokens[end].text in words("movement", "number"))
    number = number_at(tokens, k) if k < len(tokens) else None
    if number is not None and number.digits and _ends_clause(tokens, number.end):
        return number.end
    return end if told and _ends_clause(tokens, end) else i


def _ends_clause(tokens: Tokens, i: int) -> bool:
    return i >= len(tokens) or tokens[i].sort is Sort.SIGN


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
        own = token.text not in words("naming", "never")
        return inner or colon or (token.raw[0].isupper() and own)
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
    """As spoken, but the numbers of a name in figures: "Boxford 1200"."""
    parts: list[str] = []
    n = i
    while n < j:
        number = number_at(tokens, n) if tokens[i].raw[:1].isupper() and n > i else None
        whole = number is not None and number.end <= j and bool(number.digits)
        raw = number.digits if number and whole else tokens[n].raw
        parts.append(raw if n == i or tokens[n].glued else f" {raw}")
        n = number.end if number and whole else n + 1
    return "".join(parts)[:80]
