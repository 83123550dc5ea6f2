"""What the words around a number say about it: past, wish, difference, doubt, correction."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass

from recorder.notes.fields.mentions import Mention
from recorder.notes.numbers.amounts import Amount
from recorder.notes.words.lexer import Sort, Tokens
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import Hit, Phrases, speech, vocabulary, words

_ENDS = {".", "!", "?", ";"}
_INSTEAD = {",", "it's", "it", "is", "was", "that's", "that"}
_WIDE = 30  # tokens of a clause that are looked at
_ASIDE = 2  # words of meaning in a clause that only says how its sentence is meant
_FARTHEST_CORRECTION = 7  # tokens between a correction phrase and its number


@kept
def fillers() -> frozenset[str]:
    return frozenset(words("speech", "fillers"))


@kept
def _clause_words() -> frozenset[str]:
    return frozenset(words("speech", "clause_words"))


@dataclass(frozen=True)
class Clause:
    """tokens[start:end]. sentence: its sentence's number. opened: by a word like "but"."""

    start: int
    end: int
    sentence: int
    opened: bool


@dataclass(frozen=True)
class Scope:
    """The clauses and cue phrases of one text, by token place.

    clause_of: number of the clause of each token. barred: clauses that speak of something else
    than what was done now. past: those of them that tell of another time or place. unsure:
    clauses with a hedge or a question mark.
    corrections, undos: phrases from left to right. changes: sentences in which a setting was
    changed. remarks: by clause, why its numbers are asked about.
    """

    clauses: tuple[Clause, ...]
    clause_of: tuple[int, ...]
    barred: frozenset[int]
    past: frozenset[int]
    unsure: frozenset[int]
    corrections: tuple[Hit[str], ...]
    changes: frozenset[int]
    remarks: Mapping[int, tuple[str, ...]]
    undos: tuple[Hit[str], ...]

    def sentence_of(self, place: int) -> int:
        return self.clauses[self.clause_of[place]].sentence


def scope_of(tokens: Tokens, mentions: list[Mention]) -> Scope:
    clauses = _clauses(tokens)
    clause_of = tuple(n for n, c in enumerate(clauses) for _ in range(c.start, c.end))
    named = {clause_of[mention.start] for mention in mentions}
    # "Cool until it hit 60" says so in a trade word and bars nothing.
    inside = {i for mention in mentions for i in range(mention.start, mention.end)}
    told = speech("past").all(tokens)
    long = {clause_of[h.start] for h in told if _tells(tokens, clauses[clause_of[h.start]], h)}
    fresh = {clause_of[h.start] for h in speech("anew").all(tokens)}
    past = _spread(clauses, {clause_of[h.start] for h in told}, named | long, fresh)
    past |= {clause_of[h.start] for h in speech("elsewhere").all(tokens)}
    corrections = _corrections(tokens)
    inside |= {i for hit in corrections for i in range(hit.start, hit.end)}
    hits = speech("not_now").all(tokens)
    wished = {clause_of[h.start] for h in hits if h.start not in inside}
    unsure = {clause_of[h.start] for h in speech("hedges").all(tokens)}
    asked = {clauses[clause_of[i]].sentence for i, t in enumerate(tokens) if t.text == "?"}
    unsure |= {n for n, clause in enumerate(clauses) if clause.sentence in asked}
    # A hedge in a clause of its own is about the sentence: "I'm not sure, but dwell four minutes".
    loose = {clauses[n].sentence for n in unsure - named}
    unsure |= {n for n, clause in enumerate(clauses) if clause.sentence in loose}
    return Scope(
        tuple(clauses),
        clause_of,
        frozenset(past | wished),
        frozenset(past),
        frozenset(unsure),
        corrections,
        frozenset(clauses[clause_of[h.start]].sentence for h in speech("changes").all(tokens)),
        _remarks(tokens, clauses, clause_of, named),
        tuple(speech("undo").all(tokens)),
    )


