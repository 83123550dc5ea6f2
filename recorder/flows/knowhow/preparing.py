"""A job card in half a minute: from a past job, a recipe, a conveyor, spoken words, typed values.

::

    typed ──► job, recipe, conveyor, words ──► draft ──► past jobs, inventory, trends say to it
                                                 ▲                    │
                                    answers ─────┴──── questions ◄────┘
    draft ──► job.toml and job_card.pdf, for 'seamnote process' and for a live session

What was typed counts before all else; of the other sources the first one that says something, and
the later ones fill what is missing. Settings come from accepted splices, kept recipes and people:
nothing else proposes any.
"""

from __future__ import annotations

import contextlib
from collections.abc import Collection, Mapping, Sequence
from datetime import date, datetime
from pathlib import Path

from recorder.archive.disk import atomic
from recorder.archive.disk.home import Home, cause
from recorder.archive.jobs.folder import JobFolder
from recorder.errors import BadJobFolder, BadValue, OutputExists, OutputUnwritable
from recorder.flows import jobcard
from recorder.flows.knowhow import card_page, card_text, firm, recipes, sources, trends
from recorder.flows.knowhow import length as lengths
from recorder.flows.knowhow.drafting import Draft, Held, Known, Origin, Source
from recorder.flows.knowhow.filling import typed, with_answer
from recorder.knowhow.preparing.proposal import Check
from recorder.knowhow.preparing.suiting import unsuited
from recorder.knowhow.recipes.answer import RecipeAnswer
from recorder.knowhow.recipes.deviating import counting, deviations, named
from recorder.model.base import Value
from recorder.model.belt import folded
from recorder.model.job import in_force
from recorder.model.length import Drive
from recorder.model.recipe import Recipe
from recorder.settings import Settings

NOTHING: Mapping[str, str] = {}


class Written(Value):
    """card: job.toml, for the program. page: the PDF, for a person."""

    card: Path
    page: Path


def begin(
    home: Home,
    settings: Settings,
    taken_from: Sequence[Source],
    values: Mapping[str, str] = NOTHING,
    length: Mapping[str, str] = NOTHING,
    meant: Collection[str] = (),
    today: date | None = None,
) -> Draft:
    """A draft from its sources, with what past jobs say to it.

    values: typed, by field. length: amounts by the keys of ``length.AMOUNTS``, with the drive of
    the conveyor where there is one. meant: settings that deviate, and that a person said yes to.
    Raises UnknownJob, UnknownRecipe, UnknownName, UnknownField, BadValue, UnknownUnit, WrongUse,
    BadGeometry, and what reading the firm's files raises.
    """
    draft = typed(Draft(), values)
    technician = settings.report.technician
    if technician and draft.filled("technician") is None:
        draft = typed(draft, {"technician": technician})
    drive: Drive | None = None
    for source in taken_from:
        if source.kind is Origin.JOB:
            draft = sources.from_job(draft, home, source.name)
        elif source.kind is Origin.RECIPE:
            draft = sources.from_recipe(draft, _in_use(home, source.name))
        elif source.kind is Origin.CONVEYOR:
            conveyor = firm.conveyor(home, source.name)
            draft = sources.from_conveyor(draft, conveyor)
            drive = drive or conveyor.drive
        else:
            draft = sources.from_words(draft, source)
    draft = draft.model_copy(
        update={"length_told": dict(length), "drive": drive, "meant": tuple(meant)}
    )
    return looked_up(home, draft, today)


def answered(home: Home, draft: Draft, field: str, text: str, today: date | None = None) -> Draft:
    """``with_answer``, and what past jobs say to the draft now. Raises as ``begin``."""
    return looked_up(home, with_answer(draft, field, text), today)


def looked_up(home: Home, draft: Draft, today: date | None = None) -> Draft:
    """The draft with its length, and with what the firm's jobs and lists say to it now."""
    today = today or date.today()
    belt, press, template = draft.belt, draft.text("press"), draft.text("template")
    answer = recipes.look_up(home, belt)
    proposal = firm.proposal_for(home, belt, today)
    owned = firm.inventory(home)
    known = Known(
        answer=answer,
        held=_held(home, answer, press),
        template=proposal,
        deviations=deviations(draft.settings, answer, press),
        drifts=trends.drifts_for(home, press, template),
        checks=_of_this_job(firm.checks_due(home, today), press, template),
        unsuited=unsuited(belt, draft.settings, owned, proposal, press, template),
    )
    return _with_length(draft.model_copy(update={"known": known}))


def write(
    home: Home, settings: Settings, draft: Draft, folder: Path, replace: bool = False
) -> Written:
    """Write the card into a folder, which is made where there is none. replace: a card in it.

    Raises OutputExists where one of its files is there, OutputUnwritable, and as ``render``.
    """
    written = Written(card=folder / jobcard.FILE_NAME, page=folder / jobcard.PAGE)
    for path in (written.card, written.page):
        if path.exists() and not replace:
            raise OutputExists(path=path)
    now = datetime.now().astimezone().replace(microsecond=0)
    page = card_page.pdf(home, settings, draft, now)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputUnwritable(path=folder, detail=cause(error)) from error
    # The card last, since it is what other commands look for.
    card = card_text.text(draft, now).encode()
    atomic.write_all({written.page: page, written.card: card})
    return written


def _in_use(home: Home, name: str) -> Recipe:
    """The newest version of a recipe. Raises UnknownRecipe, BadValue for one that was retired."""
    recipe = recipes.versions(home, name)[-1]
    if recipe.retired:
        hint = f"it was retired: {recipe.reason}" if recipe.reason else "it was retired"
        raise BadValue(value=name, field="a recipe in use", hint=hint)
    return recipe


def _held(home: Home, answer: RecipeAnswer, press: str | None) -> Held | None:
    """Of the recipe that counts; else the last accepted splice on just such a belt, as a whole, so
    that its values were used together.
    """
    recipe = counting(answer, press)
    if recipe:
        settings = {each.field: each.value for each in recipe.settings}
        return Held(settings=settings, whence=named(recipe))
    tried = answer.exact.tried if answer.exact else ()
    accepted = next((each for each in tried if each.outcome == "accepted"), None)
    if accepted is None or not accepted.last:
        return None
    return Held(settings=accepted.last, whence=f"job {_number(home, accepted.last_job)}")


def _number(home: Home, job_id: str) -> str:
    """Of a job, as people call it; its id where it has none, or can be read no more."""
    with contextlib.suppress(BadJobFolder):
        known = in_force(JobFolder(home.jobs / job_id).load().readings)
        if "job_number" in known:
            return str(known["job_number"].value)
    return job_id


def _of_this_job(
    found: tuple[Check, ...], press: str | None, template: str | None
) -> tuple[Check, ...]:
    used = {("press", folded(press or "")), ("template", folded(template or ""))}
    return tuple(check for check in found if (check.kind, folded(check.name)) in used)


def _with_length(draft: Draft) -> Draft:
    """Worked out anew, since the belt may be known better now. What is still missing for it is
    asked for elsewhere, and until then no cut length stands anywhere.
    """
    if not draft.length_told and draft.drive is None:
        return draft.model_copy(update={"length": None, "length_lacks": ()})
    worked = lengths.typed(draft.length_told, draft.belt, draft.drive)
    return draft.model_copy(
        update={
            "length": None if worked.missing else worked.length,
            "length_lacks": worked.missing,
            "length_assumed": worked.assumed,
        }
    )
