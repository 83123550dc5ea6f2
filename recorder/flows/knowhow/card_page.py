"""A draft to the page of its job card: everything in words, in the language of the report."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from datetime import datetime
from itertools import groupby

from recorder import __version__
from recorder.archive.disk.home import Home
from recorder.flows.knowhow.card_notices import notices
from recorder.flows.knowhow.card_words import whence
from recorder.flows.knowhow.drafting import (
    FINGERS,
    ON_CARD,
    PLACE,
    Draft,
    Filled,
    Origin,
)
from recorder.knowhow.preparing.checks import CHECK_LIST, DEFERS
from recorder.knowhow.preparing.proposal import Candidate
from recorder.knowhow.recipes.answer import Spread
from recorder.model.belt import BELT_FIELDS, folded
from recorder.model.fields import FIELDS
from recorder.model.length import BeltLength
from recorder.model.past import SETTINGS
from recorder.report.card import drawing
from recorder.report.card.context import Card, Checks, Fact, Length, SettingLine, Template
from recorder.report.content import belt_length, formats
from recorder.report.content.entries import also
from recorder.report.content.letterhead import letterhead
from recorder.report.content.pictures import PictureTray
from recorder.report.content.text import brief
from recorder.report.document.about import About
from recorder.report.document.assemble import assemble
from recorder.report.page import look as looks
from recorder.report.page.typesetting import typeset
from recorder.report.wording.wording import count, day, language_tag, noted, say, writing
from recorder.settings import ReportSettings, Settings

TEMPLATE = "job_card.html"
# Lines to write on where nothing was told; what else is told joins them.
_ALWAYS = (*PLACE, *BELT_FIELDS, "press")
_LONGEST, _LONGEST_NAME, _LONGEST_HEAD = 60, 40, 20
_MOST_OTHERS, _MOST_REASONS = 3, 4
_WHEN = {
    "before": noted("Before"),
    "at the press": noted("At the press"),
    "after": noted("After"),
}
_SEEN_MM = 0.05  # what a tape does not tell
_FINGERED = ("finger", "double_finger")


def pdf(home: Home, settings: Settings, draft: Draft, now: datetime) -> bytes:
    """One page, tagged, in the look of the report; longer where much is to be told. now: with
    zone. Raises what ``render`` of a report raises.
    """
    look = looks.read(home.root / looks.FOLDER)
    report = settings.report
    with writing(report.language, look.folders):
        tray = PictureTray(home.root)
        card = compose(draft, report, tray, now)
        drawings = {}
        if draft.length:
            fingers = draft.value("splice_type") in _FINGERED
            drawings[drawing.ADDRESS] = drawing.svg(draft.length, fingers, report.units)
        name = hashlib.sha256(draft.model_dump_json().encode()).hexdigest() + now.isoformat()
        page = typeset(card, look, tray.files, name, TEMPLATE, drawings)
        return assemble(page, (), _about(card, now))


def compose(draft: Draft, report: ReportSettings, tray: PictureTray, now: datetime) -> Card:
    """Everything that the page shows. Raises BadLogo."""
    number = draft.text("job_number")
    name = say("Job {number}", number=number) if number else say("Job card")
    paged = say("page {page} of {pages}", page="\0", pages="\1")
    before, _, rest = paged.partition("\0")
    between, _, after = rest.partition("\1")
    return Card(
        language=language_tag(),
        paper=report.paper,
        title=say("Job card {name}", name=number) if number else say("Job card"),
        foot=(brief(name, _LONGEST_NAME), say("seamnote {version}", version=__version__),
              before, between, after),
        letterhead=letterhead(report, "", tray),
        name=brief(name, _LONGEST_HEAD),
        written_on=day(now),
        place=_facts(draft, (*PLACE[1:], "press", *_more(draft)), report),
        belt=_facts(draft, BELT_FIELDS, report),
        settings=_settings(draft, report),
        held_from=_held_from(draft),
        template=None if _plain(draft) and not draft.filled("template") else _template(draft),
        length=_length(draft.length, report, _plain(draft)) if draft.length else None,
        notices=notices(draft),
        checks=_checks(),
        defers=say(DEFERS),
    )  # fmt: skip


def _more(draft: Draft) -> list[str]:
    """What few cards hold."""
    shown = (*_ALWAYS, "template")
    return [name for name in ON_CARD if name not in shown and draft.filled(name)]


def _facts(draft: Draft, names: Iterable[str], report: ReportSettings) -> tuple[Fact, ...]:
    return tuple(
        _fact(name, draft.filled(name), report)
        for name in names
        if draft.filled(name) or (name in _ALWAYS and not (name in FINGERS and _plain(draft)))
    )


def _plain(draft: Draft) -> bool:
    """Whether it is known that no fingers are punched."""
    return draft.value("splice_type") not in (None, *_FINGERED)


def _fact(name: str, filled: Filled | None, report: ReportSettings) -> Fact:
    label = formats.label(name)
    if filled is None:
        return Fact(label=label, open=True)
    return Fact(
        label=label,
        value=brief(formats.value(name, filled.reading.value), _LONGEST),
        also=also(filled.reading, report.units),
        whence=_whence(filled),
    )


def _whence(filled: Filled) -> str:
    """Names stay as they were given; what a person typed for this card needs none, and the name of
    a conveyor stands on the card.
    """
    if filled.origin is Origin.TYPED:
        return ""
    if filled.origin is Origin.CONVEYOR:
        return say("conveyor list")
    return brief(whence(filled.origin, filled.name, formats.PAGE), _LONGEST)


def _settings(draft: Draft, report: ReportSettings) -> tuple[SettingLine, ...]:
    held = draft.known.held.settings if draft.known.held else {}
    spans = {each.field: each for each in _accepted(draft)}
    return tuple(
        SettingLine(
            label=formats.label(name),
            asked=_fact(name, draft.filled(name), report),
            held=formats.value(name, held[name]) if name in held else "",
            span=_span(spans[name]) if name in spans else "",
        )
        for name in SETTINGS
        if FIELDS[name].asked or name in held or name in spans or draft.filled(name)
    )


def _accepted(draft: Draft) -> tuple[Spread, ...]:
    exact = draft.known.answer.exact if draft.known.answer else None
    return next((t.settings for t in exact.tried if t.outcome == "accepted"), ()) if exact else ()


def _span(spread: Spread) -> str:
    low, high = (formats.value(spread.field, value) for value in (spread.low, spread.high))
    if low == high:
        return count("{low}, {n} time", "{low}, {n} times", spread.count, low=low)
    return count("{low} to {high}, {n} time", "{low} to {high}, {n} times", spread.count,
                 low=low, high=high)  # fmt: skip


def _held_from(draft: Draft) -> str:
    exact = draft.known.answer.exact if draft.known.answer else None
    parts = []
    if draft.known.held:
        parts.append(say("“Held” is of {whence}.", whence=draft.known.held.whence))
    if exact:
        share = exact.share
        parts.append(
            say(
                "On just such a belt {accepted} of {of} splices were accepted.",
                accepted=share.accepted, of=share.of,
            )
        )  # fmt: skip
    elif draft.known.answer:
        parts.append(say("No past job is known on just such a belt."))
    return " ".join(parts)


def _template(draft: Draft) -> Template:
    """The one that the card names, with what the inventory says of it; else the proposal."""
    told, found = draft.filled("template"), draft.known.template
    candidates = () if found is None else (*((found.best,) if found.best else ()), *found.others)
    if told is None:  # a line to write on
        why = (found.why,) if found and found.why and not found.best else ()
        return Template(name="", reasons=why, others=tuple(map(_candidate, candidates)))
    name = str(told.reading.value)
    every = (*candidates, *(found.unfit if found else ()))
    own = [c for c in every if folded(c.template.name) == folded(name)]
    reasons = own[0].reasons[:_MOST_REASONS] if own else ()
    if found and not own:
        reasons = (say("It is not in the inventory."),)
    if own and not own[0].fits:
        reasons = (say("By the inventory it does not fit this belt."), *reasons)
    others = [c for c in candidates if c not in own][:_MOST_OTHERS]
    return Template(
        name=brief(name, _LONGEST_NAME),
        whence=_whence(told),
        reasons=reasons,
        others=tuple(map(_candidate, others)),
    )


def _candidate(candidate: Candidate) -> str:
    return f"{candidate.template.name}: {', '.join(candidate.reasons[:2])}".removesuffix(": ")


def _length(belt: BeltLength, report: ReportSettings, plain: bool) -> Length:
    def mm(value: float) -> str:
        return belt_length.length(value, report.units)

    drive, given = belt.drive, belt.allowances
    rows = [
        (say("Pulleys"), f"{mm(drive.pulley_1)}, {mm(drive.pulley_2)}") if drive else None,
        (say("Between the axes"), mm(drive.centres)) if drive else None,
        (say("Endless length"), mm(belt.endless)),
        (say("Take-up"), mm(given.take_up)) if given.take_up else None,
        (say("Wanted elongation"), formats.setting(belt.elongation, "percent"))
        if belt.elongation is not None
        else None,
        (say("Joined, slack"), mm(belt.joined)),
        (
            say("Ends reach over one another") if plain else say("Ends reach into one another"),
            mm(given.fingers),
        )
        if given.fingers
        else None,
        (say("Trim, each end"), mm(given.trim)) if given.trim else None,
    ]
    remark = say("Worked out along the middle of the belt. Measure at the machine before cutting.")
    if belt.approximation_error is not None and belt.approximate is not None:
        error = formats.setting(belt.approximation_error, "mm")
        remark += " " + (
            say("The usual formula gives the same.")
            if abs(belt.approximation_error) < _SEEN_MM
            else say("The usual formula gives {error} less.", error=error.removeprefix("-"))
        )
    return Length(
        src=drawing.ADDRESS,
        alt=drawing.told(belt, report.units),
        facts=tuple(Fact(label=row[0], value=row[1]) for row in rows if row),
        remark=remark,
    )


def _checks() -> tuple[Checks, ...]:
    return tuple(
        Checks(heading=say(_WHEN[when]), items=tuple(say(point.text) for point in points))
        for when, points in groupby(CHECK_LIST, key=lambda point: point.when)
    )


def _about(card: Card, now: datetime) -> About:
    return About(
        title=card.title,
        author=card.letterhead.firm,
        subject=say("Job card"),
        language=card.language,
        written_at=now,
        creator=f"Seamnote {__version__}",
        labels={},
    )
