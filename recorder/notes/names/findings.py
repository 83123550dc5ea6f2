"""What the eye and hand found, and the outcome: flags and choices, with their negations."""

from __future__ import annotations

from dataclasses import dataclass, replace

from recorder.model.fields import FIELDS, Kind
from recorder.notes.fields.scope import Clause, Scope
from recorder.notes.fields.slot import Slot
from recorder.notes.numbers.numbers import number_at
from recorder.notes.words.lexer import Sort, Tokens
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import Hit, Phrases, speech, vocabulary, words

_NEGATION_REACH = 5  # tokens before the finding
_FOLLOWS = 12  # tokens
_NEAR = 6  # tokens
_LONGEST = 12  # words of an answer
_SHORT = 3  # words; a clause as short as this needs no subject
_FARTHEST = 40  # tokens of a clause on each side of a finding; a clause has no end of its own
_OPPOSITE = {"accepted": "rejected", "rejected": "accepted", "rework": "accepted"}
_ARTICLES = {"the", "a", "an", "his", "her", "their", "our", "my", "to"}


@dataclass(frozen=True)
class _Meaning:
    field: str
    value: bool | float | str
    repaired: bool = False


@kept
def _phrases() -> Phrases[_Meaning]:
    entries: list[tuple[str, _Meaning]] = []
    for name, table in vocabulary()["flags"].items():
        entries += [(phrase, _Meaning(name, True)) for phrase in table["yes"]]
        entries += [(phrase, _Meaning(name, False)) for phrase in table["no"]]
        for value, heard in ((True, "heard_yes"), (False, "heard_no")):
            entries += [(phrase, _Meaning(name, value, True)) for phrase in table.get(heard, ())]
    for name, table in vocabulary()["choices"].items():
        entries += [(p, _Meaning(name, choice)) for choice, ps in table.items() for p in ps]
    for name, table in vocabulary()["loose"].items():
        entries += [(p, _Meaning(name, choice, True)) for choice, ps in table.items() for p in ps]
    for name, table in vocabulary().get("told", {}).items():
        for choice in set(table) - {"names"}:
            entries += [(p, _Meaning(name, choice)) for p in _named(table["names"], table[choice])]
    for name, table in vocabulary()["counts"].items():
        entries += [(p, _Meaning(name, float(count))) for count, ps in table.items() for p in ps]
    return Phrases(entries)


def _named(names: list[str], choices: list[str]) -> list[str]:
    """As in "test run went fine", "guide profile: flat": the field, a small word, the choice."""
    between = ("", *words("speech", "copulas"))
    return [f"{name} {small} {choice}" for name in names for small in between for choice in choices]


@kept
def _list(name: str) -> frozenset[str]:
    return frozenset(words("speech", name))


def findings_of(tokens: Tokens, scope: Scope) -> list[Slot]:
    """All findings from left to right; a finding told twice in the same sense only once."""
    found: list[Slot] = []
    # As in "no bubbles except one at the edge": by sentence, where the last exception stands.
    excepted = {scope.sentence_of(e.start): e.start for e in speech("exceptions").all(tokens)}
    for hit in _phrases().all(tokens):
        slot = _finding(tokens, scope, hit, excepted)
        if slot is None:
            continue
        recent = range(max(0, len(found) - 4), len(found))
        alike = [i for i in recent if (found[i].field, found[i].value) == (slot.field, slot.value)]
        if alike:
            first = found[alike[0]]
            found[alike[0]] = replace(first, places=(*first.places, *slot.places))
        else:
            found.append(slot)
    return found


def corrected_choice(tokens: Tokens, scope: Scope, field: str) -> Slot | None:
    """As in "splice type overlap" (a pause) "actually finger": the last choice told anew."""
    if not scope.corrections or not field:
        return None
    found = answered_finding(tokens, field, scope.corrections[-1].end)
    return replace(found, corrects=True) if found else None


