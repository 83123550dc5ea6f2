"""What a person names on the command line: a belt, and a side of a comparison."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.archive.finding.lookup import find_job
from recorder.archive.firm import recipes as store
from recorder.archive.index.runs import runs_in
from recorder.errors import BadValue, FileMissing, UnknownJob, UnknownRecipe, WrongUse
from recorder.flows import jobcard
from recorder.flows.knowhow.recipes import near_recipes, versions
from recorder.knowhow.recipes.keeping import Side
from recorder.model import splices
from recorder.model.belt import BELT_FIELDS, Belt
from recorder.model.job import Job, in_force, last_run, last_splice
from recorder.model.plural import counted
from recorder.model.reading import Typed
from recorder.model.recipe import Recipe
from recorder.notes.typed import typed_reading


@dataclass(frozen=True)
class Asked:
    """belt: that is meant. job: that tells of it, a job card as one that was not begun; None where
    the belt was written out. splice, run: of the job.
    """

    belt: Belt
    job: Job | None = None
    splice: int = 1
    run: int = 1

    @property
    def open_job(self) -> str | None:
        """Id of the job as long as it does not say itself how this splice came out."""
        if self.job is None or "outcome" in in_force(self.job.readings, self.splice, self.run):
            return None
        return self.job.id


def asked(home: Home, words: Sequence[str], splice: int | None = None) -> Asked:
    """From a job, the path of a job.toml, or FIELD=VALUE with units; several of these correct what
    a job says. splice: of the job, the last one when None.

    Raises UnknownJob, FileMissing, BadJobCard, UnknownField, UnknownUnit, BadValue, WrongUse.
    """
    named = [word for word in words if "=" not in word]
    if len(named) > 1:
        raise WrongUse(detail="name one job or job.toml, or FIELD=VALUE", command="recipe find")
    typed = _typed([word for word in words if "=" in word])
    if not named:
        return Asked(belt=Belt.model_validate(typed))
    job = _job(home, named[0])
    last = max((last_splice(job.readings), *splices.numbers(job)))
    of = splice or last_splice(job.readings)
    if of > last:
        hint = f"it tells of {counted(last, 'splice')}"
        raise BadValue(value=of, field="a splice of this job", hint=hint)
    run = last_run(job.readings, of)
    belt = Belt.of(in_force(job.readings, of, run))
    return Asked(Belt.model_validate(belt.told() | typed), job, of, run)


def _job(home: Home, wanted: str) -> Job:
    path = Path(wanted)
    if path.suffix.lower() != ".toml":
        return find_job(home, wanted).load()
    if not path.is_file():
        raise FileMissing(path=path)
    card = jobcard.read(path)
    return Job(id="", created_at=datetime.now(UTC), version="", readings=card.readings)


def _typed(words: Sequence[str]) -> dict[str, bool | float | str]:
    told: dict[str, bool | float | str] = {}
    for word in words:
        name, _, value = word.partition("=")
        field = name.strip().lower().replace("-", "_").replace(" ", "_")
        if field not in BELT_FIELDS:
            raise BadValue(value=name, field="told of a belt", hint=f"use {', '.join(BELT_FIELDS)}")
        if field in told:
            raise BadValue(value=word, field="told twice", hint=f"give {field} once")
        told[field] = typed_reading(field, value, Typed()).value
    return told


def side(home: Home, wanted: str) -> Side:
    """A recipe by its name, an older version of it as NAME:2, or what the last run of a job used.

    Raises UnknownRecipe, RecipeChanged, BadRecipe, and as ``find_job`` and loading it raise.
    """
    name, _, number = wanted.rpartition(":")
    if name and number.strip().isdecimal():
        return Side.of_recipe(_version(versions(home, name), wanted, int(number)))
    if found := _recipe(home, wanted):
        return Side.of_recipe(found[-1])
    try:
        job = find_job(home, wanted).load()
    except UnknownJob as error:
        if type(error) is not UnknownJob:
            raise
        near = near_recipes(home, wanted) or ", and no job of that number or id"
        raise UnknownRecipe(wanted=wanted, near=near) from error
    runs = runs_in(job)
    if not runs:
        detail = f"nothing is known of a press run of job {job.id}"
        raise WrongUse(detail=detail, command="recipe compare")
    return Side.of_run(runs[-1])


def _recipe(home: Home, name: str) -> store.Versions:
    try:
        return store.versions(home, name)
    except BadValue:
        return ()


def _version(every: store.Versions, wanted: str, number: int) -> Recipe:
    if not 1 <= number <= len(every):
        has = f", whose versions are 1 to {len(every)}" if len(every) > 1 else ", only version 1"
        raise UnknownRecipe(wanted=wanted, near=has)
    return every[number - 1]
