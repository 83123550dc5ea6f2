"""The splices of a month: what became of each, counted and as a table."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from recorder.model.fields import FIELDS, choice_label
from recorder.model.past import OUTCOMES, PastRun, last_runs
from recorder.model.units import UNITS, convert
from recorder.report.content import formats
from recorder.report.content.frame import Mark
from recorder.report.content.text import brief
from recorder.report.summary.context import Column, Row, Table
from recorder.report.wording.wording import count, digits, say

MOST_ROWS = 200  # four pages; who wants more wants a search
_SIGNS = {"accepted": "✓", "rework": "→", "rejected": "✗", "open": "–"}
_NONE = "–"
_LONGEST_NAME = 36


def last_of_each(runs: Iterable[PastRun]) -> tuple[PastRun, ...]:
    """The last press run of each splice; the oldest job first."""
    return tuple(sorted(last_runs(runs), key=lambda run: (run.at, run.job, run.splice)))


def outcomes(splices: Iterable[PastRun]) -> dict[str, int]:
    """How many splices by outcome; 'open' for what nobody settled."""
    found = dict.fromkeys((*OUTCOMES, "open"), 0)
    for splice in splices:
        found[splice.outcome or "open"] += 1
    return found


def counts(splices: Sequence[PastRun], runs: int) -> tuple[Mark, ...]:
    """In words: jobs, splices by outcome, press runs, photos that measured."""
    if not splices:
        return (_mark("some", "", count("{n} job", "{n} jobs", 0)),)
    by = outcomes(splices)
    jobs = len({splice.job for splice in splices})
    measured = sum(splice.finger_gap is not None for splice in splices)
    open_ = by["open"]
    return (
        _mark("some", "", count("{n} job", "{n} jobs", jobs)),
        _mark("some", "", count("{n} press run", "{n} press runs", runs)),
        _mark("some", _SIGNS["accepted"], say("{n} accepted", n=by["accepted"])),
        _mark("some", _SIGNS["rework"], say("{n} to be reworked", n=by["rework"])),
        _mark("some", _SIGNS["rejected"], say("{n} rejected", n=by["rejected"])),
        *([_mark("some", _SIGNS["open"], say("{n} without an outcome", n=open_))] if open_ else []),
        _mark("some", "", count("{n} measured gap", "{n} measured gaps", measured)),
    )


def table(splices: Sequence[PastRun], customers: bool, units: dict[str, str]) -> Table | None:
    """The newest first. customers: whether a column names them. units: the reader's."""
    if not splices:
        return None
    newest = sorted(splices, key=lambda each: (each.at, each.job, -each.splice), reverse=True)
    columns = [
        Column(heading=say("Job"), kind="name"),
        Column(heading=say("Day"), kind="day"),
        Column(heading=say("Splice"), kind="place"),
        Column(heading=say("Outcome"), kind="became"),
        *([Column(heading=formats.label("customer"), kind="any")] if customers else []),
        Column(heading=formats.label("belt_material"), kind="any"),
        Column(heading=formats.label("press"), kind="press"),
        Column(heading=formats.label("template"), kind="template"),
        Column(heading=say("{what} in {unit}", what=formats.label("finger_gap"),
                           unit=_units("finger_gap", units)),
               kind="number" if units.get("length", "mm") == "mm" else "both"),
    ]  # fmt: skip
    return Table(
        heading=say("Splices of the month"),
        columns=tuple(columns),
        rows=tuple(_row(each, customers, units) for each in newest[:MOST_ROWS]),
        remark=say("The {n} newest of {all} are shown.", n=MOST_ROWS, all=len(newest))
        if len(newest) > MOST_ROWS
        else "",
    )


def _row(splice: PastRun, customers: bool, units: dict[str, str]) -> Row:
    outcome = splice.outcome or "open"
    word = say(choice_label(splice.outcome)) if splice.outcome else say("open")
    return Row(
        cells=(
            splice.job_number or splice.job,
            splice.at.astimezone().date().isoformat(),
            say("{splice}, run {run}", splice=splice.splice, run=splice.run)
            if splice.run > 1
            else str(splice.splice),
            f"{_SIGNS[outcome]} {word}",
            *([_name(splice.customer)] if customers else []),
            _name(splice.belt_material),
            _name(splice.press),
            _name(splice.template),
            gap(splice, units),
        )
    )


def _name(told: str | None) -> str:
    return brief(told, _LONGEST_NAME) if told else _NONE


def gap(splice: PastRun, units: dict[str, str]) -> str:
    """The measured gap with its uncertainty, and in the reader's unit; no symbols."""
    if splice.finger_gap is None:
        return _NONE
    told = [
        with_u(convert(splice.finger_gap, "mm", unit),
               convert(splice.finger_gap_U or 0.0, "mm", unit), UNITS[unit].decimals)
        for unit in dict.fromkeys(("mm", units.get("length", "mm")))
    ]  # fmt: skip
    if splice.gap_below:
        told = [say("below {value}", value=each.partition(" ±")[0]) for each in told]
    return " / ".join(told)


def with_u(value: float, U: float, decimals: int) -> str:
    """'0.21 ± 0.05', or the value alone where its uncertainty is not known."""
    text = f"{value:z.{decimals}f}" + (f" ± {U:.{decimals}f}" if U else "")
    return digits(text)


def _units(field: str, units: dict[str, str]) -> str:
    canonical = str(FIELDS[field].unit)
    wanted = units.get(UNITS[canonical].dimension, canonical)
    return " / ".join(UNITS[unit].symbol for unit in dict.fromkeys((canonical, wanted)))


def _mark(kind: str, sign: str, word: str) -> Mark:
    return Mark(kind=kind, sign=sign, word=word)
