"""A month of past jobs to a PDF, for the firm or for one customer.

::

    index ─► runs of a year ─┬─► splices of the month, their share ──┐
                             ├─► charts and what drifts, as SVG ─────┼─► page ─► tagged PDF
    inventory ─► checks ─────┘   (for the firm alone) ───────────────┘

A summary for a customer is made of that customer's own runs, so that nothing of another one can
get into a chart, a limit or a table of it.
"""

from __future__ import annotations

import hashlib
import re
from datetime import datetime
from pathlib import Path

from recorder import __version__
from recorder.archive.disk import atomic
from recorder.archive.disk.home import Home
from recorder.archive.finding.past import Past
from recorder.archive.index.index import Index
from recorder.errors import BadValue
from recorder.flows.knowhow import charted, firm, trends
from recorder.flows.progress import Progress, Silent, rebuilding
from recorder.knowhow.recipes.wilson import share
from recorder.model.belt import folded
from recorder.model.past import OUTCOMES, PastRun
from recorder.report.content.pictures import PictureTray
from recorder.report.document.about import About
from recorder.report.document.assemble import assemble
from recorder.report.page import look as looks
from recorder.report.summary import splices
from recorder.report.summary.compose import Asked, Known
from recorder.report.summary.context import Column, Row, Table
from recorder.report.summary.month import Month
from recorder.report.summary.render import render
from recorder.report.wording import wording
from recorder.report.wording.wording import language_tag, say, writing
from recorder.settings import Settings

_LONGEST_NAME = 40  # of a customer in the name of a file


def write_summary(
    home: Home,
    settings: Settings,
    month: str,
    customer: str | None = None,
    out: Path | None = None,
    progress: Progress | None = None,
    now: datetime | None = None,
) -> Path:
    """The summary of a month, as '2026-10'; where it lies. customer: in any case, None for all.

    out: else a file of its own name in the current folder. now: with zone, else the clock's.
    Raises BadValue, UnknownName, BadFirmFile, OutputUnwritable, and what the index and the
    rendering of a report raise.
    """
    progress = progress or Silent()
    now = now or datetime.now().astimezone().replace(microsecond=0)
    asked_month = _month(month, now)
    progress.stage("reading the jobs of a year")
    known_as, runs = _runs(home, asked_month, customer, progress)
    asked = Asked(
        month=asked_month, customer=known_as, now=now, version=__version__,
        paper=settings.report.paper,
    )  # fmt: skip
    progress.stage("setting the summary")
    content = _pdf(home, settings, asked, runs)
    path = out or Path(file_name(asked))
    atomic.write(path, content)
    return path


def file_name(asked: Asked) -> str:
    """'summary_2026-10_Larkfield-Bakery.pdf'; a customer whose name cannot stand in it whole has a
    mark besides, so that no other customer's summary, and not the firm's, is replaced by it.
    """
    if asked.customer is None:
        return f"summary_{asked.month.iso}.pdf"
    written = " ".join(asked.customer.split())
    plain = re.sub(r"[^A-Za-z0-9]+", "-", written).strip("-")[:_LONGEST_NAME]
    mark = hashlib.sha256(folded(written).encode()).hexdigest()[:8]
    whole = plain.replace("-", " ") == written
    return f"summary_{asked.month.iso}_{'_'.join(filter(None, (plain, '' if whole else mark)))}.pdf"


def _month(text: str, now: datetime) -> Month:
    hint = "write a month of the calendar like 2026-10"
    try:
        month = Month.read(text)
    except (ValueError, OverflowError) as error:
        raise BadValue(value=text, field="a month", hint=hint) from error
    if month.start > now:
        hint = "it has not begun yet; wait, or take an earlier one"
        raise BadValue(value=text, field="the month of a summary", hint=hint)
    return month


def _runs(
    home: Home, month: Month, customer: str | None, progress: Progress
) -> tuple[str | None, list[PastRun]]:
    """The customer as jobs write the name, and all press runs of the year up to the month's end;
    of the customer's jobs alone where one is asked for.
    """
    since = month.year_before()[0].start
    with Index.open(home, rebuilding(progress)) as index:
        past = Past(index)
        if customer is not None:
            names = [name for name, _ in past.names_of("customer")]
            customer = trends.known_name("customer", customer, names)
        return customer, past.runs_between(since, month.end, customer)


def _pdf(home: Home, settings: Settings, asked: Asked, runs: list[PastRun]) -> bytes:
    report = settings.report
    folder = home.root / looks.FOLDER
    look = looks.read(folder)
    with writing(report.language, look.folders):
        drawn = charted.charts(runs, asked, report)
        within = tuple(run for run in runs if run.at >= asked.month.start)
        by = splices.outcomes(splices.last_of_each(within))
        found = share(by["accepted"], sum(by[each] for each in OUTCOMES))
        known = Known(
            runs=within,
            low=found.low,
            high=found.high,
            drifts=drawn.drifts,
            outcomes=drawn.outcomes,
            charts=drawn.charts,
            against=drawn.against,
            uncharted=drawn.uncharted,
            checks=_checks(home, asked) if asked.customer is None else None,
        )
        page = render(asked, known, drawn.drawings, report, look, PictureTray(home.root))
        return assemble(page, (), _about(asked, report.firm or report.technician))


def _checks(home: Home, asked: Asked) -> Table | None:
    """What is due of presses and templates on the day of writing."""
    due = firm.checks_due(home, asked.now.date())
    if not due:
        return None
    kinds = {"press": say("Press"), "template": say("Template")}
    return Table(
        heading=say("Due for a check on {day}", day=wording.day(asked.now.date())),
        columns=(
            Column(heading=say("Name"), kind="any"),
            Column(heading=say("Kind"), kind="any"),
            Column(heading=say("Due"), kind="any"),
        ),
        rows=tuple(
            Row(cells=(
                each.name,
                kinds[each.kind],
                wording.day(each.due) if each.due else say("never checked"),
            ))
            for each in due
        ),
    )  # fmt: skip


def _about(asked: Asked, author: str) -> About:
    month = wording.month(asked.month.first_day)
    title = (
        say("Splices in {month}, {customer}", month=month, customer=asked.customer)
        if asked.customer
        else say("Splices in {month}", month=month)
    )
    return About(
        title=title,
        author=author or say("Splice service"),
        subject=say("Summary of the splices of a month"),
        language=language_tag(),
        written_at=asked.now,
        creator=f"Seamnote {__version__}",
        labels={},
    )
