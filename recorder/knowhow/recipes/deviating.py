"""Settings that are not what the firm keeps, its accepted jobs had, or the belt maker gives."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from recorder.knowhow.recipes.answer import Deviation, RecipeAnswer
from recorder.knowhow.recipes.belts import same
from recorder.model.belt import folded
from recorder.model.fields import FIELDS
from recorder.model.past import SETTINGS
from recorder.model.plural import counted
from recorder.model.recipe import Recipe
from recorder.model.units import UNITS

# Accepted runs that make a range worth asking about. Common practice, no source.
ENOUGH = 3


def deviations(
    settings: Mapping[str, float], answer: RecipeAnswer, press: str | None = None
) -> tuple[Deviation, ...]:
    """What differs, in the order of the catalogue; to be asked about, never forbidden.

    settings: in canonical units, by field. press: on which it will be pressed. A setting is held
    against the recipe that counts, or, where that says nothing of it, against the accepted runs on
    just such a belt, if there are at least ``ENOUGH``; and against every belt maker's window that
    fits. What does not show in the decimals of its unit is no difference.
    """
    recipe = counting(answer, press)
    return tuple(
        deviation
        for field in SETTINGS
        if field in settings
        for deviation in (
            *_from_experience(field, settings[field], answer, recipe),
            *_from_windows(field, settings[field], answer),
        )
    )


def counting(answer: RecipeAnswer, press: str | None = None) -> Recipe | None:
    """The recipe that counts of several: one for just such a belt before one that says less of it;
    of these one that was used on this press, else the one kept last.
    """
    exact = [recipe for recipe in answer.named if same(answer.asked, recipe.belt)]
    fitting = exact or list(answer.named)
    here = [r for r in fitting if press and r.press and folded(r.press) == folded(press)]
    return max(here or fitting, key=lambda recipe: recipe.kept_at, default=None)


def named(recipe: Recipe) -> str:
    """For people: 'recipe Oven 70, version 2'."""
    return f"recipe {recipe.name}, version {recipe.version}"


def _from_experience(
    field: str, value: float, answer: RecipeAnswer, recipe: Recipe | None
) -> Iterator[Deviation]:
    kept = recipe.setting(field) if recipe else None
    if recipe and kept:
        yield from _outside(field, value, kept.low, kept.high, "recipe", named(recipe))
        return
    accepted = next((t for t in answer.exact.tried if t.outcome == "accepted"), None) if (
        answer.exact
    ) else None  # fmt: skip
    past = next((s for s in accepted.settings if s.field == field), None) if accepted else None
    if past and past.count >= ENOUGH:
        whose = f"{counted(past.count, 'accepted run')} on such a belt"
        yield from _outside(field, value, past.low, past.high, "past", whose)


def _from_windows(field: str, value: float, answer: RecipeAnswer) -> Iterator[Deviation]:
    for window in answer.windows:
        for bound in window.bounds:
            if bound.field == field:
                whose = f"the belt maker's window {window.name} ({window.source})"
                yield from _outside(field, value, bound.low, bound.high, "window", whose)


def _outside(
    field: str, value: float, low: float | None, high: float | None, against: str, whose: str
) -> Iterator[Deviation]:
    half = 0.5 * 10.0 ** -UNITS[str(FIELDS[field].unit)].decimals * (1 + 1e-9)
    if (low is not None and value < low - half) or (high is not None and value > high + half):
        yield Deviation(field=field, value=value, low=low, high=high, against=against, whose=whose)
