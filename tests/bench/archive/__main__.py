"""A large archive against its targets: finding, adding, making the index anew, starting.

python -m tests.bench.archive [--jobs 100000] [--home DIR] [--only PART] [--json FILE]
"""

from __future__ import annotations

import argparse
import gc
import os
import tempfile
from collections.abc import Callable
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.archive.index.index import bring_up_to_date
from tests.bench.archive import changing, keeping, searching, starting
from tests.bench.archive.figures import Found, measured, written
from tests.bench.archive.home import made, truth_of

PARTS = ("finding", "opening", "adding", "starting", "keeping", "rebuilding")


def parts(home: Home, jobs: int, queries: int, kept: int) -> dict[str, Callable[[], Found]]:
    """What can be measured, by the word for --only; each gives figures and mistakes."""
    truth = truth_of(home)
    gc.collect()
    gc.freeze()  # else a search waits while Python looks through what the bench alone knows
    return {
        "finding": lambda: searching.figures(home, truth, queries),
        "opening": lambda: (changing.opening(home), []),
        "adding": lambda: (changing.adding(home, jobs, 40), []),
        "starting": lambda: starting.figures(home),
        "keeping": lambda: keeping.figures(home.root / "bench", kept),
        "rebuilding": lambda: changing.rebuilding(home),
    }


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--jobs", type=int, default=100_000)
    parser.add_argument("--queries", type=int, default=240, help="with word and range")
    parser.add_argument("--kept", type=int, default=300, help="jobs for check and backup")
    parser.add_argument("--home", type=Path, help="kept, and used again when it fits")
    parser.add_argument("--only", action="append", choices=PARTS, help="may be repeated")
    parser.add_argument("--json", type=Path, help="a file for all figures")
    parser.add_argument("--rebuild-once", type=Path, help=argparse.SUPPRESS)
    arguments = parser.parse_args()
    if arguments.rebuild_once:
        changing.rebuild_once(Home.open(arguments.rebuild_once))
        return 0
    with tempfile.TemporaryDirectory() as place:
        return _measure(arguments, arguments.home or Path(place) / "home")


def _measure(arguments: argparse.Namespace, root: Path) -> int:
    """1 when an answer is wrong or a target is missed."""
    home = made(root, arguments.jobs, progress=written)
    readings = truth_of(home).readings
    print(f"{arguments.jobs:,} jobs with {readings:,} readings; load {os.getloadavg()[0]:.1f}"
          f" on {os.cpu_count()} cores", flush=True)  # fmt: skip
    every = parts(home, arguments.jobs, arguments.queries, arguments.kept)
    chosen = arguments.only or list(every)
    if set(chosen) - {"rebuilding", "keeping"}:
        bring_up_to_date(home)
    return measured(chosen, every, arguments.json, {"jobs": arguments.jobs, "readings": readings})


if __name__ == "__main__":
    raise SystemExit(main())
