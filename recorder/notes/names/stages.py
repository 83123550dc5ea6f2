"""When a stage of the press run begins: "heat is on", "dwell starts now", "opening the press"."""

from __future__ import annotations

from recorder.model.stages import Stage
from recorder.notes.fields.scope import Scope
from recorder.notes.words.lexer import Tokens
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import Hit, Phrases, words

_REACH = 4  # tokens before and after in which a denial is looked for


@kept
def _phrases() -> Phrases[Stage]:
    return Phrases((phrase, stage) for stage in Stage for phrase in words("stages", stage))


def stages_of(tokens: Tokens, scope: Scope) -> list[Hit[Stage]]:
    """All stages that begin as it is said; not what was, is asked, is wished or is denied."""
    return [hit for hit in _phrases().all(tokens) if _happens_now(tokens, scope, hit)]


def _happens_now(tokens: Tokens, scope: Scope, hit: Hit[Stage]) -> bool:
    number = scope.clause_of[hit.start]
    if number in scope.barred or number in scope.unsure:
        return False
    clause = scope.clauses[number]
    near = range(max(clause.start, hit.start - _REACH), min(clause.end, hit.end + _REACH))
    around = {tokens[i].text for i in near if not hit.start <= i < hit.end}
    return around.isdisjoint((*words("speech", "negations"), *words("stages", "not_yet")))
