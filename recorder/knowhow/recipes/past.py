"""What past jobs on such a belt say: accepted, reworked and rejected side by side."""

from __future__ import annotations

import math
import re
import statistics
from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import datetime

from recorder.knowhow.recipes.answer import OnBelt, RecipeAnswer, Share, Spread, Tried
from recorder.knowhow.recipes.belts import contradicts, same
from recorder.knowhow.recipes.nearness import differs
from recorder.knowhow.recipes.wilson import share
from recorder.model.belt import BELT_FIELDS, SAME_MM, Belt, folded
from recorder.model.past import OUTCOMES, SETTINGS, PastRun, last_runs
from recorder.model.recipe import Recipe, Window

MEASURED = ("finger_gap", "splice_width", "edge_offset")


def answer(
    asked: Belt,
    exact: Sequence[PastRun],
    near: Sequence[tuple[Belt, Sequence[PastRun]]],
    recipes: Sequence[Recipe],
    windows: Sequence[Window],
) -> RecipeAnswer:
    """What is known for a belt. exact: runs on just such a belt. near: the belts most like it, the
    nearest first, with theirs. recipes: the newest version of each that the firm keeps. windows:
    all that it entered.

    Without a material there is nothing to say: what holds one belt together burns another.
    """
    if asked.belt_material is None:
        return RecipeAnswer(asked=asked)
    on_nearest = (_on(belt, runs, differs(asked, belt)) for belt, runs in near)
    return RecipeAnswer(
        asked=asked,
        exact=_on(asked, exact),
        nearest=tuple(each for each in on_nearest if each),
        named=named_for(asked, recipes),
        windows=tuple(window for window in windows if fits(window, asked)),
        unsettled=sum(run.outcome is None for run in exact),
    )


def named_for(asked: Belt, recipes: Iterable[Recipe]) -> tuple[Recipe, ...]:
    """Those in use that are for just such a belt, then those that say less of it and nothing else;
    of both the newest first.
    """
    fitting = [
        recipe
        for recipe in recipes
        if not recipe.retired
        and recipe.belt.belt_material is not None
        and (same(asked, recipe.belt) or not contradicts(asked, recipe.belt))
    ]
    newest = sorted(fitting, key=lambda recipe: recipe.kept_at, reverse=True)
    return tuple(sorted(newest, key=lambda recipe: not same(asked, recipe.belt)))


def fits(window: Window, belt: Belt) -> bool:
    """Whether the belt is of the kind; an unknown thickness is of none that names one."""
    wanted = _words(window.belt_material)
    if not wanted or not wanted <= _words(belt.belt_material or ""):
        return False
    if window.thickness is None:
        return True
    thickness, (low, high) = belt.belt_thickness, window.thickness
    return thickness is not None and low - SAME_MM < thickness < high + SAME_MM


def _words(material: str) -> set[str]:
    """Whole ones, so that what is given for PE is not taken for TPEE."""
    return set(re.findall(r"[^\W_]+", material.casefold()))


def spread(field: str, values: Sequence[float], below: int = 0) -> Spread | None:
    """None without values. below: how many of them are upper bounds."""
    if not values:
        return None
    return Spread(
        field=field,
        count=len(values),
        usual=statistics.median_low(values),
        low=min(values),
        high=max(values),
        spread=_deviation(values) if len(values) > 1 and not below else None,
        below=below,
    )


def _deviation(values: Sequence[float]) -> float:
    """Of a sample, with correctly rounded sums; ``statistics.stdev`` is ten times as slow."""
    apart = [value - values[0] for value in values]  # so that equal values have none at all
    mean = math.fsum(apart) / len(apart)
    return math.sqrt(math.fsum((each - mean) ** 2 for each in apart) / (len(apart) - 1))


def settings_of(run: PastRun) -> dict[str, float]:
    """Those that are known, by field, in the order of the catalogue."""
    return {f: value for f in SETTINGS if (value := getattr(run, f)) is not None}


def _on(belt: Belt, runs: Sequence[PastRun], other: tuple[str, ...] = ()) -> OnBelt | None:
    """None where nobody settled what came of any of them."""
    by_outcome = {o: [run for run in runs if run.outcome == o] for o in OUTCOMES}
    tried = tuple(_tried(outcome, of) for outcome, of in by_outcome.items() if of)
    if not tried:
        return None
    return OnBelt(
        belt=belt, differs=other, pooled=_pooled(belt, runs), share=_share(runs), tried=tried
    )


def _pooled(belt: Belt, runs: Sequence[PastRun]) -> tuple[str, ...]:
    """Of one pooled field the settings may differ for a good reason, which a range would hide."""
    settled = [run for run in runs if run.outcome is not None]
    return tuple(
        field
        for field in BELT_FIELDS
        if getattr(belt, field) is None
        and len({value for run in settled if (value := getattr(run, field)) is not None}) > 1
    )


def _share(runs: Sequence[PastRun]) -> Share:
    settled = [run.outcome for run in last_runs(runs) if run.outcome is not None]
    return share(settled.count("accepted"), len(settled))


def _tried(outcome: str, runs: Sequence[PastRun]) -> Tried:
    """runs: at least one."""
    newest = max(runs, key=_age)
    return Tried(
        outcome=outcome,
        jobs=len({run.job for run in runs}),
        runs=len(runs),
        settings=_spreads(SETTINGS, runs),
        measured=_spreads(MEASURED, runs),
        last_job=newest.job,
        last_at=newest.at,
        last=settings_of(newest),
        presses=_presses(runs),
    )


def _spreads(fields: Sequence[str], runs: Sequence[PastRun]) -> tuple[Spread, ...]:
    found = []
    for field in fields:
        values = [value for run in runs if (value := getattr(run, field)) is not None]
        below = sum(run.gap_below for run in runs) if field == "finger_gap" else 0
        found.append(spread(field, values, below))
    return tuple(each for each in found if each)


def _presses(runs: Sequence[PastRun]) -> tuple[tuple[str, int], ...]:
    """As they were written last."""
    counts: Counter[str] = Counter()
    spelt = Counter(run.press for run in runs if run.press)
    for press, count in spelt.items():
        counts[folded(press)] += count
    written = {folded(press): press for press in spelt}
    if len(written) < len(spelt):
        written = {folded(run.press): run.press for run in sorted(runs, key=_age) if run.press}
    return tuple((written[name], count) for name, count in counts.most_common())


def _age(run: PastRun) -> tuple[datetime, str, int, int]:
    return run.at, run.job, run.splice, run.run
