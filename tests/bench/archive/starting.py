"""Whole processes beside a large archive: what a person waits for on the command line."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys

from recorder.archive.disk.home import Home
from tests.bench.archive.figures import Figure, Spent, single, timed

RUNS = 9
SEARCH = ("search", "gasket", "--where", "top_temperature>=345.5degF")


def figures(home: Home) -> tuple[list[Figure], list[str]]:
    """Medians by wall clock; also one line for an engine that --help should not load."""
    found = [
        single(f"seamnote {option}", median(home, (option,)), most_ms=300)
        for option in ("--help", "--version")
    ]
    found.append(single("seamnote search, the whole process", median(home, SEARCH)))
    heavy = {"sqlalchemy", "sqlite3", "pint", "numpy"} & set(imported(home, "--help"))
    return found, [f"seamnote --help loads {name}" for name in sorted(heavy)]


def median(home: Home, arguments: tuple[str, ...]) -> Spent:
    spent = [timed(lambda: run(home, arguments), children=True) for _ in range(RUNS)]
    walls, cpus = zip(*spent, strict=True)
    return Spent(statistics.median(walls), statistics.median(cpus))


def imported(home: Home, *arguments: str) -> list[str]:
    """Names of the packages that a command loads."""
    lines = run(home, arguments, "-X", "importtime").stderr.splitlines()
    return [line.rpartition("|")[2].strip().partition(".")[0] for line in lines if "|" in line]


def run(home: Home, arguments: tuple[str, ...], *options: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *options, "-m", "recorder", *arguments],
        env={**os.environ, "SEAMNOTE_HOME": str(home.root)},
        capture_output=True,
        text=True,
        check=True,
    )