def _corrections(tokens: Tokens) -> tuple[Hit[str], ...]:
    """Phrases of correction; with what is prescribed right behind one: "sorry, that should be"."""
    found = []
    for hit in speech("corrections").all(tokens):
        comma = hit.end < len(tokens) and tokens[hit.end].text == ","
        start = hit.end + comma
        rest = speech("prescribed").at(tokens, start) if start < len(tokens) else None
        found.append(Hit(hit.start, rest.end, rest.meanings) if rest else hit)
    return tuple(found)


@kept
def _number_doubts() -> Phrases[str]:
    table: dict[str, list[str]] = vocabulary()["number_doubts"]
    return Phrases((phrase, reason) for reason, phrases in table.items() for phrase in phrases)


def _remarks(
    tokens: Tokens, clauses: list[Clause], clause_of: tuple[int, ...], named: set[int]
) -> dict[int, tuple[str, ...]]:
    """A short clause that names nothing of its own is about its whole sentence."""
    found: dict[int, tuple[str, ...]] = {}
    reach: dict[int, list[int]] = {}
    spread: set[tuple[int, str]] = set()
    used = {clause_of[hit.start] for hit in speech("turns").all(tokens)}
    for n, clause in enumerate(clauses):
        reach.setdefault(clause.sentence, []).append(n)
    for hit in _number_doubts().all(tokens):
        here, reason = clause_of[hit.start], hit.meanings[0]
        said = tokens[clauses[here].start : clauses[here].end]
        meaning = sum(t.sort is Sort.WORD and t.text not in fillers() for t in said[:_WIDE])
        opens = hit.start - clauses[here].start <= 1 and _opens_sentence(clauses, here)
        short = opens or (here not in named and meaning - (hit.end - hit.start) <= _ASIDE)
        sentence = clauses[here].sentence
        if short and (sentence, reason) in spread:
            continue
        if short:
            spread.add((sentence, reason))
        for n in reach[sentence] if short else (here,):
            if n != here and n in used:
                continue
            if reason not in found.get(n, ()):
                found[n] = (*found.get(n, ()), reason)
    return found


def _turns(tokens: Tokens, i: int) -> bool:
    """As in "started at 1.5 bar and finished at 2 bar": what was used in the end follows."""
    return i + 1 < len(tokens) and speech("turns").at(tokens, i + 1) is not None


def _tells(tokens: Tokens, clause: Clause, hit: Hit[str]) -> bool:
    """Whether a clause is a statement of its own: "the old splice was a butt splice"."""
    near = tokens[clause.start : clause.end][:_WIDE]
    meaning = sum(t.sort is Sort.WORD and t.text not in fillers() for t in near)
    verb = any(t.text in words("speech", "verbs") for t in near)
    own = sum(t.text not in fillers() for t in tokens[hit.start : hit.end])
    return verb and meaning - own >= _ASIDE


def _opens_sentence(clauses: list[Clause], n: int) -> bool:
    return n == 0 or clauses[n - 1].sentence != clauses[n].sentence


def _clauses(tokens: Tokens) -> list[Clause]:
    clauses: list[Clause] = []
    start, sentence, opened = 0, 0, False
    openers = _clause_words()
    joints = {*words("speech", "joints")} - {","}
    for i, token in enumerate(tokens):
        turns = token.text in joints and _turns(tokens, i)
        if i > start and (turns or token.text in openers):
            clauses.append(Clause(start, i, sentence, opened))
            start, opened = i, True
        elif token.text in _ENDS or token.text == ",":
            clauses.append(Clause(start, i + 1, sentence, opened))
            start, opened = i + 1, False
            sentence += token.text != ","
        elif i == start and token.text in openers:
            opened = True
    if start < len(tokens):
        clauses.append(Clause(start, len(tokens), sentence, opened))
    return clauses


