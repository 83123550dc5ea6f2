"""The summary of the archive's last month: how long it takes, and whether it counts right."""

from __future__ import annotations

import re
import tempfile
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path

from pypdf import PdfReader

from recorder.archive.disk.home import Home
from recorder.flows.knowhow.summary import write_summary
from recorder.settings import Settings
from tests.bench.archive.figures import Figure, timed
from tests.bench.knowhow.jobs import Truth

MONTH = "2026-10"
MOST_S = 10.0
Writing = Callable[[Home, Settings, str, None, Path], object]


def figures(
    home: Home, truths: Sequence[Truth], written: Writing = write_summary
) -> tuple[list[Figure], list[str]]:
    """Seconds and pages; also each number of the first page that was not planted."""
    group = [truth for truth in truths if truth.job.startswith(MONTH.replace("-", ""))]
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / "summary.pdf"
        spent = timed(lambda: written(home, Settings(), MONTH, None, path))
        pages = PdfReader(path).pages
        mistakes = wrong(pages[0].extract_text(), group)
    jobs = len({truth.job for truth in group})
    note = f"{jobs:,} jobs, {len(pages)} pages, CPU {spent.cpu_s:.1f} s"
    return [Figure("monthly summary", spent.wall_s, "s", most=MOST_S, note=note)], mistakes


def wrong(text: str, group: Sequence[Truth]) -> list[str]:
    """What the first page says otherwise than the runs of the month."""
    plain = " ".join(text.split())
    planted = _planted(group)
    said = {name: re.search(rf"\b(\d+) {name}\b", plain) for name in planted}
    told = {name: int(found[1]) if found else 0 for name, found in said.items()}
    return [
        f"summary of {MONTH}: {told[name]} {name}, but {number} were planted"
        for name, number in planted.items()
        if told[name] != number
    ]


def _planted(group: Sequence[Truth]) -> dict[str, int]:
    """Numbers by what follows them on the page."""
    last = {(truth.job, truth.splice): truth.outcome for truth in group}  # by rising run
    by = Counter(last.values())
    return {
        "jobs?": len({truth.job for truth in group}),
        "press runs?": len(group),
        "accepted": by["accepted"],
        "to be reworked": by["rework"],
        "rejected": by["rejected"],
        "without an outcome": by[""],
    }
