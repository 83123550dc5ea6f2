"""Questions about the firm's own past jobs, and what is answered: "what did we use last time?"

What cannot be looked up, or lacks a word about the belt, is told in a sentence; the job goes on.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime

from recorder.errors import BadValue, CannotKeep, SeamnoteError
from recorder.knowhow.preparing.proposal import Check
from recorder.knowhow.recipes.deviating import measures
from recorder.knowhow.trends.chart import Drift
from recorder.live import questions
from recorder.live.known import knowledge
from recorder.live.replies import reply
from recorder.live.saying import past as saying
from recorder.live.saying import sentences
from recorder.live.saying.numbers import integer
from recorder.live.saying.words import listed, sentence
from recorder.live.shelf import Shelf
from recorder.live.talk import Talk, Turn
from recorder.model.belt import Belt, folded
from recorder.model.fields import FIELDS, Level
from recorder.model.job import Job, in_force
from recorder.model.past import SETTINGS
from recorder.model.reading import Note, Reading, Role, Standing
from recorder.notes.requests.request import Ask, Request

_MOST_DRIFTS = 3  # in one answer
Answering = Callable[[Talk, Talk, Job, Request, datetime, Shelf], Turn]


def answered(
    before: Talk, talk: Talk, job: Job, request: Request, now: datetime, shelf: Shelf | None
) -> Turn:
    """What a request of ``ASKS`` leads to. shelf: None where there is no archive."""
    if request.ask is Ask.CUT_LENGTH:
        said = saying.length(job.belt_length) if job.belt_length else [sentence("cut_unknown")]
        return reply(before, talk, job, now, said)
    if shelf is None:
        return reply(before, talk, job, now, [sentence("no_archive")])
    try:
        return _ANSWERING[request.ask](before, talk, job, request, now, shelf)
    except CannotKeep:
        return reply(before, talk, job, now, [sentence("keep_refused")])
    except BadValue:
        return reply(before, talk, job, now, [sentence("keep_bad_name")])
    except SeamnoteError:
        return reply(before, talk, job, now, [sentence("archive_unreadable")])


def known_here(talk: Talk, job: Job) -> dict[str, Reading]:
    """What is in force of this splice and run."""
    return in_force(job.readings, talk.splice, talk.run)


def belt_here(talk: Talk, job: Job) -> Belt:
    return Belt.of(known_here(talk, job))


def named_here(talk: Talk, job: Job, field: str) -> str | None:
    """Of the press or the template; None for what is not told, or in doubt."""
    held = known_here(talk, job).get(field)
    return None if held is None or held.standing is Standing.DOUBTFUL else str(held.value)


def wants_name(request: Request) -> bool:
    """Whether a recipe is to be kept and nobody said under which name."""
    return request.ask is Ask.KEEP_RECIPE and not request.text


def check_name(check: Check) -> str:
    """By which ``Talk.reminded`` knows that a check was spoken of."""
    return f"check:{check.kind}:{folded(check.name)}"


def drift_name(drift: Drift) -> str:
    """Likewise of what drifts: once for each press or template, whatever it shows."""
    return f"drift:{drift.stream}:{folded(drift.name)}"


def reminded(talk: Talk, names: Iterable[str]) -> Talk:
    """What was spoken of is not said again by itself."""
    new = dict.fromkeys(name for name in names if name not in talk.reminded)
    return talk.model_copy(update={"reminded": (*talk.reminded, *new)})


def not_to_keep(talk: Talk, job: Job) -> str | None:
    """Why nothing here can become a recipe, in a sentence; None where it can."""
    known = known_here(talk, job)
    outcome = known.get("outcome")
    if outcome is None or outcome.standing is Standing.DOUBTFUL or outcome.value != "accepted":
        return sentence("keep_not_accepted")
    if belt_here(talk, job).belt_material is None:
        return sentence("first", names=sentences.name("belt_material"))
    settled = (known[field].standing for field in SETTINGS if field in known)
    if all(standing is Standing.DOUBTFUL for standing in settled):
        return sentence("keep_no_settings")
    return None


def _last_time(
    before: Talk, talk: Talk, job: Job, request: Request, now: datetime, shelf: Shelf
) -> Turn:
    if belt_here(talk, job).belt_material is None:
        return _first(before, talk, job, ["belt_material"], now)
    press = named_here(talk, job, "press")
    answer = shelf.recipes(job, talk.splice)
    talk = talk.model_copy(update={"known": knowledge(answer, press)})
    field = request.field if request.field in SETTINGS else None
    said = [*saying.unread(answer), *saying.last_time(answer, now, field, press)]
    return reply(before, talk, job, now, said)


def _which_template(
    before: Talk, talk: Talk, job: Job, request: Request, now: datetime, shelf: Shelf
) -> Turn:
    proposal = shelf.templates(job, talk.splice)
    unknown = saying.unknown_of(proposal)
    if proposal.best is None and unknown:
        return _first(before, talk, job, unknown, now)
    said = saying.template(proposal)
    if unknown:
        names = sentences.names_of(unknown)
        said.append(sentence("template_unknown", names=sentences.shortened(names)))
    return reply(before, talk, job, now, said)


def _differs(
    before: Talk, talk: Talk, job: Job, request: Request, now: datetime, shelf: Shelf
) -> Turn:
    if belt_here(talk, job).belt_material is None:
        return _first(before, talk, job, ["belt_material"], now)
    settings = _settings_here(talk, job)
    if not settings:
        return reply(before, talk, job, now, [sentence("nothing_set")])
    answer, press = shelf.recipes(job, talk.splice), named_here(talk, job, "press")
    values = {field: float(reading.value) for field, reading in settings.items()}
    if not measures(values, answer, press):
        said = [*saying.unread(answer), sentence("nothing_to_compare")]
        return reply(before, talk, job, now, said)
    found = [
        saying.differs(each, answer, press, settings[each.field].role is Role.ASKED)
        for each in shelf.deviations(job, talk.splice, talk.run)
        if each.field in settings
    ]
    said = [*saying.unread(answer), *(found or [sentence("nothing_differs")])]
    return reply(before, talk, job, now, said)


def _keep(
    before: Talk, talk: Talk, job: Job, request: Request, now: datetime, shelf: Shelf
) -> Turn:
    recipe = shelf.keep(job, talk.splice, request.text)
    which = "kept" if recipe.version == 1 else "kept_version"
    said = sentence(which, name=recipe.name, version=integer(recipe.version))
    note = Note(text=f"kept as recipe {recipe.name}, version {recipe.version}", file="")
    return reply(before, talk, job, now, [said], notes=(note,))


def _checks(
    before: Talk, talk: Talk, job: Job, request: Request, now: datetime, shelf: Shelf
) -> Turn:
    if not _equipment(talk, job):
        return _first(before, talk, job, ["press"], now)
    found = shelf.checks(job, talk.splice)
    talk = reminded(talk, map(check_name, found))
    return reply(before, talk, job, now, saying.checks(found) or [sentence("nothing_due")])


def _trend(
    before: Talk, talk: Talk, job: Job, request: Request, now: datetime, shelf: Shelf
) -> Turn:
    here = _equipment(talk, job)
    if not here:
        return _first(before, talk, job, ["press"], now)
    found = shelf.drifts(job, talk.splice)
    talk = reminded(talk, map(drift_name, found))
    said = [saying.drift(each) for each in found[:_MOST_DRIFTS]]
    where = listed([saying.where(field, name) for field, name in here.items()])
    return reply(before, talk, job, now, said or [sentence("nothing_drifts", where=where)])


def _settings_here(talk: Talk, job: Job) -> dict[str, Reading]:
    """Of this run, by field: as they were told and settled, else as the job card asks for them."""
    asked = in_force(job.readings, talk.splice, talk.run, Role.ASKED)
    settled = {
        field: reading
        for known in (asked, known_here(talk, job))
        for field, reading in known.items()
        if reading.standing is not Standing.DOUBTFUL
    }
    return {field: settled[field] for field in SETTINGS if field in settled}


def _equipment(talk: Talk, job: Job) -> dict[str, str]:
    told = {field: named_here(talk, job, field) for field in ("press", "template")}
    return {field: name for field, name in told.items() if name is not None}


def _first(before: Talk, talk: Talk, job: Job, fields: list[str], now: datetime) -> Turn:
    """What has to be told before anything can be said, as the question for the first of it."""
    name = fields[0]
    level = FIELDS[name].level
    key = (
        name,
        1 if level is Level.JOB else talk.splice,
        talk.run if level is Level.RUN else 1,
    )
    talk = questions.asked_for(talk, key)
    question = questions.for_value(key, talk, now, known_here(talk, job).get(name))
    text = sentence("first", names=sentences.shortened(sentences.names_of(fields)))
    question = question.model_copy(update={"text": text})
    return reply(before, talk.model_copy(update={"question": question}), job, now, [text])


_ANSWERING: dict[Ask, Answering] = {
    Ask.LAST_TIME: _last_time,
    Ask.WHICH_TEMPLATE: _which_template,
    Ask.DIFFERS: _differs,
    Ask.KEEP_RECIPE: _keep,
    Ask.CHECKS: _checks,
    Ask.TREND: _trend,
}
ASKS = frozenset((*_ANSWERING, Ask.CUT_LENGTH))
