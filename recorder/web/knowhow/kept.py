"""One recipe of the firm: its versions, two of them side by side, kept from a job, retired."""

from __future__ import annotations

from collections.abc import Iterable
from urllib.parse import quote

from pydantic import AwareDatetime
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from recorder.archive.firm.recipes import slug
from recorder.archive.jobs.folder import JobFolder
from recorder.errors import InputRefused, JobUnfinished, SeamnoteError, WrongUse
from recorder.flows.knowhow import recipes as flow
from recorder.flows.knowhow.recipe_asked import side
from recorder.knowhow.recipes.keeping import Comparison, compare
from recorder.model.base import Value
from recorder.model.fields import FIELDS
from recorder.model.reading import show_value
from recorder.model.recipe import Recipe, Setting
from recorder.web.house import House
from recorder.web.jobs.review import shown as shown_job
from recorder.web.jobs.work import at_work, folder_of, form_of, go, house_of, number_in, text_in
from recorder.web.knowhow.amounts import amount, span
from recorder.web.pages.errors import status_of, words_of
from recorder.web.pages.rendering import page

MOST_JOBS = 20  # of a version that are named
_LONGEST = 200


class Version(Value):
    """settings: label, value and range, '' where there is none. jobs: ids, the newest first;
    more: how many others there are.
    """

    number: int
    belt: str
    press: str
    kept_at: AwareDatetime
    kept_by: str
    reason: str
    retired: bool
    settings: tuple[tuple[str, str, str], ...]
    jobs: tuple[str, ...]
    more: int


class Compared(Value):
    """rows: label, both values, and whether they are the same. belt: fields that differ, with both
    values.
    """

    one: str
    other: str
    rows: tuple[tuple[str, str, str, bool], ...]
    belt: tuple[tuple[str, str, str], ...]


class Kept(Value):
    """Everything that the template may use. versions: the newest first. others: what it can be
    compared with, as value and label.
    """

    name: str
    address: str
    prepare: str
    versions: tuple[Version, ...]
    others: tuple[tuple[str, str], ...]
    chosen: str = ""
    compared: Compared | None = None
    complaint: str = ""
    reason: str = ""


def show(request: Request) -> Response:
    """GET /recipes/{name}?with=…: another recipe, a version as NAME:2, or a job"""
    return _shown(request)


async def retire(request: Request) -> Response:
    """POST /recipes/{name}/retire: reason"""
    reason = text_in(await form_of(request), "reason")
    return await run_in_threadpool(_retire, request, reason)


async def keep(request: Request) -> Response:
    """POST /jobs/{id}/recipe: name, splice, reason"""
    form = await form_of(request)
    name, reason = text_in(form, "recipe"), text_in(form, "reason")
    return await run_in_threadpool(_keep, request, name, number_in(form, "splice", 1), reason)


def _retire(request: Request, reason: str) -> Response:
    house, name = house_of(request), request.path_params["name"]
    flow.versions(house.home, name)  # who has no such recipe is told that first
    try:
        with at_work(house):
            flow.retire(house.home, name, reason=reason)
    except WrongUse as error:
        return _shown(request, error, reason)
    return go(request, _address(name))


def _keep(request: Request, name: str, splice: int, reason: str) -> Response:
    house, folder = house_of(request), folder_of(request)
    try:
        with at_work(house):
            job = folder.load()
            if not job.complete:
                raise JobUnfinished(job=job.id)
            recipe = flow.keep(house.home, job, splice, name, reason=reason)
    except (WrongUse, InputRefused) as error:
        return _not_kept(request, folder, error, name)
    return go(request, _address(recipe.name))


def _not_kept(request: Request, folder: JobFolder, error: SeamnoteError, name: str) -> Response:
    return shown_job(request, folder, "; ".join(words_of(request, error)), "recipe", name)


def _shown(request: Request, error: SeamnoteError | None = None, reason: str = "") -> Response:
    house, wanted = house_of(request), request.query_params.get("with", "")[:_LONGEST].strip()
    view = _view(house, request.path_params["name"])
    if wanted:
        try:
            compared = _compared(compare(side(house.home, view.name), side(house.home, wanted)))
            view = view.model_copy(update={"compared": compared, "chosen": wanted})
        except (WrongUse, InputRefused) as failure:
            error = failure
    if error:
        told = "; ".join(words_of(request, error))
        view = view.model_copy(update={"complaint": told, "reason": reason})
    status = status_of(error) if error else 200
    return page(request, "knowhow/recipe.html", status=status, recipe=view)


def _view(house: House, name: str) -> Kept:
    """Raises BadValue, UnknownRecipe, BadRecipe, RecipeChanged."""
    every = flow.versions(house.home, name)
    own, newest = every[-1].name, every[-1]
    others = [(f"{own}:{each.version}", f"version {each.version}") for each in every[-2::-1]]
    others += [(each.name, each.name) for each in flow.recipes(house.home) if each.name != own]
    others += [(job, f"job {job}") for job in newest.jobs[:MOST_JOBS]]
    return Kept(
        name=own,
        address=_address(own),
        prepare=f"/prepare?from_recipe={quote(own)}",
        versions=tuple(_version(each) for each in reversed(every)),
        others=tuple(others),
    )


def _version(recipe: Recipe) -> Version:
    return Version(
        number=recipe.version,
        belt=recipe.belt.shown(),
        press=recipe.press or "",
        kept_at=recipe.kept_at,
        kept_by=recipe.kept_by,
        reason=recipe.reason,
        retired=recipe.retired,
        settings=tuple(_settings(recipe.settings)),
        jobs=recipe.jobs[:MOST_JOBS],
        more=max(0, len(recipe.jobs) - MOST_JOBS),
    )


def _settings(settings: Iterable[Setting]) -> Iterable[tuple[str, str, str]]:
    for each in settings:
        wide = each.high > each.low
        yield (
            FIELDS[each.field].label,
            amount(each.field, each.value, {}),
            span(each.field, each.low, each.high, {}) if wide else "",
        )


def _compared(found: Comparison) -> Compared:
    one, other = found.one.belt.told(), found.other.belt.told()
    return Compared(
        one=found.one.title,
        other=found.other.title,
        rows=tuple(
            (FIELDS[row.field].label, _side(row.one), _side(row.other), row.same)
            for row in found.rows
        ),
        belt=tuple(
            (FIELDS[name].label, _told(name, one.get(name)), _told(name, other.get(name)))
            for name in found.belt
        ),
    )


def _side(setting: Setting | None) -> str:
    if setting is None:
        return "not told"
    ((_, value, wide),) = _settings([setting])
    return f"{value} ({wide})" if wide else value


def _told(field: str, value: str | float | None) -> str:
    return "not told" if value is None else show_value(field, value)


def _address(name: str) -> str:
    return f"/recipes/{quote(slug(name))}"
