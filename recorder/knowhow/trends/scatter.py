"""A setting against the gap that came of it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import groupby
from statistics import fmean

from recorder.knowhow.trends.chart import Pair, Scatter
from recorder.model.past import SETTINGS, PastRun

LEAST_PAIRS = 10  # fewer correlate by chance. Common practice, no source.


def scatter(field: str, runs: Iterable[PastRun]) -> Scatter:
    """Every run that has both. field: one of ``SETTINGS``, or 'cycle_time' or
    'ambient_temperature'.

    The correlation is Spearman's: of the ranks, with the mean rank for equal values. Gaps under the
    quantification limit are the smallest, all of one rank. Raises ValueError for another field.
    """
    if field not in (*SETTINGS, "cycle_time", "ambient_temperature"):
        raise ValueError(f"{field} is no setting of a press; use {', '.join(SETTINGS)}")
    pairs = tuple(
        Pair(
            job=run.job,
            setting=setting,
            gap=run.finger_gap,
            outcome=run.outcome,
            below=run.gap_below,
        )
        for run in runs
        if (setting := getattr(run, field)) is not None and run.finger_gap is not None
    )
    return Scatter(field=field, pairs=pairs, correlation=_correlation(pairs))


def _correlation(pairs: Sequence[Pair]) -> float | None:
    if len(pairs) < LEAST_PAIRS:
        return None
    settings = _ranks([pair.setting for pair in pairs])
    gaps = _ranks([-math.inf if pair.below else pair.gap for pair in pairs])
    middle = (len(pairs) + 1) / 2
    across = fmean((a - middle) * (b - middle) for a, b in zip(settings, gaps, strict=True))
    along = fmean((a - middle) ** 2 for a in settings) * fmean((b - middle) ** 2 for b in gaps)
    return across / math.sqrt(along) if along > 0 else None


def _ranks(values: Sequence[float]) -> list[float]:
    """From 1; equal values share the mean of their ranks."""
    order = sorted(range(len(values)), key=values.__getitem__)
    ranks = [0.0] * len(values)
    before = 0
    for _, group in groupby(order, key=values.__getitem__):
        places = list(group)
        for place in places:
            ranks[place] = before + (len(places) + 1) / 2
        before += len(places)
    return ranks
