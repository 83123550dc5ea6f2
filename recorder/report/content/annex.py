"""The annex: every measured photo with all of its numbers, limits and uncertainty budgets."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TypeVar

from recorder.model import units
from recorder.model.characteristics import CHARACTERISTICS, Characteristic
from recorder.model.job import Job, PhotoNote
from recorder.model.measurement import BudgetTerm, SeamMeasurement
from recorder.model.splices import numbers, photos, unplaced
from recorder.report.content.context import Annex, Budget, Contribution, Finding, Flanks
from recorder.report.content.measured import DECISION, shown_or_not
from recorder.report.content.pictures import PictureTray
from recorder.report.content.splices import STAGE

_COLUMNS = 7  # of a budget, on the width of a page
_FLANKS = 10

Some = TypeVar("Some")


def pages(job: Job, tray: PictureTray) -> tuple[Annex, ...]:
    """One part for each photo with an uncertainty budget: by splice, in the order of the record."""
    several = len(numbers(job)) > 1
    shown = [
        (_heading(note, several), found)
        for note, found in sorted(photos(job), key=lambda pair: pair[0].splice)
    ]
    results = {found.file: found for found in job.measurements}
    shown += [(f"Without a splice: {name}", results.get(name)) for name in unplaced(job)]
    return tuple(_annex(heading, found, tray) for heading, found in shown if found and found.budget)


def _heading(note: PhotoNote, several: bool) -> str:
    splice = f"Splice {note.splice}, " if several else ""
    stage = STAGE[note.stage]
    return f"{splice}{stage.lower() if splice else stage}: {note.file}"


def _annex(heading: str, found: SeamMeasurement, tray: PictureTray) -> Annex:
    plot, alt = "", ""
    if found.plot:
        alt = f"The gap along the seam in {found.file}"
        try:
            plot = tray.add(found.plot)
        except ValueError as error:
            alt = f"The plot of the gap along the seam is not shown: {error}."
    return Annex(
        heading=heading,
        decision=DECISION[found.decision] if found.decision else None,
        findings=tuple(_findings(found)),
        facts=tuple(_facts(found)),
        remarks=(*(f"Look: {flag.text}" for flag in found.flags), *found.warnings),
        plot=plot,
        alt=alt,
        flanks=tuple(
            Flanks(
                numbers=tuple(f"flank {each.flank}" for each in some),
                mean=tuple(each.gap_mean.shown().removesuffix(" mm") for each in some),
                largest=tuple(each.gap_max.shown().removesuffix(" mm") for each in some),
            )
            for some in _in_parts(found.flanks, _FLANKS)
        ),
        budgets=tuple(_budgets(found)),
    )


def _findings(found: SeamMeasurement) -> Iterator[Finding]:
    limits = {limit.name: limit for limit in found.limits}
    for name, each in CHARACTERISTICS.items():
        value, limit = getattr(found, name), limits.get(each.limited or "")
        if value is None and limit is None:
            continue
        decision = found.decisions.get(limit.name) if limit else None
        yield Finding(
            label=each.label,
            value=shown_or_not(value),
            decision=DECISION[decision] if decision else None,
            limit=limit.shown() if limit else "",
            source=(limit.source or "source not given") if limit else "",
            conformity=_probability(found.conformity.get(limit.name)) if limit else "",
        )


def _probability(share: float | None) -> str:
    """Never rounded to a certainty."""
    if share is None:
        return ""
    if share > 0.999:
        return "over 99.9 %"
    return f"{share:.1%}".replace("%", " %") if share >= 0.001 else "under 0.1 %"


def _facts(found: SeamMeasurement) -> Iterator[str]:
    if found.gap_max_at is not None:
        flank = next((r.flank for r in found.gap_profile if r.at == found.gap_max_at), None)
        on = f", on flank {flank}" if flank else ""
        yield f"The gap is largest {found.gap_max_at.shown()}{on}."
    if found.finger_count is not None:
        yield f"{found.finger_count} finger{'' if found.finger_count == 1 else 's'}."
    if found.lens:
        yield f"Lens: {found.lens}."
    if found.scale_px_per_mm is not None:
        yield f"{found.scale_px_per_mm:.1f} pixels a millimetre at the splice."


def _budgets(found: SeamMeasurement) -> Iterator[Budget]:
    listed = [
        each
        for name, each in CHARACTERISTICS.items()
        if found.budget.get(name) and getattr(found, name) is not None
    ]
    for some in _in_parts(listed, _COLUMNS):
        yield _budget(found, some)


def _budget(found: SeamMeasurement, columns: Sequence[Characteristic]) -> Budget:
    values = [getattr(found, each.name) for each in columns]
    decimals = [_decimals(value.U / value.k) for value in values]
    cells = [
        _cells(found.budget[each.name], places)
        for each, places in zip(columns, decimals, strict=True)
    ]
    names = dict.fromkeys(name for column in cells for name in column)
    return Budget(
        of=tuple(
            f"{each.label}, {units.UNITS[value.unit].symbol}"
            for each, value in zip(columns, values, strict=True)
        ),
        contributions=tuple(
            Contribution(
                term=name[:1].upper() + name[1:],
                u=tuple(column.get(name, "") for column in cells),
            )
            for name in names
        ),
        combined=tuple(f"{v.U / v.k:.{d}f}" for v, d in zip(values, decimals, strict=True)),
        expanded=tuple(f"{v.U:.{d}f} (k = {v.k:g})" for v, d in zip(values, decimals, strict=True)),
    )


def _cells(budget: Sequence[BudgetTerm], decimals: int) -> dict[str, str]:
    """'0.0148 · 41 %' by term, where it is not zero; with its degrees of freedom if it has any.

    The share of a term is its covariance with the sum over the variance of the sum, so that shares
    add up to one in a group of correlated terms too.
    """
    causes = [term.group or str(number) for number, term in enumerate(budget)]
    sums = dict.fromkeys(causes, 0.0)
    for cause, term in zip(causes, budget, strict=True):
        sums[cause] += term.u
    variance = sum(u * u for u in sums.values())
    return {
        term.name: f"{_number(term.u, decimals)} · {_percent(term.u * sums[cause] / variance)}"
        + (f", ν = {term.dof:g}" if term.dof is not None and math.isfinite(term.dof) else "")
        for cause, term in zip(causes, budget, strict=True)
        if term.u != 0 and variance > 0
    }


def _number(u: float, decimals: int) -> str:
    least = 10.0**-decimals
    return f"< {least:.{decimals}f}" if 0 < u < least / 2 else f"{u:.{decimals}f}"


def _percent(share: float) -> str:
    return "< 1 %" if 0 <= share < 0.005 else f"{share:.0%}".replace("%", " %")


def _decimals(u: float) -> int:
    """Three significant digits of a combined standard uncertainty, two of it for its terms."""
    return 3 if u <= 0 else min(6, max(1, 2 - math.floor(math.log10(u))))


def _in_parts(values: Sequence[Some], most: int) -> Iterator[Sequence[Some]]:
    """As few parts as there must be, of equal length as far as possible."""
    parts = math.ceil(len(values) / most)
    length = math.ceil(len(values) / parts) if parts else 0
    for part in range(parts):
        yield values[part * length : (part + 1) * length]
