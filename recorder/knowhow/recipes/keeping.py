"""A recipe made of what was used, and two of them side by side."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from recorder.errors import CannotKeep
from recorder.knowhow.recipes.belts import alike, just
from recorder.knowhow.recipes.past import settings_of
from recorder.model.base import Value
from recorder.model.belt import BELT_FIELDS, Belt, folded
from recorder.model.past import SETTINGS, PastRun
from recorder.model.recipe import Recipe, Setting

_ANOTHER = "keep it after a splice that was accepted"


class Side(Value):
    """One of two that are compared. title: for people. belt, press, settings: as of a recipe."""

    title: str
    belt: Belt
    press: str | None = None
    settings: tuple[Setting, ...] = ()

    @classmethod
    def of_recipe(cls, recipe: Recipe) -> Side:
        retired = ", retired" if recipe.retired else ""
        return cls(
            title=f"{recipe.name}, version {recipe.version}{retired}",
            belt=recipe.belt, press=recipe.press, settings=recipe.settings,
        )  # fmt: skip

    @classmethod
    def of_run(cls, run: PastRun) -> Side:
        title = f"job {run.job_number or run.job}, splice {run.splice}"
        return cls(title=title, belt=run.belt, press=run.press, settings=_as_used(run))


class Row(Value):
    """One setting on both sides; None where that side does not have it. same: both have it, with
    one value and one range.
    """

    field: str
    one: Setting | None
    other: Setting | None
    same: bool


class Comparison(Value):
    """belt: names of the fields of the belt that differ."""

    one: Side
    other: Side
    belt: tuple[str, ...] = ()
    rows: tuple[Row, ...] = ()


def kept(
    runs: Sequence[PastRun],
    job: str,
    splice: int,
    name: str,
    now: datetime,
    by: str = "",
    reason: str = "",
) -> Recipe:
    """The first version of a recipe from the last run of a splice, which must have been accepted.

    runs: of that job, and others on the same belt. Each setting has the value that this run used;
    its range is that of the accepted runs on the same belt and press. Raises CannotKeep.
    """
    own = max(
        (r for r in runs if r.job == job and r.splice == splice), key=lambda r: r.run, default=None
    )
    if own is None:
        raise CannotKeep(
            job=job, detail=f"nothing is known of a press run of splice {splice}", mend=_ANOTHER
        )
    _check_fit(own)
    alike_runs = [own, *(r for r in runs if r != own and _on_same(own, r))]
    newest = sorted(alike_runs, key=lambda r: (r.at.timestamp(), r.job), reverse=True)
    return Recipe(
        name=name,
        belt=own.belt,
        settings=tuple(_ranged(each, alike_runs) for each in _as_used(own)),
        kept_at=now,
        kept_by=by,
        jobs=tuple(dict.fromkeys((own.job, *(r.job for r in newest)))),
        press=own.press,
        reason=reason,
    )


def compare(one: Side, other: Side) -> Comparison:
    """Setting by setting, in the order of the catalogue."""
    first = {each.field: each for each in one.settings}
    second = {each.field: each for each in other.settings}
    return Comparison(
        one=one,
        other=other,
        belt=tuple(
            name
            for name in BELT_FIELDS
            if not alike(getattr(one.belt, name), getattr(other.belt, name))
        ),
        rows=tuple(
            Row(
                field=field, one=first.get(field), other=second.get(field),
                same=field in first and first[field] == second.get(field),
            )
            for field in SETTINGS
            if field in first or field in second
        ),
    )  # fmt: skip


def same_content(one: Recipe, other: Recipe) -> bool:
    """Whether a newer version would say nothing that the older one does not."""
    return (one.belt, one.settings, one.press, one.jobs, one.retired) == (
        other.belt, other.settings, other.press, other.jobs, other.retired,
    )  # fmt: skip


def _check_fit(own: PastRun) -> None:
    where = f"splice {own.splice}"
    if own.outcome is None:
        raise CannotKeep(
            job=own.job, detail=f"what came of {where} is not settled",
            mend="say or confirm its outcome first",
        )  # fmt: skip
    if own.outcome != "accepted":
        detail = f"{where} came out as {own.outcome}"
        raise CannotKeep(job=own.job, detail=detail, mend=_ANOTHER)
    if own.belt_material is None:
        raise CannotKeep(
            job=own.job, detail="the material of its belt is not settled",
            mend="enter or confirm belt_material first",
        )  # fmt: skip
    if not settings_of(own):
        raise CannotKeep(
            job=own.job, detail=f"no setting of {where} is settled",
            mend="enter or confirm its settings first",
        )  # fmt: skip


def _on_same(own: PastRun, run: PastRun) -> bool:
    """Accepted, on the same belt in all that is told of both and on the same press; without the
    name of a press no other run is known to be on it.
    """
    return (
        run.outcome == "accepted"
        and own.press is not None
        and run.press is not None
        and folded(run.press) == folded(own.press)
        and just(run, own.belt)
    )


def _as_used(run: PastRun) -> tuple[Setting, ...]:
    return tuple(
        Setting(field=field, value=value, low=value, high=value)
        for field, value in settings_of(run).items()
    )


def _ranged(setting: Setting, runs: Sequence[PastRun]) -> Setting:
    values = [v for run in runs if (v := getattr(run, setting.field)) is not None]
    return setting.model_copy(update={"low": min(values), "high": max(values)})
