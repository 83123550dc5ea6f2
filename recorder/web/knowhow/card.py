"""A job card in the making as its page shows it: what is known, asked, and said by past jobs."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Iterator

from pydantic import AwareDatetime

from recorder.archive.jobs.folders import job_ids
from recorder.errors import SeamnoteError
from recorder.flows.knowhow import firm, prepared, recipes
from recorder.flows.knowhow.card_words import against
from recorder.flows.knowhow.drafting import Draft, Filled
from recorder.flows.knowhow.length import AMOUNTS
from recorder.knowhow.preparing import checks
from recorder.knowhow.preparing.proposal import Candidate
from recorder.knowhow.trends.observed import label, stream_label
from recorder.model.base import Value
from recorder.model.fields import FIELDS
from recorder.model.inventory import called
from recorder.model.length import BeltLength
from recorder.model.reading import show_value
from recorder.model.units import show as shown_in
from recorder.web.house import House
from recorder.web.jobs.values import Entry, entry_of
from recorder.web.knowhow import drafted
from recorder.web.knowhow.drafted import Asked
from recorder.web.pages.known import known_job

MOST_JOBS = 12  # that are offered to begin from
_LENGTH_HINTS = {"elongation": "0.8 %", "take_up": "30 mm", "trim": "20 mm", "overlap": "60 mm"}


class Row(Value):
    """A value that stands on the card. whence: 'job 4817', 'typed'."""

    label: str
    value: str
    whence: str


class Ask(Value):
    """A field that a person fills in. name: in the form. told: what is known or wrong, in words.
    yes: words of the button that takes what is proposed, '' where there is nothing to take.
    """

    field: str
    name: str
    label: str
    typed: str
    entry: Entry
    told: str = ""
    yes: str = ""


class Fit(Value):
    """A template. used: accepted splices with it."""

    name: str
    reasons: tuple[str, ...]
    check: str = ""


class Cut(Value):
    """What the length comes to: label and value of each, and what was taken for granted."""

    rows: tuple[tuple[str, str], ...]
    assumed: tuple[str, ...]


class Waiting(Value):
    """A card that waits for its job."""

    name: str
    title: str
    belt: str
    kept_at: AwareDatetime


class Prepare(Value):
    """Everything that the template may use. jobs, recipes, conveyors: what a card can be made from,
    as value and label. begun: whether there is a draft. known, settings: on the card. questions:
    what is still missing or doubtful, or differs; others: fields that can be told besides. held:
    settings that held on such a belt, and whence. best: the template that fits; why, in words.
    notices: what drifts, is due, or was told twice. whole: nothing is missing.
    """

    asked: Asked
    jobs: tuple[tuple[str, str], ...]
    recipes: tuple[tuple[str, str], ...]
    conveyors: tuple[tuple[str, str], ...]
    waiting: tuple[Waiting, ...]
    lengths: tuple[Ask, ...]
    others: tuple[Ask, ...]
    begun: bool = False
    title: str = ""
    known: tuple[Row, ...] = ()
    settings: tuple[Row, ...] = ()
    questions: tuple[Ask, ...] = ()
    held: tuple[tuple[str, str], ...] = ()
    held_whence: str = ""
    best: Fit | None = None
    why: str = ""
    runners_up: tuple[Fit, ...] = ()
    unfit: tuple[Fit, ...] = ()
    notices: tuple[str, ...] = ()
    cut: Cut | None = None
    lacks: tuple[str, ...] = ()
    whole: bool = False
    complaint: str = ""


def view(house: House, asked: Asked, draft: Draft | None, complaint: str) -> Prepare:
    """Raises BadFirmFile."""
    questions = tuple(_questions(draft, asked)) if draft else ()
    open_now = {each.field for each in questions}
    empty = Prepare(
        asked=asked,
        jobs=tuple(_jobs(house)),
        recipes=tuple(_recipes(house)),
        conveyors=tuple(_conveyors(house)),
        waiting=tuple(
            Waiting.model_validate(each.model_dump()) for each in prepared.prepared(house.home)
        ),
        lengths=tuple(_ask(key, asked) for key in drafted.LENGTHS),
        others=tuple(_ask(f, asked) for f in drafted.FIELDS if f not in open_now),
        complaint=complaint,
    )
    return empty.model_copy(update=_said(draft, questions)) if draft else empty


def _said(draft: Draft, questions: tuple[Ask, ...]) -> dict[str, object]:
    known, proposal = draft.known, draft.known.template
    best = proposal.best if proposal else None
    titled = filter(None, map(draft.text, ("job_number", "customer", "conveyor")))
    return {
        "begun": True,
        "title": ", ".join(titled) or "The next job",
        "known": tuple(_rows(draft.used)),
        "settings": tuple(_rows(draft.asked)),
        "questions": questions,
        "held": tuple(_held(draft)),
        "held_whence": known.held.whence if known.held else "",
        "best": _fit(best) if best else None,
        "why": proposal.why if proposal else "",
        "runners_up": tuple(_fit(each) for each in proposal.others) if proposal else (),
        "unfit": tuple(_fit(each) for each in proposal.unfit) if proposal else (),
        "notices": tuple(_notices(draft)),
        "cut": _cut(draft.length, draft) if draft.length else None,
        "lacks": tuple(_label(key) for key in draft.length_lacks),
        "whole": not draft.needs_person,
    }


def _rows(filled: Iterable[Filled]) -> Iterator[Row]:
    for each in filled:
        yield Row(
            label=FIELDS[each.reading.field].label,
            value=each.reading.shown(),
            whence=each.whence,
        )


def _questions(draft: Draft, asked: Asked) -> Iterator[Ask]:
    """In the order of the draft; whatever was typed to one stands in its field."""
    differing: dict[str, list[str]] = {}
    for each in draft.deviations:
        differing.setdefault(each.field, []).append(against(each))
    doubts = {doubt.field: doubt for doubt in draft.doubts}
    for question in draft.questions:
        field, told, yes = question.field, "", ""
        if question.why == "doubtful":
            doubt = doubts[field]
            heard = " or ".join(
                (doubt.shown(), *(show_value(field, each) for each in doubt.candidates))
            )
            told = f"Heard {heard}{f': {doubt.why}' if doubt.why else ''}."
            yes = f"Yes, {doubt.shown()}"
        elif question.why == "deviation":
            value = draft.value(field)
            told = f"{_shown(field, value)} is asked for; {'; '.join(differing[field])}."
            yes = f"Yes, {_shown(field, value)} is meant"
        elif question.why == "template" and draft.known.template:
            told, yes = draft.known.template.why, f"Take {question.proposed}"
        elif question.optional:
            told = "May stay open."
        yield _ask(field, asked).model_copy(update={"told": told, "yes": yes})


def _shown(field: str, value: bool | float | str | None) -> str:
    return "" if value is None else show_value(field, value)


def _ask(field: str, asked: Asked) -> Ask:
    if field in drafted.LENGTHS:
        hint = _LENGTH_HINTS.get(field, "250 mm" if field.startswith("pulley") else "4.2 m")
        entry, typed = Entry(hint=f"a number with its unit: {hint}"), asked.lengths.get(field, "")
    else:
        entry, typed = entry_of(field), asked.values.get(field, "")
    return Ask(
        field=field, name=drafted.names()[field], label=_label(field), typed=typed, entry=entry
    )


def _label(field: str) -> str:
    return FIELDS[field].label if field in FIELDS else AMOUNTS[field].label


def _held(draft: Draft) -> Iterator[tuple[str, str]]:
    for field, value in draft.known.held.settings.items() if draft.known.held else ():
        yield FIELDS[field].label, show_value(field, value)


def _fit(candidate: Candidate) -> Fit:
    check = candidate.check
    return Fit(
        name=candidate.template.name,
        reasons=(*candidate.reasons, *candidate.unknown),
        check=checks.said(check) if check and checks.late(check) else "",
    )


def _notices(draft: Draft) -> Iterator[str]:
    for drift in draft.known.drifts:
        what, whose = label(drift.characteristic), stream_label(drift.stream, drift.name)
        yield f"{what}, {whose}: {drift.signal.text}."
    for check in draft.known.checks:
        yield f"{called(check.kind.capitalize(), check.name)}: {checks.said(check)}."
    for told in draft.notes:
        field, colon, rest = told.partition(": ")
        yield f"{_label(field)}: {rest}." if colon and field in FIELDS else f"{told}."


def _cut(length: BeltLength, draft: Draft) -> Cut:
    rows = [("Endless, along the middle of the belt", _mm(length.endless))]
    if length.approximate is not None and length.approximation_error is not None:
        off = abs(length.approximation_error)
        error = "less than 0.1 mm" if off < 0.05 else _mm(off)
        rows.append(("By the usual approximation", f"{_mm(length.approximate)}, {error} off"))
    rows += [
        ("Joined, slack", _mm(length.joined)),
        ("Cut, between square ends", _mm(length.cut)),
        ("Punched, from tip to tip", _mm(length.punched)),
        ("Draw the tension marks apart", _mm(length.mark_spacing)),
    ]
    if length.mark_tensioned is not None and length.elongation is not None:
        wanted = shown_in(length.elongation, "percent")
        rows.append((f"Marks when tensioned by {wanted}", _mm(length.mark_tensioned)))
    return Cut(rows=tuple(rows), assumed=draft.length_assumed)


def _mm(value: float) -> str:
    return shown_in(value, "mm", 1)


def _jobs(house: House) -> Iterator[tuple[str, str]]:
    for job_id in job_ids(house.home)[: -MOST_JOBS - 1 : -1]:
        with contextlib.suppress(SeamnoteError):  # 'seamnote archive check' tells of it
            job = known_job(house.home, job_id).load()
            yield job.id, f"{job.title()}, {job.created_at.astimezone():%Y-%m-%d}"


def _recipes(house: House) -> Iterator[tuple[str, str]]:
    with contextlib.suppress(SeamnoteError):  # the page of recipes tells of it
        for recipe in recipes.recipes(house.home):
            if not recipe.retired:
                yield recipe.name, f"{recipe.name}: {recipe.belt.shown()}"


def _conveyors(house: House) -> Iterator[tuple[str, str]]:
    for each in firm.conveyors(house.home):
        name = " / ".join(filter(None, (each.customer, each.site, each.name)))
        yield name, name
