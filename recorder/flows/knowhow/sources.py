"""Where the values of a job card come from: a past job, a recipe, a conveyor, spoken words."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.archive.finding.lookup import find_job
from recorder.archive.index.runs import runs_in
from recorder.flows import extract
from recorder.flows.knowhow.drafting import CARRIED, ON_CARD, Draft, Filled, Origin, Source
from recorder.flows.knowhow.filling import card_field, fill, remark, role_of, taken
from recorder.flows.progress import Progress
from recorder.model.fields import FIELDS
from recorder.model.inventory import Conveyor
from recorder.model.job import Job, in_force, last_run, last_splice
from recorder.model.past import SETTINGS
from recorder.model.reading import Reading, Role, Standing, Typed
from recorder.model.recipe import Recipe
from recorder.notes.extract import Extraction
from recorder.notes.written import from_text
from recorder.settings import Settings

_NOT_KEPT = (Standing.DOUBTFUL, Standing.WITHDRAWN)


def said_in_file(path: Path, settings: Settings, progress: Progress) -> Source:
    """A description of the job in a recording or a text file. Raises as ``extract.from_file``."""
    found = extract.from_file(path, settings, None, progress)
    return Source(kind=Origin.SAID, name=path.name, readings=found.readings)


def said(text: str, settings: Settings) -> Source:
    """A description of the job in words."""
    found: Extraction = extract.understand(from_text(text, ""), settings, None)
    return Source(kind=Origin.SAID, readings=found.readings)


def from_words(draft: Draft, source: Source) -> Draft:
    """What was said clearly. What is in doubt becomes a question; what no card holds is told."""
    held = in_force(source.readings)
    # A setting told beforehand is asked for, whether or not the words say so.
    asked = in_force(source.readings, role=Role.ASKED)
    left = [name for name in held if name not in ON_CARD and name not in SETTINGS]
    for name, reading in {**held, **asked}.items():
        if name in left or (reading.role is not Role.USED and name not in SETTINGS):
            continue
        if reading.standing is not Standing.DOUBTFUL:
            draft = fill(draft, [taken(reading, Origin.SAID, source.name)])
        elif draft.filled(name) is None:
            doubt = reading.model_copy(update={"role": role_of(name), "splice": 1, "run": 1})
            draft = draft.model_copy(update={"doubts": (*draft.doubts, doubt)})
    if left:
        told = ", ".join(left)
        draft = remark(draft, f"{told}: said, and on no card, since it is found during the job")
    return draft


def from_job(draft: Draft, home: Home, name: str) -> Draft:
    """Belt, place and tools of a past job; its settings only where its splice was accepted.

    Raises UnknownJob, AmbiguousJob, BadJobFolder.
    """
    job = find_job(home, name).load()
    number = in_force(job.readings).get("job_number")
    called = str(number.value) if number else job.id
    splice = accepted_splice(job)
    known = in_force(job.readings, splice or last_splice(job.readings))
    settled = [
        taken(known[each], Origin.JOB, called)
        for each in CARRIED
        if each in known and known[each].standing not in _NOT_KEPT
    ]
    if splice is None:
        draft = fill(draft, settled)
        return remark(draft, f"job {called} has no accepted splice; its settings are not taken")
    used = in_force(job.readings, splice, last_run(job.readings, splice))
    settings = [
        taken(used[each], Origin.JOB, called)
        for each in SETTINGS
        if each in used and used[each].standing not in _NOT_KEPT
    ]
    return fill(draft, (*settled, *settings))


def accepted_splice(job: Job) -> int | None:
    """The last splice that is known to be accepted as it was pressed last; none of a job that was
    interrupted, of which more may be told.
    """
    outcomes = {run.splice: run.outcome for run in runs_in(job)}
    accepted = (splice for splice, outcome in outcomes.items() if outcome == "accepted")
    return max(accepted, default=None)


def from_recipe(draft: Draft, recipe: Recipe) -> Draft:
    told: dict[str, float | str] = dict(recipe.belt.told())
    if recipe.press:
        told["press"] = recipe.press
    told |= {each.field: each.value for each in recipe.settings}
    return fill(draft, _written(told, Origin.RECIPE, f"{recipe.name}, version {recipe.version}"))


def from_conveyor(draft: Draft, conveyor: Conveyor) -> Draft:
    """What the firm's list says of it; its drive is read by ``preparing``."""
    told: dict[str, float | str] = {
        "customer": conveyor.customer,
        "site": conveyor.site,
        "conveyor": conveyor.name,
        **conveyor.belt.told(),
        "press": conveyor.press,
        "template": conveyor.template,
    }
    return fill(draft, _written(told, Origin.CONVEYOR, conveyor.name))


def _written(told: dict[str, float | str], origin: Origin, name: str) -> Iterator[Filled]:
    """Values in canonical units as such of a card; empty words say nothing."""
    for field, value in told.items():
        if value == "":
            continue
        reading = Reading(
            field=card_field(field).name,
            value=value,
            unit=FIELDS[field].unit,
            standing=Standing.CONFIRMED,
            role=role_of(field),
            evidence=Typed(),
        )
        yield taken(reading, origin, name)
