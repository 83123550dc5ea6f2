"""A figure beside its target, and how seconds become figures."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Figure:
    """most, least: the target; a figure without one is for information. note: for people."""

    name: str
    value: float
    unit: str
    most: float | None = None
    least: float | None = None
    note: str = ""

    @property
    def met(self) -> bool | None:
        if self.most is not None:
            return self.value <= self.most
        return self.value >= self.least if self.least is not None else None

    def __str__(self) -> str:
        digits = 0 if self.value >= 1000 else 1 if self.value >= 10 else 2
        target = f"at most {self.most:g}" if self.most is not None else f"at least {self.least}"
        told = {None: "", True: f"met     {target}", False: f"MISSED  {target}"}[self.met]
        text = f"  {self.name:46} {self.value:10,.{digits}f} {self.unit:6} {told}"
        return f"{text.rstrip()}   {self.note}".rstrip()


def quickest(work: Callable[[], object], repeats: int) -> float:
    """Seconds of the quickest time, after one that warms up: what else a machine does only adds."""
    work()
    return min(timed(work) for _ in range(repeats))


def timed(work: Callable[[], object]) -> float:
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


def percentile(values: Sequence[float], percent: int) -> float:
    """The smallest value that at least so many percent do not exceed."""
    ordered = sorted(values)
    return ordered[max(0, -(-len(ordered) * percent // 100) - 1)]


def spread(name: str, seconds: Sequence[float], most_ms: float | None = None) -> list[Figure]:
    """p50 and p95 in ms; the target is one of p95."""
    return [
        Figure(f"{name}, p50", statistics.median(seconds) * 1e3, "ms"),
        Figure(f"{name}, p95", percentile(seconds, 95) * 1e3, "ms", most=most_ms),
    ]
