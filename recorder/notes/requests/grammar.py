"""Sentences that ask something of the recorder, as patterns of words in the table ``requests``.

A pattern is words and, in braces, one of the lists of ``[requests.classes]`` (with "?" there may be
none), or what is picked up: ``{field}``, ``{told}`` (one that is nothing but an entry of the
record), ``{timer}``, ``{length}``, ``{rest}`` (the words of a note, or a name). It has to be all of
a sentence, but for the words of politeness around it; so no narration that holds the same words is
one. Requests may follow one another: "take a photo and go to the next splice".
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

from recorder.model.quantity import Quantity
from recorder.model.units import UNITS
from recorder.notes.numbers.amounts import amounts_of
from recorder.notes.requests.request import Ask, Timer
from recorder.notes.words.lexer import Sort, Tokens, tokens_of
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import Phrases, vocabulary, words

_STEP = re.compile(r"\{\s*(\w+)\s*(\?)?\s*\}|([^\s{}]+)")
_PICKED = {"field", "told", "timer", "length", "rest"}
_LONGEST = 24  # tokens of a sentence that asks, but for a note
_MOST_IN_A_ROW = 3  # requests
_LONGEST_NAME = 5  # tokens


@dataclass(frozen=True)
class Asking:
    """One request of a sentence. fields: that are meant together, none for all. seconds: of a
    timer. rest: the place in the sentence where the words of a note, or a name, begin. indirect: it
    may as well be a remark or addressed to somebody else, so it is asked about first.
    """

    ask: Ask
    fields: tuple[str, ...] = ()
    timer: Timer | None = None
    seconds: float | None = None
    rest: int | None = None
    indirect: bool = False


def askings(tokens: Tokens) -> tuple[Asking, ...]:
    """The requests that a sentence is, in order; none when it is anything else. ``tokens``: without
    signs.
    """
    if not tokens:
        return ()
    if len(tokens) <= _LONGEST:
        found = _row(tokens, 0, _MOST_IN_A_ROW)
        if found:
            return found
    return _with_rest(tokens)


def is_filler(tokens: Tokens) -> bool:
    """Whether a sentence says nothing at all: "okay", "right, please"."""
    ends = {end for end, _ in _openings(tokens, 0)}
    return len(tokens) in ends or len(tokens) in _closings(tokens, 0)


@dataclass(frozen=True)
class _Step:
    """A word, a class of phrases, or what is picked up."""

    word: str = ""
    phrases: tuple[tuple[str, ...], ...] = ()
    picks: str = ""
    optional: bool = False


@dataclass(frozen=True)
class _Pattern:
    steps: tuple[_Step, ...]
    asking: Asking


def _row(tokens: Tokens, i: int, most: int) -> tuple[Asking, ...]:
    """Requests from tokens[i] to the end, the first one with what may stand before it."""
    for start, directed in _openings(tokens, i):
        for pattern in _patterns():
            for end, asking in _matches(pattern.steps, tokens, start, pattern.asking):
                found = replace(asking, indirect=asking.indirect or directed)
                after = _closings(tokens, end)
                if len(tokens) in after:
                    return (found,)
                for joint in _joints(tokens, after) if most > 1 else ():
                    rest = _row(tokens, joint, most - 1)
                    if rest:
                        return (found, *rest)
    return ()


def _with_rest(tokens: Tokens) -> tuple[Asking, ...]:
    """A request that takes what follows as it is: a note, or the name of a recipe."""
    for start, directed in _openings(tokens, 0):
        for pattern in _rest_patterns():
            for end, asking in _matches(pattern.steps, tokens, start, pattern.asking):
                if end == len(tokens) and not _too_long(asking, end):
                    return (replace(asking, indirect=asking.indirect or directed),)
    return ()


def _too_long(asking: Asking, end: int) -> bool:
    return asking.ask is Ask.KEEP_RECIPE and end - (asking.rest or 0) > _LONGEST_NAME


def _matches(
    steps: tuple[_Step, ...], tokens: Tokens, i: int, asking: Asking
) -> Iterator[tuple[int, Asking]]:
    """The ends of a pattern that begins at tokens[i], with what it picks up on the way."""
    if not steps:
        yield i, asking
        return
    step, rest = steps[0], steps[1:]
    for end, picked in _step(step, tokens, i, asking):
        yield from _matches(rest, tokens, end, picked)
    if step.optional:
        yield from _matches(rest, tokens, i, asking)


def _step(step: _Step, tokens: Tokens, i: int, asking: Asking) -> Iterator[tuple[int, Asking]]:
    if i >= len(tokens):
        return
    if step.picks:
        yield from _picks(step.picks, tokens, i, asking)
    elif step.word:
        if _is(tokens[i].text, step.word):
            yield i + 1, asking
    else:
        for end in _ends(step.phrases, tokens, i):
            yield end, asking


def _picks(what: str, tokens: Tokens, i: int, asking: Asking) -> Iterator[tuple[int, Asking]]:
    if what == "rest":
        yield len(tokens), replace(asking, rest=i)
    elif what in ("field", "told"):
        field = _fields().at(tokens, i)
        if field and (what == "field" or _is_entry(tokens[i : field.end], field.meanings[0])):
            yield field.end, replace(asking, fields=field.meanings[0])
    elif what == "timer":
        timer = _timers().at(tokens, i)
        if timer:
            yield timer.end, replace(asking, timer=timer.meanings[0])
    else:
        for amount in amounts_of(tokens):
            unit = UNITS.get(amount.unit or "")
            if amount.start == i and unit is not None and unit.dimension == "time":
                lasts = Quantity(value=amount.value, unit=amount.unit or "").to("s").value
                yield amount.end, replace(asking, seconds=round(lasts, 3))


def _is_entry(said: Tokens, fields: tuple[str, ...]) -> bool:
    """Whether nothing but the entry of the record is meant, and not the thing itself."""
    thing = set(fields) & set(words("requests", "things"))
    return not thing or any(token.text in words("requests", "entries") for token in said)


def _openings(tokens: Tokens, i: int) -> list[tuple[int, bool]]:
    """The places where a request may begin, the nearest first, and whether the words before it may
    be addressed to anybody: "can you".
    """
    found = {i: False}
    queue = [i]
    while queue:
        place = queue.pop()
        for phrases, directed in ((_list("before"), False), (_list("addressing"), True)):
            for end in _ends(phrases, tokens, place):
                if end not in found:
                    found[end] = found[place] or directed
                    queue.append(end)
    return sorted(found.items())


def _closings(tokens: Tokens, i: int) -> set[int]:
    """The places up to which there is nothing but politeness."""
    found, queue = {i}, [i]
    while queue:
        for end in _ends(_list("after"), tokens, queue.pop()):
            if end not in found:
                found.add(end)
                queue.append(end)
    return found


def _joints(tokens: Tokens, places: set[int]) -> set[int]:
    return {end for place in places for end in _ends(_list("joints"), tokens, place)}


def _ends(phrases: tuple[tuple[str, ...], ...], tokens: Tokens, i: int) -> Iterator[int]:
    for phrase in phrases:
        end = i + len(phrase)
        if end <= len(tokens) and all(map(_is, (t.text for t in tokens[i:end]), phrase)):
            yield end


def _is(text: str, word: str) -> bool:
    return text == word or text.removesuffix("'s") == word


@kept
def _patterns() -> tuple[_Pattern, ...]:
    """All but those that take the rest of a sentence."""
    table = vocabulary()["requests"]
    direct = [_pattern(p, Asking(ask)) for ask in Ask for p in table["asks"].get(ask, ())]
    indirect = [
        _pattern(phrase, Asking(ask, indirect=True))
        for key in ("maybe", "misheard")
        for ask in Ask
        for phrase in table[key].get(ask, ())
    ]
    return tuple(p for p in (*direct, *indirect) if not _takes_rest(p))


@kept
def _rest_patterns() -> tuple[_Pattern, ...]:
    table = vocabulary()["requests"]
    notes = (*table["asks"].get(Ask.NOTE, ()), *table["misheard"].get(Ask.NOTE, ()))
    recipe = Asking(Ask.KEEP_RECIPE, indirect=True)
    found = (
        *(_pattern(phrase, Asking(Ask.NOTE)) for phrase in notes),
        *(_pattern(phrase, recipe) for phrase in table["maybe"].get(Ask.KEEP_RECIPE, ())),
    )
    return tuple(pattern for pattern in found if _takes_rest(pattern))


def _takes_rest(pattern: _Pattern) -> bool:
    return any(step.picks == "rest" for step in pattern.steps)


def _pattern(phrase: str, asking: Asking) -> _Pattern:
    steps = []
    for name, optional, word in _STEP.findall(phrase):
        if word:
            steps += [_Step(word=text) for text in _texts(word)]
        elif name in _PICKED:
            steps.append(_Step(picks=name, optional=bool(optional)))
        else:
            steps.append(_Step(phrases=_class(name), optional=bool(optional)))
    return _Pattern(tuple(steps), asking)


@kept
def _class(name: str) -> tuple[tuple[str, ...], ...]:
    """Raises KeyError for one that is not there."""
    return _phrases(vocabulary()["requests"]["classes"][name])


@kept
def _list(name: str) -> tuple[tuple[str, ...], ...]:
    return _phrases(vocabulary()["requests"][name])


def _phrases(listed: list[str]) -> tuple[tuple[str, ...], ...]:
    """The longest first."""
    return tuple(sorted((tuple(_texts(phrase)) for phrase in listed), key=len, reverse=True))


def _texts(phrase: str) -> list[str]:
    return [token.text for token in tokens_of(phrase) if token.sort is not Sort.SIGN]


@kept
def _fields() -> Phrases[tuple[str, ...]]:
    """How the fields are called: in requests, and by the trade."""
    tables = vocabulary()
    entries = [
        (phrase, (name,))
        for name, phrases in tables["requests"]["fields"].items()
        for phrase in phrases
    ]
    for name, table in tables["fields"].items():
        entries += [(phrase, (name,)) for phrase in (*table["words"], *table.get("homophones", ()))]
    for group in tables["groups"]:
        entries += [(phrase, tuple(group["fields"])) for phrase in group.get("words", ())]
    return Phrases(entries)


@kept
def _timers() -> Phrases[Timer]:
    table: dict[str, list[str]] = vocabulary()["requests"]["timers"]
    return Phrases((phrase, Timer(name)) for name, phrases in table.items() for phrase in phrases)
