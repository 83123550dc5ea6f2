"""What a large archive teaches, against its targets and against what was planted in it.

python -m tests.bench.knowhow [--jobs 100000] [--home DIR] [--only PART] [--json FILE]
"""

from __future__ import annotations

import argparse
import os
import tempfile
from collections.abc import Callable
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.archive.index.index import bring_up_to_date
from tests.bench.archive.figures import Found, measured, written
from tests.bench.knowhow import recipes, summary, trends
from tests.bench.knowhow.home import made, truth_of

PARTS = ("recipes", "trends", "summary")


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
    home = made(root, chosen.jobs, progress=written)
    bring_up_to_date(home)
    print(f"{chosen.jobs:,} jobs; load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores",
          flush=True)  # fmt: skip
    every = parts(home, chosen.jobs, chosen.asked)
    return measured(chosen.only or every, every, chosen.json, {"jobs": chosen.jobs})


if __name__ == "__main__":
    raise SystemExit(main())
