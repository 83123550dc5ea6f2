"""Settings that are not what the firm keeps, its accepted jobs had, or the belt maker gives."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from recorder.knowhow.recipes.answer import Deviation, RecipeAnswer, Spread
from recorder.knowhow.recipes.belts import same
from recorder.model.belt import folded
from recorder.model.fields import FIELDS
from recorder.model.past import SETTINGS
from recorder.model.plural import counted
from recorder.model.reading import Reading, show_value
from recorder.model.recipe import Recipe, Window
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


def measures(
    settings: Mapping[str, float], answer: RecipeAnswer, press: str | None = None
) -> tuple[str, ...]:
    """What ``deviations`` holds these settings against, in words; empty when there is nothing."""
    recipe = counting(answer, press)
    kept = {each.field for each in recipe.settings} if recipe else set()
    past = [s.count for s in _enough(answer) if s.field in settings.keys() - kept]
    return (
        *([named(recipe)] if recipe and kept & settings.keys() else []),
        *([_runs(max(past))] if past else []),
        *(
            _of_maker(window)
            for window in answer.windows
            if any(bound.field in settings for bound in window.bounds)
        ),
    )


def confirmed(found: Deviation, meant: Mapping[str, Reading]) -> bool:
    """Whether a person said beforehand that just this value is meant. meant: readings of that role
    in force, by field.
    """
    told = meant.get(found.field)
    shown = show_value(found.field, found.value)
    return told is not None and show_value(found.field, told.value) == shown


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
    past = next((each for each in _enough(answer) if each.field == field), None)
    if past:
        yield from _outside(field, value, past.low, past.high, "past", _runs(past.count))


def _enough(answer: RecipeAnswer) -> tuple[Spread, ...]:
    """Settings of accepted runs that are enough for a range."""
    tried = answer.exact.tried if answer.exact else ()
    accepted = next((each for each in tried if each.outcome == "accepted"), None)
    return tuple(s for s in accepted.settings if s.count >= ENOUGH) if accepted else ()


def _runs(count: int) -> str:
    return f"{counted(count, 'accepted run')} on such a belt"


def _from_windows(field: str, value: float, answer: RecipeAnswer) -> Iterator[Deviation]:
    for window in answer.windows:
        for bound in window.bounds:
            if bound.field == field:
                yield from _outside(
                    field, value, bound.low, bound.high, "window", _of_maker(window)
                )


def _of_maker(window: Window) -> str:
    return f"the belt maker's window {window.name} ({window.source})"


def _outside(
    field: str, value: float, low: float | None, high: float | None, against: str, whose: str
) -> Iterator[Deviation]:
    half = 0.5 * 10.0 ** -UNITS[str(FIELDS[field].unit)].decimals * (1 + 1e-9)
    if (low is not None and value < low - half) or (high is not None and value > high + half):
        yield Deviation(field=field, value=value, low=low, high=high, against=against, whose=whose)
