"""The answer to "what did we use on such a belt" as its page shows it."""

from __future__ import annotations

from collections.abc import Iterable
from urllib.parse import quote

from pydantic import AwareDatetime

from recorder.archive.firm.recipes import slug
from recorder.knowhow.recipes.answer import OnBelt, RecipeAnswer, Share, Spread, Tried
from recorder.knowhow.recipes.belts import same
from recorder.knowhow.recipes.wilson import percent
from recorder.model.base import Value
from recorder.model.fields import FIELDS, choice_label
from recorder.model.past import OUTCOMES
from recorder.model.plural import counted
from recorder.model.recipe import Bound, Recipe, Window
from recorder.web.knowhow import belts
from recorder.web.knowhow.amounts import Units, amount, difference, span

MOST_PRESSES = 3


class Bar(Value):
    """A share and its interval for people and for the bar, which is 100 wide."""

    words: str
    interval: str
    at: float
    low: float
    high: float


class Head(Value):
    """A column: runs of one outcome. None of them: jobs is ''."""

    outcome: str
    label: str
    jobs: str = ""
    address: str = ""
    last_job: str = ""
    last_at: AwareDatetime | None = None
    presses: str = ""


class Cell(Value):
    """usual: value that was used; '' where none is known. more: range, number, spread."""

    usual: str = ""
    more: tuple[str, ...] = ()


class Row(Value):
    label: str
    cells: tuple[Cell, ...]


class Tries(Value):
    """One kind of belt. differs: from what was asked. pooled: in words, what was not told of the
    belt and differs among those here, '' for nothing. address: of the page for just this belt.
    """

    belt: str
    differs: tuple[str, ...]
    pooled: str
    address: str
    bar: Bar
    heads: tuple[Head, ...]
    settings: tuple[Row, ...]
    measured: tuple[Row, ...]


class Named(Value):
    """A recipe in a list. settings: label and value. differs: of its belt from the asked one."""

    name: str
    address: str
    version: int
    belt: str
    settings: tuple[tuple[str, str], ...]
    kept_at: AwareDatetime
    press: str
    retired: bool = False
    exact: bool = True


class Allowed(Value):
    """A belt maker's window. bounds: label and what it allows."""

    name: str
    source: str
    bounds: tuple[tuple[str, str], ...]


class Answer(Value):
    """exact: None where nothing was tried on just such a belt. unsettled: in words, '' for none."""

    asked: str
    exact: Tries | None
    nearest: tuple[Tries, ...]
    named: tuple[Named, ...]
    windows: tuple[Allowed, ...]
    unsettled: str


def answer(found: RecipeAnswer, units: Units) -> Answer:
    return Answer(
        asked=found.asked.shown(),
        exact=_tries(found.exact, units) if found.exact else None,
        nearest=tuple(_tries(each, units) for each in found.nearest),
        named=tuple(named(each, units, exact=_fits(each, found)) for each in found.named),
        windows=tuple(_allowed(each, units) for each in found.windows),
        unsettled=f"{counted(found.unsettled, 'press run')} on such a belt nobody settled the "
        "outcome of; what was used there does not count."
        if found.unsettled
        else "",
    )


def named(recipe: Recipe, units: Units, exact: bool = True) -> Named:
    return Named(
        name=recipe.name,
        address=f"/recipes/{quote(slug(recipe.name))}",
        version=recipe.version,
        belt=recipe.belt.shown(),
        settings=tuple(
            (FIELDS[each.field].label, amount(each.field, each.value, units))
            for each in recipe.settings
        ),
        kept_at=recipe.kept_at,
        press=recipe.press or "",
        retired=recipe.retired,
        exact=exact,
    )


def share_bar(share: Share) -> Bar:
    """In words '11 of 14 accepted'; the interval as whole percents."""
    return Bar(
        words=f"{share.accepted} of {counted(share.of, 'splice')} accepted",
        interval=f"{percent(share.low)} to {percent(share.high)} %",
        at=round(100 * share.accepted / share.of, 1) if share.of else 0.0,
        low=round(100 * share.low, 1),
        high=round(100 * share.high, 1),
    )


def bound_words(bound: Bound, units: Units) -> str:
    """'170 to 180 °C', 'at most 180 °C'."""
    if bound.low is not None and bound.high is not None:
        return span(bound.field, bound.low, bound.high, units)
    if bound.low is not None:
        return f"at least {amount(bound.field, bound.low, units)}"
    return f"at most {amount(bound.field, bound.high or 0.0, units)}"


def _fits(recipe: Recipe, found: RecipeAnswer) -> bool:
    """Whether it is for just the belt that was asked for, as far as that tells."""
    return same(found.asked, recipe.belt)


def _tries(found: OnBelt, units: Units) -> Tries:
    of = {each.outcome: each for each in found.tried}
    return Tries(
        belt=found.belt.shown(),
        differs=found.differs,
        pooled=" and ".join(FIELDS[field].label.lower() for field in found.pooled),
        address=belts.address(found.belt, tuple(units.values())),
        bar=share_bar(found.share),
        heads=tuple(_head(name, of.get(name), found) for name in OUTCOMES),
        settings=_rows([of[name].settings if name in of else () for name in OUTCOMES], units),
        measured=_rows([of[name].measured if name in of else () for name in OUTCOMES], units),
    )


def _head(outcome: str, tried: Tried | None, found: OnBelt) -> Head:
    label = choice_label(outcome)
    if tried is None:
        return Head(outcome=outcome, label=label)
    runs = f", {counted(tried.runs, 'press run')}" if tried.runs != tried.jobs else ""
    names = [f"{name} ({number})" for name, number in tried.presses[:MOST_PRESSES]]
    return Head(
        outcome=outcome,
        label=label,
        jobs=counted(tried.jobs, "job") + runs,
        address=belts.jobs_on(found.belt, outcome),
        last_job=tried.last_job,
        last_at=tried.last_at,
        presses=", ".join(names),
    )


def _rows(columns: list[tuple[Spread, ...]], units: Units) -> tuple[Row, ...]:
    """A row for each field that any column knows, in the order of the catalogue."""
    of = [{each.field: each for each in column} for column in columns]
    fields = [name for name in FIELDS if any(name in column for column in of)]
    return tuple(
        Row(
            label=FIELDS[name].label,
            cells=tuple(_cell(column.get(name), units) for column in of),
        )
        for name in fields
    )


def _cell(spread: Spread | None, units: Units) -> Cell:
    if spread is None:
        return Cell()
    usual = amount(spread.field, spread.usual, units)
    bounds = spread.below == spread.count
    return Cell(usual=f"at most {usual}" if bounds else usual, more=tuple(_more(spread, units)))


def _more(spread: Spread, units: Units) -> Iterable[str]:
    ends = {amount(spread.field, end, units) for end in (spread.low, spread.high)}
    if len(ends) > 1:  # as they are shown
        yield span(spread.field, spread.low, spread.high, units)
        if spread.spread:
            yield f"s {difference(spread.field, spread.spread, units)}"
    yield f"n {spread.count}"
    if 0 < spread.below < spread.count:
        yield counted(spread.below, "upper bound")


def _allowed(window: Window, units: Units) -> Allowed:
    return Allowed(
        name=window.name,
        source=window.source,
        bounds=tuple(
            (FIELDS[each.field].label, bound_words(each, units)) for each in window.bounds
        ),
    )
