"""The annex: every measured photo with all of its numbers, limits and uncertainty budgets."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from recorder.model.characteristics import CHARACTERISTICS
from recorder.model.job import Job, PhotoNote
from recorder.model.measurement import BudgetTerm, Measurement, SeamMeasurement
from recorder.model.splices import numbers, photos, unplaced
from recorder.report.content.context import Annex, Finding
from recorder.report.content.measured import DECISION, shown_or_not
from recorder.report.content.splices import STAGE

_LEAST_SHARE = 0.005  # of a variance: terms below it are listed last, without their shares


def pages(job: Job) -> tuple[Annex, ...]:
    """One part for each photo with an uncertainty budget: by splice, in the order of the record."""
    several = len(numbers(job)) > 1
    shown = [
        (_heading(note, several), found)
        for note, found in sorted(photos(job), key=lambda pair: pair[0].splice)
    ]
    results = {found.file: found for found in job.measurements}
    shown += [(f"Without a splice: {name}", results.get(name)) for name in unplaced(job)]
    return tuple(_annex(heading, found) for heading, found in shown if found and found.budget)


def _heading(note: PhotoNote, several: bool) -> str:
    splice = f"Splice {note.splice}, " if several else ""
    stage = STAGE[note.stage]
    return f"{splice}{stage.lower() if splice else stage}: {note.file}"


def _annex(heading: str, found: SeamMeasurement) -> Annex:
    return Annex(
        heading=heading,
        decision=DECISION[found.decision] if found.decision else None,
        findings=tuple(_findings(found)),
        facts=tuple(_facts(found)),
        remarks=(*(f"Look: {flag.text}" for flag in found.flags), *found.warnings),
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
            u=_combined(value) if value else "",
            terms=_terms(found.budget.get(name, ()), value) if value else "",
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
    yield from _flanks(found)


def _flanks(found: SeamMeasurement) -> Iterator[str]:
    if found.flanks:
        gaps = "; ".join(
            f"{each.flank}: {each.gap_mean.shown(unit=False)}, {each.gap_max.shown(unit=False)}"
            for each in found.flanks
        )
        yield f"Mean and largest gap by flank, mm: {gaps}."


def _combined(value: Measurement) -> str:
    return f"{value.U / value.k:.{_decimals(value.U / value.k)}f}"


def _terms(budget: Sequence[BudgetTerm], value: Measurement) -> str:
    """'lens 0.0040 (64 %), blur 0.0030 (36 %)', the largest share first.

    With their degrees of freedom if they have any; terms of zero are left out. The share of a term
    is its covariance with the sum over the variance of the sum, so that shares add up to one in a
    group of correlated terms too.
    """
    decimals = _decimals(value.U / value.k)
    causes = [term.group or str(number) for number, term in enumerate(budget)]
    sums = dict.fromkeys(causes, 0.0)
    for cause, term in zip(causes, budget, strict=True):
        sums[cause] += term.u
    variance = sum(u * u for u in sums.values())
    if not variance:
        return ""
    shares = [
        (term.u * sums[cause] / variance, term)
        for cause, term in zip(causes, budget, strict=True)
        if term.u != 0
    ]
    shares.sort(key=lambda pair: -abs(pair[0]))
    large = [
        f"{_term(term, decimals)} ({_percent(share)})"
        for share, term in shares
        if abs(share) >= _LEAST_SHARE
    ]
    small = [_term(term, decimals) for share, term in shares if abs(share) < _LEAST_SHARE]
    return "; ".join(filter(None, (", ".join(large), _each_small(small))))


def _each_small(terms: Sequence[str]) -> str:
    return f"below 0.5 % each: {', '.join(terms)}" if terms else ""


def _term(term: BudgetTerm, decimals: int) -> str:
    dof = f", ν = {term.dof:g}" if term.dof is not None and math.isfinite(term.dof) else ""
    return f"{term.name} {_number(term.u, decimals)}{dof}"


def _number(u: float, decimals: int) -> str:
    least = 10.0**-decimals
    return f"< {least:.{decimals}f}" if 0 < u < least / 2 else f"{u:.{decimals}f}"


def _percent(share: float) -> str:
    return f"{share:.0%}".replace("%", " %")


def _decimals(u: float) -> int:
    """Three significant digits of a combined standard uncertainty, two of it for its terms."""
    return 3 if u <= 0 else min(6, max(1, 2 - math.floor(math.log10(u))))