def answered_finding(tokens: Tokens, field: str, begin: int = 0) -> Slot | None:
    """The whole of a short answer as a flag, a choice or a count: "none", "overlap", "three".

    begin: the first token of the answer.
    """
    row = FIELDS[field]
    said = [i for i in range(begin, len(tokens)) if tokens[i].sort is not Sort.SIGN][:_LONGEST]
    while len(said) > 1 and tokens[said[0]].text in words("answers", "openers"):
        said = said[1:]
    if not said:
        return None
    text = " ".join(tokens[i].text for i in said)
    start, end, places = said[0], said[-1] + 1, tuple(said)
    if row.kind is Kind.COUNT:
        number = number_at(tokens, start)
        low, high = row.plausible or (0.0, 0.0)
        if number is None or number.end != end or not low <= number.value <= high:
            return None
        return Slot(field, number.value, start, end, places) if number.value % 1 == 0 else None
    for choice in row.choices:
        short = vocabulary().get("told", {}).get(field, {}).get(choice, ())
        known = vocabulary()["choices"].get(field, {}).get(choice, ())
        if text == choice.replace("_", " ") or (begin and (text in short or text in known)):
            return Slot(field, choice, start, end, places)
    table: dict[str, dict[str, list[str]]] = vocabulary()["answered"]
    for value, phrases in table.get(field, {}).items():
        if text not in phrases and not _opens_answer(tokens, said, phrases, row.kind):
            continue
        if row.kind is Kind.FLAG:
            return Slot(field, value == "yes", start, end, places)
        doubts, others = (f"only '{text}' was told",), _others(field, value)
        return Slot(field, value, start, end, places, unsettled=doubts, candidates=others)
    return None


def _opens_answer(tokens: Tokens, said: list[int], phrases: list[str], kind: Kind) -> bool:
    """As in "none that I can see": the answer, and no more than where and how."""
    goes_on = words("answers", "after_answer")
    for n in range(1, min(_SHORT + 1, len(said))):
        if " ".join(tokens[i].text for i in said[:n]) not in phrases:
            continue
        parted = tokens[said[n - 1] + 1].text == ","
        if parted or (kind is Kind.FLAG and tokens[said[n]].text in goes_on):
            return True
    return False


def _finding(
    tokens: Tokens, scope: Scope, hit: Hit[_Meaning], excepted: dict[int, int]
) -> Slot | None:
    number = scope.clause_of[hit.start]
    clause = scope.clauses[number]
    if number in scope.past:
        return None
    meaning = hit.meanings[0]
    negations = _negations(tokens, clause, hit)
    before = {t.text for t in tokens[max(clause.start, hit.start - 12) : hit.start]}
    negated = len(negations) % 2 == 1
    flag = FIELDS[meaning.field].kind is Kind.FLAG
    none = flag and meaning.value is True and _denied_after(tokens, scope, hit)
    sought = before & _list("not_found_yet") and not (negated and before & {"any"})
    sought = bool(sought) or _looked_for(tokens, clause, hit)
    if sought and not none:
        return None
    places = [*range(hit.start, hit.end)]
    doubts = []
    if meaning.repaired:
        told = " ".join(token.raw for token in tokens[hit.start : hit.end] if token.raw.isalnum())
        doubts = ["heard as another word" if flag else f"only '{told}' was told"]
    unsettled = ["told as a guess or a question"] if number in scope.unsure else []
    if flag and hit.end <= excepted.get(scope.sentence_of(hit.start), -1):
        unsettled.append("told with an exception")
    if flag:
        # "Looked for bubbles and there are none"
        value: bool | float | str = False if sought else meaning.value
        if value is True and negated:
            value, places = False, sorted({*places, *negations})
        if value is True and _denied_after(tokens, scope, hit):
            unsettled.append("a denial follows it")
        if value is True and _answered_no(tokens, hit):
            unsettled.append("it may be 'no' to this, or 'no' to what was before")
    else:
        if not _speaks_of_work(tokens, clause, hit, meaning.field):
            return None
        value = meaning.value
        if negated and str(value) not in _OPPOSITE:
            return None
        if negated:
            value = _OPPOSITE[str(value)]
            unsettled.append(f"'not {meaning.value}' was told")
            places = sorted({*places, *negations})
    doubtful = bool(doubts or unsettled)
    start = clause.start if 0 < hit.start - clause.start <= _NEGATION_REACH else places[0]
    return Slot(
        meaning.field,
        value,
        start,
        places[-1] + 1,
        tuple(places),
        doubts=tuple(doubts),
        unsettled=tuple(unsettled),
        candidates=_others(meaning.field, value) if doubtful else (),
        corrects=any(0 <= hit.start - c.end <= 3 and _is_more(c) for c in scope.corrections[-8:]),
        changes=scope.sentence_of(hit.start) in scope.changes or clause.opened,
        passing=_is_yet(tokens, clause, hit),
    )


