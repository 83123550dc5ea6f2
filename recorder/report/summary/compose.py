"""What is known of a month as the values of its summary."""

from __future__ import annotations

from typing import Literal

from pydantic import AwareDatetime

from recorder.model.base import Value
from recorder.model.past import PastRun
from recorder.report.content import formats
from recorder.report.content.frame import Mark
from recorder.report.content.letterhead import letterhead
from recorder.report.content.pictures import PictureTray
from recorder.report.content.text import brief
from recorder.report.summary import splices
from recorder.report.summary.context import Chart, Summary, Table
from recorder.report.summary.month import Month
from recorder.report.wording import wording
from recorder.report.wording.wording import count, language_tag, say
from recorder.settings import ReportSettings

_LONGEST_CUSTOMER = 60
_MOST_POINTS = 6


class Asked(Value):
    """month. customer: as jobs write the name; None for all of the firm. now: when the page is
    written. version: of the program.
    """

    month: Month
    customer: str | None
    now: AwareDatetime
    version: str
    paper: Literal["A4", "Letter"] = "A4"


class Known(Value):
    """What the archive holds of it. runs: press runs of the month. low, high: Wilson interval of
    the share of accepted splices. drifts: one sentence each. checks: due, or None.
    """

    runs: tuple[PastRun, ...]
    low: float
    high: float
    drifts: tuple[str, ...] = ()
    outcomes: Chart | None = None
    charts: tuple[Chart, ...] = ()
    against: tuple[Chart, ...] = ()
    uncharted: str = ""
    checks: Table | None = None


def compose(asked: Asked, known: Known, settings: ReportSettings, tray: PictureTray) -> Summary:
    """Everything that the page shows, in words. Raises BadLogo."""
    each = splices.last_of_each(known.runs)
    by = splices.outcomes(each)
    month = wording.month(asked.month.first_day)
    settled = len(each) - by["open"]
    return Summary(
        language=language_tag(),
        paper=asked.paper,
        title=_title(month, asked.customer),
        foot=_foot(month, asked),
        letterhead=letterhead(settings, "", tray),
        month=month,
        scope=_scope(asked),
        written_on=wording.day(asked.now.date()),
        headline=_headline(by["accepted"], settled, len(each)),
        kind="rejected" if by["rejected"] else "accepted" if settled else "open",
        share=_share(by["accepted"], settled, known),
        counts=splices.counts(each, len(known.runs)),
        points=_points(by["open"], known),
        outcomes=known.outcomes,
        charts=known.charts,
        against=known.against,
        uncharted=known.uncharted,
        splices=splices.table(each, asked.customer is None, settings.units),
        checks=known.checks,
    )


def _title(month: str, customer: str | None) -> str:
    if customer is None:
        return say("Splices in {month}", month=month)
    return say("Splices in {month}, {customer}", month=month, customer=brief(customer, 200))


def _foot(month: str, asked: Asked) -> tuple[str, ...]:
    before, _, rest = say("page {page} of {pages}", page="\0", pages="\1").partition("\0")
    between, _, after = rest.partition("\1")
    name = say("Splices in {month}", month=month)
    return (name, say("seamnote {version}", version=asked.version), before, between, after)


def _scope(asked: Asked) -> str:
    running = asked.now < asked.month.end
    if asked.customer is None:
        if running:
            return say("All splices of the firm so far")
        return say("All splices of the firm")
    name = brief(asked.customer, _LONGEST_CUSTOMER)
    if running:
        return say("For {customer}, so far", customer=name)
    return say("For {customer}", customer=name)


def _headline(accepted: int, settled: int, every: int) -> str:
    if not every:
        return say("No splice")
    if not settled:
        return count("{n} splice, without an outcome", "{n} splices, none with an outcome", every)
    return count("{accepted} of {n} splice accepted", "{accepted} of {n} splices accepted", settled,
                 accepted=accepted)  # fmt: skip


def _share(accepted: int, settled: int, known: Known) -> str:
    if not settled:
        return ""
    low, high = formats.part(known.low), formats.part(known.high)
    return say(
        "A share of {share}. So many splices say that the share in the long run lies between "
        "{low} and {high} (Wilson interval, 95 %).",
        share=formats.part(accepted / settled), low=low, high=high,
    )  # fmt: skip


def _points(open_: int, known: Known) -> tuple[Mark, ...]:
    found = [Mark(kind="some", sign="▲", word=each) for each in known.drifts[:_MOST_POINTS]]
    left = len(known.drifts) - len(found)
    if left:
        word = count("and {n} more chart", "and {n} more charts", left)
        found.append(Mark(kind="some", sign="▲", word=word))
    if open_:
        word = count("{n} splice without an outcome", "{n} splices without an outcome", open_)
        found.append(Mark(kind="some", sign="–", word=word))
    if known.checks:
        due = len(known.checks.rows)
        word = count("{n} check is due or overdue", "{n} checks are due or overdue", due)
        found.append(Mark(kind="some", sign="▲", word=word))
    return tuple(found) or (Mark(kind="none", sign="✓", word=say("nothing stands out")),)
