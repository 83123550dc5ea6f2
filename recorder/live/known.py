"""What past jobs say of a belt as a small table for the page."""

from __future__ import annotations

from collections.abc import Mapping

from recorder.knowhow.recipes.answer import OnBelt, RecipeAnswer, Spread
from recorder.knowhow.recipes.deviating import counting, named
from recorder.knowhow.recipes.past import MEASURED
from recorder.model.base import Value
from recorder.model.fields import FIELDS
from recorder.model.past import SETTINGS
from recorder.model.plural import counted
from recorder.model.reading import show_value

_BESIDE = "\N{NO-BREAK SPACE}"
_HEADS = {"accepted": "Accepted", "rework": "Rework", "rejected": "Rejected"}


class Knowledge(Value):
    """A table, for people. title: what it tells. head: of its columns, the first one that of the
    settings. rows: of as many cells; of what was accepted the usual value, and in brackets the
    smallest and the largest.
    """

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def knowledge(answer: RecipeAnswer, press: str | None = None) -> Knowledge | None:
    """What was used on such a belt, else on the nearest; None where nothing is known."""
    recipe = counting(answer, press)
    near = answer.nearest[0] if answer.nearest and not answer.exact else None
    on = answer.exact or near
    columns: dict[str, Mapping[str, str]] = {}
    if recipe:
        columns["Recipe"] = {each.field: _shown(each.field, each.value) for each in recipe.settings}
    for tried in on.tried if on else ():
        shown = _usual if tried.outcome == "accepted" else _span
        spreads = (*tried.settings, *tried.measured)
        columns[_HEADS[tried.outcome]] = {each.field: shown(each) for each in spreads}
    told = [
        field
        for field in (*SETTINGS, *MEASURED)
        if any(field in column for column in columns.values())
    ]
    if not told:
        return None
    rows = tuple(
        (FIELDS[field].label, *(column.get(field, "") for column in columns.values()))
        for field in told
    )
    parts = [*([named(recipe)] if recipe else ()), *([_accepted(on)] if on else ())]
    title = "; ".join(parts)
    return Knowledge(title=title[:1].upper() + title[1:], head=("Setting", *columns), rows=rows)


def _accepted(on: OnBelt) -> str:
    where = f"on {on.belt.shown()}" if on.differs else "on such a belt"
    return f"{on.share.accepted} of {counted(on.share.of, 'splice')} accepted {where}"


def _usual(spread: Spread) -> str:
    """'172 °C (171 to 174 °C)'; of gaps that are all under the quantification limit a bound."""
    if spread.below == spread.count:
        return f"at most {_shown(spread.field, spread.high)}"
    usual, all_of_them = _shown(spread.field, spread.usual), _span(spread)
    return usual if usual == all_of_them else f"{usual} ({all_of_them})"


def _span(spread: Spread) -> str:
    if spread.below == spread.count:
        return f"at most {_shown(spread.field, spread.high)}"
    low, high = (_shown(spread.field, each) for each in (spread.low, spread.high))
    return low if low == high else f"{low.partition(_BESIDE)[0]} to {high}"


def _shown(field: str, value: float) -> str:
    """A number stays beside its unit where the column is narrow."""
    return show_value(field, value).replace(" ", _BESIDE)
