"""What was used on such a belt: the form for a belt, the answer, and all recipes of the firm."""

from __future__ import annotations

from starlette.datastructures import QueryParams
from starlette.requests import Request
from starlette.responses import Response

from recorder.archive.jobs.folders import job_ids
from recorder.errors import InputRefused, SeamnoteError, WrongUse
from recorder.flows.knowhow import recipes as flow
from recorder.flows.wanted_units import wanted_units
from recorder.model.base import Value
from recorder.model.belt import Belt
from recorder.model.job import Job, in_force
from recorder.web.house import House
from recorder.web.jobs.work import at_work, house_of
from recorder.web.knowhow import belts
from recorder.web.knowhow.amounts import Units
from recorder.web.knowhow.answers import Answer, Named, answer, named
from recorder.web.pages.errors import status_of, without_home, words_of
from recorder.web.pages.known import known_job
from recorder.web.pages.rendering import page

UNITS = ("degF", "psi", "inch", "min")
_MOST_UNITS = 8
_MOST_TRIED = 20  # of the last jobs, to find one that tells of its belt


class Recipes(Value):
    """Everything that the template may use. lines: the form for a belt. units: that values are
    shown in. of_job, of_title: the job whose belt is asked for, '' where one was typed. answer:
    None where nothing was asked, or complaint says why there is none. lacks: the belt that was
    asked for has no material. kept: recipes of the firm, those that are retired last. unread: why
    some recipes cannot be read.
    """

    lines: tuple[belts.Line, ...]
    units: tuple[str, ...]
    of_job: str = ""
    of_title: str = ""
    answer: Answer | None = None
    complaint: str = ""
    kept: tuple[Named, ...] = ()
    lacks: bool = False
    unread: tuple[str, ...] = ()


def show(request: Request) -> Response:
    """GET /recipes?belt_width=…, ?job=…; without either for the belt of the last job."""
    house, query = house_of(request), request.query_params
    status = 200
    try:
        with at_work(house):
            view = _view(house, query)
    except WrongUse as error:
        status, told = status_of(error), "; ".join(words_of(request, error))
        view = Recipes(lines=belts.lines(query), units=units_of(query), complaint=told)
    return page(request, "knowhow/recipes.html", status=status, recipes=view, all_units=UNITS)


def _view(house: House, query: QueryParams) -> Recipes:
    """Raises UnknownJob, BadValue, UnknownUnit."""
    chosen = units_of(query)
    units = wanted_units(chosen)
    view, belt = _asked(house, query)
    found = flow.look_up(house.home, belt, view.of_job or None, scanned=True)
    return view.model_copy(
        update={
            "units": chosen,
            "answer": answer(found, units) if belt.belt_material else None,
            "lacks": bool(belt.told()) and not belt.belt_material,
            **_firm(house, units),
        }
    )


def _firm(house: House, units: Units) -> dict[str, tuple[Named, ...] | tuple[str, ...]]:
    """All recipes, or what is wrong with one of them."""
    try:
        return {"kept": _kept(house, units)}
    except InputRefused as error:
        return {"unread": (without_home(str(error), str(house.home.root)),)}


def units_of(query: QueryParams) -> tuple[str, ...]:
    """Names of units that the address asks for."""
    wanted = (unit for unit in query.getlist("unit") if unit.strip())
    return tuple(dict.fromkeys(wanted))[:_MOST_UNITS]


def _asked(house: House, query: QueryParams) -> tuple[Recipes, Belt]:
    """The form, and the belt that it asks for. Raises UnknownJob, BadValue, UnknownUnit."""
    if belts.asked_for(query):
        return Recipes(lines=belts.lines(query), units=()), belts.belt_of(query)
    job = _named_job(house, query) if "job" in query else _last_job(house)
    if job is None:
        return Recipes(lines=belts.lines(query), units=()), Belt()
    belt = Belt.of(in_force(job.readings))
    view = Recipes(lines=belts.lines_of(belt), units=(), of_job=job.id, of_title=job.title())
    return view, belt


def _named_job(house: House, query: QueryParams) -> Job:
    return known_job(house.home, query["job"]).load()


def _last_job(house: House) -> Job | None:
    """The newest of the last jobs that tells what its belt is made of."""
    for job_id in job_ids(house.home)[: -_MOST_TRIED - 1 : -1]:
        try:
            job = known_job(house.home, job_id).load()
        except SeamnoteError:  # 'seamnote archive check' tells of it
            continue
        if Belt.of(in_force(job.readings)).belt_material:
            return job
    return None


def _kept(house: House, units: Units) -> tuple[Named, ...]:
    """Raises BadRecipe, RecipeChanged."""
    every = sorted(flow.recipes(house.home), key=lambda each: (each.retired, each.name.casefold()))
    return tuple(named(each, units) for each in every)