def _spread(clauses: list[Clause], found: set[int], named: set[int], fresh: set[int]) -> set[int]:
    """A cue in a clause of its own reaches its neighbours: "Ten minutes ago, top was 140".

    fresh: those that speak of something new are not reached: "old one was flat, this one's not".
    """
    reached = set(found)
    for n in found - named:
        for near in (n - 1, n + 1):
            if 0 <= near < len(clauses) and clauses[near].sentence == clauses[n].sentence:
                opener = clauses[max(near, n)]
                if not opener.opened and near not in fresh:
                    reached.add(near)
    return reached


def is_time_of_day(tokens: Tokens, scope: Scope, amount: Amount) -> bool:
    """As in "started dwell at 10:05", "from 10:05 to 10:09": a clock time that is no duration."""
    if not amount.clock or amount.unit is not None:
        return False
    if amount.start and tokens[amount.start - 1].text in words("speech", "day_times_before"):
        return True
    sentence = scope.sentence_of(amount.start)
    here = [i for c in scope.clauses if c.sentence == sentence for i in range(c.start, c.end)]
    ends = [i for i in here if tokens[i].sort is Sort.CLOCK]
    between = [token.text for token in tokens[ends[0] + 1 : ends[-1]]]
    told = any(tokens[i].text in words("speech", "day_times") for i in here)
    return told or between in (["to"], ["till"], ["until"], ["-"], ["–"], ["and"])


def is_no_value(tokens: Tokens, amount: Amount, named: bool = False) -> bool:
    """Whether the words at the amount make it a difference or a bound: "by five degrees".

    named: the word before it is of its trade word, as in "offset by".
    """
    hit = speech("not_value_after").at(tokens, amount.end) if amount.end < len(tokens) else None
    if hit:
        return True
    return not named and any(
        h.end == amount.start
        for back in (1, 2, 3)
        if amount.start >= back and (h := _before().at(tokens, amount.start - back))
    )


def _before() -> Phrases[str]:
    return speech("not_value_before")


def correction_before(tokens: Tokens, scope: Scope, amount: Amount) -> bool:
    """Whether a correction phrase stands before the amount with nothing of meaning between."""
    for hit in reversed(_hits_before(scope.corrections, amount.start)):
        if amount.start - hit.end > 2 * _FARTHEST_CORRECTION:
            return False
        clause = scope.clauses[scope.clause_of[amount.start]]
        if _aside(tokens, scope, hit, clause):
            between = tokens[clause.start : amount.start]
            return all(token.text in fillers() or not token.text.isalnum() for token in between)
        between = tokens[hit.end : amount.start]
        plain = hit.meanings[0] != "no" or all(token.text in ",." for token in between)
        if not plain and not _says_instead(tokens, amount, between):
            continue
        return all(token.text in fillers() or not token.text.isalnum() for token in between)
    return False


def _aside(tokens: Tokens, scope: Scope, hit: Hit[str], clause: Clause) -> bool:
    """As in "ten thou, hang on, let me get the light, twelve thou": one clause parts the two."""
    if hit.end >= len(tokens) or tokens[hit.end].text != ",":
        return False
    n = scope.clause_of[hit.end] + 1
    if n >= len(scope.clauses) or scope.clauses[n].end != clause.start:
        return False
    return clause.end - clause.start <= _FARTHEST_CORRECTION


def _says_instead(tokens: Tokens, amount: Amount, between: Tokens) -> bool:
    """As in "no, it's 172"; not "no, it's two fingers"."""
    if between[0].text != "," or any(t.text not in _INSTEAD for t in between):
        return False
    after = tokens[amount.end] if amount.end < len(tokens) else None
    return amount.unit is not None or after is None or after.sort is not Sort.WORD


def _hits_before(hits: tuple[Hit[str], ...], place: int) -> list[Hit[str]]:
    """The last few phrases that end at or before the place."""
    after = bisect_right(hits, place, key=lambda hit: hit.end)
    return list(hits[max(0, after - 3) : after])
