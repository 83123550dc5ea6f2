"""The annex: every measured photo with all of its numbers, limits and uncertainty budgets."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from recorder.model.characteristics import CHARACTERISTICS
from recorder.model.job import Job, PhotoNote
from recorder.model.measurement import BudgetTerm, Measurement, SeamMeasurement
from recorder.model.splices import numbers, photos, unplaced
from recorder.report.content import formats
from recorder.report.content.measured import decision_mark, shown_or_not
from recorder.report.content.sources import Annex, Finding
from recorder.report.wording.wording import count, digits, noted, number, say

_OF_SPLICE = {
    "before": noted("Splice {splice}, before pressing: {file}"),
    "after": noted("Splice {splice}, after pressing: {file}"),
    "": noted("Splice {splice}, photo: {file}"),
}
_OF_JOB = {
    "before": noted("Before pressing: {file}"),
    "after": noted("After pressing: {file}"),
    "": noted("Photo: {file}"),
}
_LEAST_SHARE = 0.005  # of a variance: terms below it are listed last, without their shares


def pages(job: Job) -> tuple[Annex, ...]:
    """One part for each photo with an uncertainty budget: by splice, in the order of the record."""
    several = len(numbers(job)) > 1
    shown = [
        (_heading(note, several), found)
        for note, found in sorted(photos(job), key=lambda pair: pair[0].splice)
    ]
    results = {found.file: found for found in job.measurements}
    shown += [
        (say("Without a splice: {file}", file=name), results.get(name)) for name in unplaced(job)
    ]
    return tuple(_annex(heading, found) for heading, found in shown if found and found.budget)


def _heading(note: PhotoNote, several: bool) -> str:
    text = (_OF_SPLICE if several else _OF_JOB)[note.stage]
    return say(text, splice=note.splice, file=note.file)


def _annex(heading: str, found: SeamMeasurement) -> Annex:
    return Annex(
        heading=heading,
        decision=decision_mark(found.decision) if found.decision else None,
        findings=tuple(_findings(found)),
        facts=tuple(_facts(found)),
        remarks=(
            *(say("Look: {flag}", flag=flag.text) for flag in found.flags),
            *found.warnings,
        ),
    )


def _findings(found: SeamMeasurement) -> Iterator[Finding]:
    limits = {limit.name: limit for limit in found.limits}
    for name, each in CHARACTERISTICS.items():
        value, limit = getattr(found, name), limits.get(each.limited or "")
        if value is None and limit is None:
            continue
        decision = found.decisions.get(limit.name) if limit else None
        yield Finding(
            label=say(each.label),
            value=shown_or_not(value),
            decision=decision_mark(decision) if decision else None,
            limit=formats.limit(limit) if limit else "",
            source=(limit.source or say("source not given")) if limit else "",
            conformity=_probability(found.conformity.get(limit.name)) if limit else "",
            u=_combined(value) if value else "",
            terms=_terms(found.budget.get(name, ()), value) if value else "",
        )


def _probability(share: float | None) -> str:
    """Never rounded to a certainty."""
    if share is None:
        return ""
    if share > 0.999:
        return say("over {share}", share=formats.percent(0.999, 1))
    if share < 0.001:
        return say("under {share}", share=formats.percent(0.001, 1))
    return formats.percent(share, 1)


def _facts(found: SeamMeasurement) -> Iterator[str]:
    if found.gap_max_at is not None:
        place = formats.place(found.gap_max_at)
        flank = next((r.flank for r in found.gap_profile if r.at == found.gap_max_at), None)
        if flank:
            yield say("The gap is largest {place}, on flank {flank}.", place=place, flank=flank)
        else:
            yield say("The gap is largest {place}.", place=place)
    if found.finger_count is not None:
        yield count("{n} finger.", "{n} fingers.", found.finger_count)
    if found.lens:
        yield say("Lens: {lens}.", lens=found.lens)
    if found.scale_px_per_mm is not None:
        scale = number(found.scale_px_per_mm, 1)
        yield say("{scale} pixels a millimetre at the splice.", scale=scale)
    yield from _flanks(found)


def _flanks(found: SeamMeasurement) -> Iterator[str]:
    """Each as '3: 0.09 ± 0.05 / 0.15 ± 0.08'; a comma would be a decimal mark elsewhere."""
    if found.flanks:
        gaps = "; ".join(
            f"{each.flank}: {formats.measurement(each.gap_mean, unit=False)} / "
            f"{formats.measurement(each.gap_max, unit=False)}"
            for each in found.flanks
        )
        yield say("Mean / largest gap by flank, mm: {gaps}.", gaps=gaps)


def _combined(value: Measurement) -> str:
    return number(value.U / value.k, _decimals(value.U / value.k))


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
        f"{_term(term, decimals)} ({formats.percent(share)})"
        for share, term in shares
        if abs(share) >= _LEAST_SHARE
    ]
    small = [_term(term, decimals) for share, term in shares if abs(share) < _LEAST_SHARE]
    return "; ".join(filter(None, (", ".join(large), _each_small(small))))


def _each_small(terms: Sequence[str]) -> str:
    if not terms:
        return ""
    share = formats.percent(_LEAST_SHARE, 1)
    return say("below {share} each: {terms}", share=share, terms=", ".join(terms))


def _term(term: BudgetTerm, decimals: int) -> str:
    finite = term.dof is not None and math.isfinite(term.dof)
    dof = f", ν = {digits(f'{term.dof:g}')}" if finite else ""
    return f"{term.name} {_u(term.u, decimals)}{dof}"


def _u(u: float, decimals: int) -> str:
    least = 10.0**-decimals
    return f"< {number(least, decimals)}" if 0 < u < least / 2 else number(u, decimals)


def _decimals(u: float) -> int:
    """Three significant digits of a combined standard uncertainty, two of it for its terms."""
    return 3 if u <= 0 else min(6, max(1, 2 - math.floor(math.log10(u))))
