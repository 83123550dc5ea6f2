"""Names: customer, technician, site, conveyor, press and material, told in the speaker's words."""

from __future__ import annotations

import difflib
from dataclasses import replace

from recorder.notes.fields.slot import Slot
from recorder.notes.fields.values import Habit
from recorder.notes.names.identifiers import (
    FEWEST_DIGITS,
    dictated_digits,
    identifiers_of,
    letters_behind,
    of_another,
    slot_of,
    spelt_code,
)
from recorder.notes.names.introductions import introduced, named_before
from recorder.notes.names.leads import after_lead
from recorder.notes.names.materials import material_of
from recorder.notes.names.name_words import INSIDE, LONGEST_NAME, is_capital, kinds_of, written
from recorder.notes.numbers.numbers import number_at
from recorder.notes.numbers.unit_words import unit_at
from recorder.notes.words.lexer import Sort, Tokens
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import Phrases, vocabulary, words

_NEAR = 0.8  # similarity of a heard name to the job card's
# Told in plain words, without capitals, and told by what they are ("the infeed conveyor").
_COMMON = {"belt_material"}


@kept
def _names() -> Phrases[str]:
    table = vocabulary()["names"]
    return Phrases((phrase, name) for name, phrases in table.items() for phrase in phrases)


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
    found += named_before(tokens, named)
    named = {slot.field for slot in found}
    if "technician" not in named:
        found += introduced(tokens)
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
        spelt = spelt_code(tokens, field, i, i)
        if spelt:
            return spelt
        digits, end, repaired = dictated_digits(tokens, i)
        suffix, end = letters_behind(tokens, end) if digits else ("", end)
        digits += suffix
        doubts = ("a word was taken for a digit",) if repaired else ()
        if digits or field not in vocabulary()["names"]:
            return slot_of(tokens, field, digits, i, end, doubts) if digits else None
    j = len(tokens)
    while j > i and tokens[j - 1].sort is Sort.SIGN:
        j -= 1
    # "Redbird Parcel, they changed the name"
    commas = [n for n in range(i, j) if tokens[n].text == ","]
    if commas and is_capital(tokens, i) and not is_capital(tokens, commas[0] + 1):
        j = commas[0]
    if j - i > 2 * LONGEST_NAME or j == i:
        return None
    card = habit.names.get(field)
    if card and _as_on_card(tokens, i, card) == j:
        return slot_of(tokens, field, card, i, j)
    return slot_of(tokens, field, written(tokens, i, j), i, j)


def _is_no_answer(tokens: Tokens) -> bool:
    said = " ".join(token.text for token in tokens if token.sort is not Sort.SIGN)
    answers = vocabulary()["answers"]
    kinds = ("yes", "no", "later", "no_value")
    return any(said == phrase for kind in kinds for phrase in answers[kind])


def _name(tokens: Tokens, field: str, start: int, end: int, habit: Habit) -> Slot | None:
    """Capitalised words after the cue; any words after a colon; or the job card's name."""
    lead = after_lead(tokens, end)
    i = lead.place
    # "Press, top platen 180": the cue was no cue.
    if not lead.told and i < len(tokens) and _settings().at(tokens, i):
        return None
    card = habit.names.get(field)
    known = _as_on_card(tokens, i, card) if card else None
    if card and known:
        return slot_of(tokens, field, card, start, known)
    plain = (lead.colon and field != "press") or (
        field in _COMMON and lead.told and tokens[i - 1].text != ","
    )
    j = i
    while j < len(tokens) and j - i < LONGEST_NAME and _belongs(tokens, i, j, plain):
        # "Kunde Larkfeld Oberplatte 180": where nothing parts them, a setting ends the name.
        if j > i and _opens_setting(tokens, j):
            break
        j += 1
    while j > i and (tokens[j - 1].text in INSIDE or tokens[j - 1].text == "for"):
        j -= 1
    if not plain:
        j = _with_kind(tokens, field, i, j)
        j = j if j > i else _kind_alone(tokens, field, i, lead.told)
    if field == "press" and j - i < 2:
        return None
    loose = tokens[start].text in words("naming", "loose")
    if j == i or (loose and not any(kinds_of(field).at(tokens, k) for k in range(i, j))):
        return None
    return slot_of(tokens, field, written(tokens, i, j), start, j)


def _with_kind(tokens: Tokens, field: str, i: int, j: int) -> int:
    """The end of a name with what it is of: "the Moss Lane bakery", "the Boxford 1200"."""
    if j == i:
        return j
    while j < len(tokens) and (hit := kinds_of(field).at(tokens, j)):
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
    while j < len(tokens) and j - i < LONGEST_NAME and tokens[j].sort is Sort.WORD:
        if tokens[j].text in cut or number_at(tokens, j):
            break
        hit = kinds_of(field).at(tokens, j)
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
        inner = j > i and token.text in INSIDE
        own = token.text not in words("naming", "never")
        return inner or colon or (token.raw[0].isupper() and own)
    if token.sort in (Sort.NUMBER, Sort.CODE):
        return j > i and unit_at(tokens, j + 1) is None
    # "Mr. Pell"
    if token.text == "." and j > i and tokens[j - 1].text in words("written", "titles"):
        return True
    return j > i and token.text in INSIDE


def _as_on_card(tokens: Tokens, i: int, card: str) -> int | None:
    """The place after the words that are nearly the card's name, or None."""
    length = len(card.split())
    best: tuple[float, int] | None = None
    for j in range(i + 1, min(len(tokens), i + length + 2) + 1):
        ratio = difflib.SequenceMatcher(None, written(tokens, i, j).lower(), card.lower()).ratio()
        if ratio >= _NEAR and (best is None or ratio > best[0]):
            best = (ratio, j)
    return best[1] if best else None
