"""A figure beside its target, and how seconds become figures."""

from __future__ import annotations

import dataclasses
import json
import os
import resource
import sys
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple


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


Found = tuple[list[Figure], list[str]]  # and what is wrong


def measured(
    chosen: Iterable[str],
    parts: Mapping[str, Callable[[], Found]],
    file: Path | None,
    about: Mapping[str, object],
) -> int:
    """Measure and print the chosen parts; 1 when an answer is wrong or a target is missed. file:
    for all figures as JSON, with what else is told about them.
    """
    figures: list[Figure] = []
    mistakes: list[str] = []
    for name in chosen:
        some, wrong = parts[name]()
        print("\n".join([f"{name}, load {os.getloadavg()[0]:.1f}", *map(str, some)]))
        print("".join(f"  WRONG {line}\n" for line in wrong), end="", flush=True)
        figures += some
        mistakes += wrong
    if file:
        told = [dataclasses.asdict(figure) | {"met": figure.met} for figure in figures]
        result = {**about, "figures": told, "wrong": mistakes}
        file.write_text(json.dumps(result, indent=2), encoding="utf-8")
    missed = [figure for figure in figures if figure.met is False]
    print(f"{len(mistakes)} wrong, {len(missed)} targets missed")
    return 1 if mistakes or missed else 0


def written(done: int, every: int) -> None:
    """How far the making of a home is."""
    if done % 5000 == 0:
        print(f"{done:,} of {every:,} jobs written", file=sys.stderr, flush=True)


class Spent(NamedTuple):
    """What a piece of work cost. wall_s: by the clock, also while other processes ran. cpu_s: of
    this process alone, or of the one that it started.
    """

    wall_s: float
    cpu_s: float


def timed(work: Callable[[], object], children: bool = False) -> Spent:
    """children: whether the work is done by processes that it starts and waits for."""
    cpu = _children_s if children else time.process_time
    cpu_before, begin = cpu(), time.perf_counter()
    work()
    return Spent(time.perf_counter() - begin, cpu() - cpu_before)


def quickest(work: Callable[[], object], repeats: int) -> Spent:
    """Of several times, after one that warms up: what else a machine does only adds."""
    work()
    spent = [timed(work) for _ in range(repeats)]
    return Spent(min(one.wall_s for one in spent), min(one.cpu_s for one in spent))


def percentile(values: Sequence[float], percent: int) -> float:
    """The smallest value that at least so many percent do not exceed."""
    ordered = sorted(values)
    return ordered[max(0, -(-len(ordered) * percent // 100) - 1)]


def spread(name: str, spent: Sequence[Spent], most_ms: float | None = None) -> list[Figure]:
    """p50 and p95 in ms; the target is one of p95."""
    return [
        Figure(
            f"{name}, p{percent}",
            percentile([one.wall_s for one in spent], percent) * 1e3,
            "ms",
            most=most_ms if percent == 95 else None,
            note=_cpu(percentile([one.cpu_s for one in spent], percent)),
        )
        for percent in (50, 95)
    ]


def single(name: str, spent: Spent, most_ms: float | None = None, note: str = "") -> Figure:
    """In ms."""
    told = ", ".join(filter(None, (_cpu(spent.cpu_s), note)))
    return Figure(name, spent.wall_s * 1e3, "ms", most=most_ms, note=told)


def _cpu(seconds: float) -> str:
    return f"CPU {seconds * 1e3:.1f} ms"


def _children_s() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime
