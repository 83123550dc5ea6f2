"""What past jobs on a belt say, and the recipes that the firm keeps of them.

::

    belt ─► index: runs on just such a belt, else on the nearest ─┐
            recipes that are kept ────────────────────────────────┼─► answer ─► deviations
            belt makers' windows ─────────────────────────────────┘
    job ──► its last run, and others on this belt and press ─► next version of a recipe
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.archive.finding.past import Past
from recorder.archive.finding.typos import near_names
from recorder.archive.firm import recipes as store
from recorder.archive.firm import windows as belt_makers
from recorder.archive.index.index import Index
from recorder.archive.index.runs import runs_in
from recorder.archive.jobs.acting import actor
from recorder.errors import BadValue, CannotKeep, UnknownRecipe
from recorder.flows.knowhow.recipe_file import recipes_in
from recorder.knowhow.recipes.answer import Deviation, RecipeAnswer
from recorder.knowhow.recipes.belts import same
from recorder.knowhow.recipes.deviating import confirmed, deviations, measures
from recorder.knowhow.recipes.keeping import kept, same_content
from recorder.knowhow.recipes.nearness import nearest
from recorder.knowhow.recipes.past import answer
from recorder.model.belt import BELT_FIELDS, Belt
from recorder.model.job import Job, in_force
from recorder.model.past import SETTINGS, PastRun
from recorder.model.reading import Role, Standing
from recorder.model.recipe import Recipe, Window

LONGEST_REASON = 200
_NEAREST = 3
_CANDIDATES = 6  # of which some were never settled


def look_up(home: Home, belt: Belt, but: str | None = None, scanned: bool = False) -> RecipeAnswer:
    """What was used on such a belt; on the nearest ones where nothing was. but: id of a job that
    does not count. scanned: job folders are looked through for what others changed.

    Of a belt without a material there is no answer. Raises BadFirmFile for the windows, and what
    opening the index raises.
    """
    if belt.belt_material is None:
        return answer(belt, (), (), (), ())
    with Index.open(home, scanned=scanned) as index:
        past = Past(index)
        exact = past.runs_on(belt, but)
        near = [] if any(run.outcome for run in exact) else _near(past, belt, but)
    every, faults = store.all_kept(home)
    found = answer(belt, exact, near, [each[-1] for each in every], belt_makers.windows(home))
    return found.model_copy(update={"unread": tuple(str(fault) for fault in faults)})


def _near(past: Past, belt: Belt, but: str | None) -> list[tuple[Belt, list[PastRun]]]:
    """The nearest belts with a run that was settled."""
    known = [each for each in past.belts(belt, but=but) if not same(belt, each[0])]
    found: list[tuple[Belt, list[PastRun]]] = []
    for other in nearest(belt, known, _CANDIDATES):
        runs = past.runs_on(other, but)
        for name in BELT_FIELDS:  # some may be on belts that more is told of
            if getattr(other, name) is None:
                runs = [run for run in runs if getattr(run, name) is None]
        if any(run.outcome for run in runs):
            found.append((other, runs))
        if len(found) == _NEAREST:
            break
    return found


@dataclass(frozen=True)
class Checked:
    """deviations: to be asked about. meant: those that were confirmed on the job card. against:
    what the settings were held against, in words.
    """

    deviations: tuple[Deviation, ...] = ()
    meant: tuple[Deviation, ...] = ()
    against: tuple[str, ...] = ()


def check(home: Home, job: Job, splice: int, run: int) -> Checked:
    """What the job asks for, or was told where it was, against what holds.

    Raises RecipeChanged, BadRecipe, and as ``look_up``.
    """
    told = in_force(job.readings, splice, run)
    belt = Belt.of(told)
    press = told.get("press")
    settings = settings_of(job, splice, run)
    if not settings or belt.belt_material is None:
        return Checked()
    for fault in store.all_kept(home)[1]:
        raise fault
    here = str(press.value) if press and press.standing is not Standing.DOUBTFUL else None
    found = look_up(home, belt, job.id)
    differing = deviations(settings, found, here)
    said = in_force(job.readings, splice, run, Role.MEANT)
    return Checked(
        deviations=tuple(each for each in differing if not confirmed(each, said)),
        meant=tuple(each for each in differing if confirmed(each, said)),
        against=measures(settings, found, here),
    )


def settings_of(job: Job, splice: int, run: int) -> dict[str, float]:
    """Of one press run, by field: what was told and settled, else what is asked for."""
    known = {
        name: reading
        for role in (Role.ASKED, Role.USED)
        for name, reading in in_force(job.readings, splice, run, role).items()
        if reading.standing is not Standing.DOUBTFUL
    }
    return {name: float(known[name].value) for name in SETTINGS if name in known}


def recipes(home: Home) -> tuple[Recipe, ...]:
    """The newest version of each by name, retired ones too. Raises RecipeChanged, BadRecipe."""
    every, faults = store.all_kept(home)
    for fault in faults:
        raise fault
    return tuple(each[-1] for each in every)


def versions(home: Home, name: str) -> tuple[Recipe, ...]:
    """All of one, the oldest first. Raises UnknownRecipe, RecipeChanged, BadRecipe."""
    found = store.versions(home, name)
    if not found:
        raise UnknownRecipe(wanted=name, near=near_recipes(home, name))
    return found


def keep(home: Home, job: Job, splice: int, name: str, by: str = "", reason: str = "") -> Recipe:
    """Keep the settings of the last run of a splice, which was accepted, as a recipe or as the
    next version of it. What is kept already makes no new version.

    The job may still go on. Raises BadValue for the name or the reason, CannotKeep, RecipeChanged,
    BadRecipe, and what opening the index raises.
    """
    store.slug(name)
    reason = _line(reason) if reason else ""
    own = runs_in(_as_complete(job))
    last = next((run for run in reversed(own) if run.splice == splice), None)
    with Index.open(home, scanned=False) as index:
        others = Past(index).runs_on(last.belt, but=job.id) if last else []
    recipe = kept(
        [*own, *others], job.id, splice, name, datetime.now(UTC), by or actor().person, reason
    )
    with store.writing(home) as add:
        before = store.versions(home, name)
        if before and _is_for_another_belt(before[-1], recipe):
            belt = before[-1].belt.shown()
            detail = f"the recipe {before[0].name!r} is for another belt, {belt}"
            raise CannotKeep(job=job.id, detail=detail, mend="choose another name")
        if before and same_content(before[-1], recipe):
            return before[-1]
        return add(recipe)


def retire(home: Home, name: str, reason: str) -> Recipe:
    """Take a recipe out of use; what it was stays. Raises UnknownRecipe, BadValue for a missing
    reason, RecipeChanged, BadRecipe.
    """
    line = _line(reason)
    with store.writing(home) as add:
        last = versions(home, name)[-1]
        if last.retired:
            return last
        changes = {
            "retired": True, "reason": line, "kept_at": datetime.now(UTC),
            "kept_by": actor().person,
        }  # fmt: skip
        return add(last.model_copy(update=changes))


def take(home: Home, path: Path, by: str = "") -> tuple[tuple[Recipe, bool], ...]:
    """Take the recipes that a firm wrote into a file, each as a recipe or as its next version;
    with each whether it was new. All are taken or none.

    Raises FileMissing, BadFirmFile that names the entry, RecipeChanged, BadRecipe.
    """
    written = recipes_in(path, datetime.now(UTC), by or actor().person)
    with store.writing(home) as add:
        before = {entry.named(): store.versions(home, recipe.name) for entry, recipe in written}
        for entry, recipe in written:
            last = before[entry.named()][-1:]
            if last and _is_for_another_belt(last[0], recipe):
                raise entry.refused(
                    f"a recipe of this name is kept for another belt, {last[0].belt.shown()}"
                )
        taken = []
        for entry, recipe in written:
            last = before[entry.named()][-1:]
            new = not (last and same_content(last[0], recipe))
            taken.append((add(recipe) if new else last[0], new))
    return tuple(taken)


def windows(home: Home) -> tuple[Window, ...]:
    """What belt makers give, as the firm entered it. Raises BadFirmFile."""
    return belt_makers.windows(home)


def take_windows(home: Home, path: Path) -> tuple[Window, ...]:
    """Take a file in place of the one before. Raises FileMissing, BadFirmFile."""
    return belt_makers.take(home, path)


def _as_complete(job: Job) -> Job:
    """A session that goes on has said already how this splice came out."""
    return job.model_copy(update={"complete": True})


def _is_for_another_belt(before: Recipe, recipe: Recipe) -> bool:
    return not (same(before.belt, recipe.belt) and same(recipe.belt, before.belt))


def near_recipes(home: Home, name: str) -> str:
    """What an error says behind an unknown name: ", but 'Oven 70'"; empty where none is near."""
    every = [each[-1].name for each in store.all_kept(home)[0]]
    near = near_names(name, [(each, each.lower()) for each in every])
    return f", but {' and '.join(map(repr, near))}" if near else ""


def _line(reason: str) -> str:
    line = " ".join(reason.split())
    if not line or len(line) > LONGEST_REASON or not line.isprintable():
        hint = f"say in up to {LONGEST_REASON} characters why"
        raise BadValue(value=reason[:40], field="the reason", hint=hint)
    return line
