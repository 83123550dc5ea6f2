"""What a large archive teaches, against its targets and against what was planted in it.

python -m tests.bench.knowhow [--jobs 100000] [--home DIR] [--only PART] [--json FILE]
"""

from __future__ import annotations

import argparse
import dataclasses
import json
import os
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.archive.index.index import bring_up_to_date
from tests.bench.archive.figures import Figure
from tests.bench.knowhow import recipes, summary, trends
from tests.bench.knowhow.home import made, truth_of

PARTS = ("recipes", "trends", "summary")
Found = tuple[list[Figure], list[str]]


def parts(home: Home, jobs: int, asked: int) -> dict[str, Callable[[], Found]]:
    """What can be measured, by the word for --only; each gives figures and mistakes."""
    truths = truth_of(home)
    return {
        "recipes": lambda: recipes.figures(home, jobs, truths, asked),
        "trends": lambda: trends.figures(home, jobs, truths),
        "summary": lambda: summary.figures(home, truths),
    }


def main(arguments: list[str] | None = None) -> int:
    """1 when an answer is wrong or a target is missed."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--jobs", type=int, default=100_000)
    parser.add_argument("--asked", type=int, default=200, help="belts that are asked about")
    parser.add_argument("--home", type=Path, help="kept, and used again when it fits")
    parser.add_argument("--only", action="append", choices=PARTS, help="may be repeated")
    parser.add_argument("--json", type=Path, help="a file for all figures")
    chosen = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as place:
        return _measure(chosen, chosen.home or Path(place) / "home")


def _measure(chosen: argparse.Namespace, root: Path) -> int:
    home = made(root, chosen.jobs, progress=_told)
    bring_up_to_date(home)
    print(f"{chosen.jobs:,} jobs; load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores",
          flush=True)  # fmt: skip
    every = parts(home, chosen.jobs, chosen.asked)
    figures: list[Figure] = []
    mistakes: list[str] = []
    for name in chosen.only or every:
        some, wrong = every[name]()
        print("\n".join([f"{name}, load {os.getloadavg()[0]:.1f}", *map(str, some)]))
        print("".join(f"  WRONG {line}\n" for line in wrong), end="", flush=True)
        figures += some
        mistakes += wrong
    if chosen.json:
        told = [dataclasses.asdict(figure) | {"met": figure.met} for figure in figures]
        result = {"jobs": chosen.jobs, "figures": told, "wrong": mistakes}
        chosen.json.write_text(json.dumps(result, indent=2), encoding="utf-8")
    missed = [figure for figure in figures if figure.met is False]
    print(f"{len(mistakes)} wrong, {len(missed)} targets missed")
    return 1 if mistakes or missed else 0


def _told(done: int, every: int) -> None:
    if done % 5000 == 0:
        print(f"{done:,} of {every:,} jobs written", file=sys.stderr, flush=True)


if __name__ == "__main__":
    raise SystemExit(main())