def _is_yet(tokens: Tokens, clause: Clause, hit: Hit[_Meaning]) -> bool:
    """As in "not isolated yet"."""
    near = tokens[max(clause.start, hit.start - _NEAR) : min(clause.end, hit.end + _NEAR)]
    return any(token.text in _list("yet") for token in near)


def _looked_for(tokens: Tokens, clause: Clause, hit: Hit[_Meaning]) -> bool:
    """As in "checked for bubbles", which does not say what was found."""
    before = [t.text for t in tokens[max(clause.start, hit.start - 12) : hit.start]]
    return "for" in before[-2:] and not _list("looked").isdisjoint(before)


def _is_more(correction: Hit[str]) -> bool:
    """A bare "no" before a finding denies it and corrects nothing."""
    return correction.meanings[0] != "no"


def _others(field: str, value: bool | float | str) -> tuple[bool | str, ...]:
    if isinstance(value, bool):
        return (not value,)
    return tuple(choice for choice in FIELDS[field].choices if choice != value)


def _negations(tokens: Tokens, clause: Clause, hit: Hit[_Meaning]) -> list[int]:
    """Places of the words that deny the finding, in its own clause."""
    reach = range(max(clause.start, hit.start - _NEGATION_REACH), hit.start)
    before = [i for i in reach if tokens[i].text in _list("negations")]
    if before:
        return before[-1:] if len(before) != 2 else before
    after = range(hit.end, min(clause.end, hit.end + 3))
    denied = [i for i in after if tokens[i].text in _list("negations")]
    followed = denied and denied[0] + 1 < clause.end and tokens[denied[0]].text == "no"
    return [] if followed else denied[:1]


def _denied_after(tokens: Tokens, scope: Scope, hit: Hit[_Meaning]) -> bool:
    """As in "two bubbles rolled out, none left"."""
    sentence = scope.sentence_of(hit.start)
    near = range(hit.end, min(len(tokens), hit.end + _FOLLOWS))
    return any(
        tokens[i].text in _list("none_left") and scope.sentence_of(i) == sentence for i in near
    )


def _answered_no(tokens: Tokens, hit: Hit[_Meaning]) -> bool:
    back = [t.text for t in tokens[max(0, hit.start - 2) : hit.start]]
    return back == ["no", ","]


def _speaks_of_work(tokens: Tokens, clause: Clause, hit: Hit[_Meaning], field: str) -> bool:
    """Whether "accepted" is said of the splice and not of a delivery."""
    subjects = vocabulary()["subjects"].get(field)
    if subjects is None:
        return True
    things = {*words("movement", "splice"), *words("movement", "ones"), *subjects}
    after = [t.text for t in tokens[hit.end : hit.end + 2]]
    parts = set(words("movement", "splice"))
    begin = max(clause.start, hit.start - _FARTHEST)
    named = any(t.text in parts for t in tokens[begin : hit.start])
    if after and after[0] in _ARTICLES and not named and things.isdisjoint(after[1:]):
        return False
    near = tokens[begin : min(clause.end, hit.end + _FARTHEST)]
    said = [t.text for t in near if t.sort is not Sort.SIGN]
    return len(said) <= _SHORT or not set(subjects).isdisjoint(said)
