"""What to know before the job, as its card tells it: each with a sign and in words."""

from __future__ import annotations

from collections.abc import Iterator

from recorder.flows.knowhow.card_words import against, drifting
from recorder.flows.knowhow.drafting import Draft
from recorder.knowhow.preparing.checks import said, to_tell
from recorder.knowhow.recipes.answer import Deviation
from recorder.model.fields import FIELDS
from recorder.model.reading import Reading
from recorder.report.content import formats
from recorder.report.content.frame import Mark
from recorder.report.wording.wording import say


def notices(draft: Draft) -> tuple[Mark, ...]:
    """What differs, drifts, is due, is in doubt and is missing; then where sources disagree."""
    missing = ", ".join(formats.label(name) for name in draft.missing)
    return (
        *(_deviating(each, each.field in draft.meant) for each in draft.known.deviations),
        *(_ask("▲", drifting(drift, formats.PAGE)) for drift in draft.known.drifts),
        *(_ask("▲", f"{due.name}: {said(due)}") for due in to_tell(draft.known.checks)),
        *(_ask("?", _doubtful(doubt)) for doubt in draft.doubts),
        *([_ask("–", say("Not told: {labels}", labels=missing))] if missing else ()),
        *(Mark(kind="none", sign="–", word=each) for each in _remarks(draft)),
    )


def _remarks(draft: Draft) -> Iterator[str]:
    """Under the label of their field."""
    for told in draft.notes:
        field, colon, rest = told.partition(": ")
        yield f"{formats.label(field)}: {rest}" if colon and field in FIELDS else told


def _ask(sign: str, word: str) -> Mark:
    return Mark(kind="some", sign=sign, word=word)


def _doubtful(doubt: Reading) -> str:
    return say(
        "{label}: {value} was heard and nobody confirmed it",
        label=formats.label(doubt.field), value=formats.reading(doubt),
    )  # fmt: skip


def _deviating(each: Deviation, meant: bool) -> Mark:
    told = {
        "label": formats.label(each.field),
        "value": formats.value(each.field, each.value),
        "against": against(each, formats.PAGE),
    }
    if meant:
        word = say("{label}: {value} is asked for, and was confirmed; {against}", **told)
        return Mark(kind="meant", sign="→", word=word)
    return _ask("▲", say("{label}: {value} is asked for; {against}", **told))
