"""Time, size and memory of writing a report: ``python -m tests.bench.report``.

Two jobs of ``tests.report.jobs`` with photos of 12 megapixels: three photos of one splice, and
twenty of three. Each is written by the flow that the command runs, as often as ``--runs`` says in
a process that has written one before; the least time counts, because whatever else the machine
does only adds to it. The parts are timed where the flow calls them. WeasyPrint's own time is that
of its ``write_pdf`` and of its reading of the HTML, within the same run. The peak of resident
memory is that of a process of its own, which writes the report once.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pikepdf

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.flows import report
from recorder.report.identity import identity
from recorder.report.page import weasy
from recorder.settings import ReportSettings, Settings
from tests.report import jobs

MEGAPIXELS = 12.0
PASSPHRASE = "of the bench"
SETTINGS = Settings(
    report=ReportSettings(
        firm="Quillback Belt Service", address="14 Tannery Row", technician="Imke Dorn"
    )
)


@dataclass(frozen=True)
class Target:
    """most_s: in a warm process. most_ratio: total by WeasyPrint's own time."""

    name: str
    make: jobs.Make
    most_s: float
    most_mb: float
    most_ratio: float | None = None
    most_peak_mb: float | None = None


TARGETS = (
    Target("3 photos, 1 splice", jobs.perfect, 2.5, 2.0, most_ratio=1.5),
    Target("20 photos, 3 splices", jobs.three_splices, 10.0, 5.0, most_peak_mb=500.0),
)
PARTS = ("render", "assemble", "certify")


class _Quiet:
    def stage(self, text: str) -> None:
        pass

    def share(self, done: float) -> None:
        pass


@contextmanager
def _timed(spent: dict[str, float]) -> Iterator[None]:
    """Seconds by part, while inside: the names under which the flow and the page call them."""
    places: list[tuple[Any, str]] = [(report, name) for name in PARTS] + [(weasy, "pdf")]
    before = [(module, name, getattr(module, name)) for module, name in places]

    def timing(name: str, function: Callable[..., Any]) -> Callable[..., Any]:
        def timed(*arguments: Any, **named: Any) -> Any:
            begin = time.perf_counter()
            try:
                return function(*arguments, **named)
            finally:
                spent[name] = spent.get(name, 0.0) + time.perf_counter() - begin

        return timed

    for module, name, function in before:
        setattr(module, name, timing(name, function))
    try:
        yield
    finally:
        for module, name, function in before:
            setattr(module, name, function)


def _write(home: Home, folder: JobFolder, key: identity.Identity) -> tuple[dict[str, float], Path]:
    spent: dict[str, float] = {}
    with _timed(spent):
        begin, cpu = time.perf_counter(), time.process_time()
        written = report.write(home, folder, SETTINGS, key, _Quiet())
        spent["total"] = time.perf_counter() - begin
        spent["cpu"] = time.process_time() - cpu
    return spent, written.path


def _key(home: Home) -> identity.Identity:
    path = home.identity / "signer.p12"
    if path.exists():
        return identity.load(path, PASSPHRASE)
    return identity.create(path, PASSPHRASE, "Imke Dorn", "Quillback Belt Service")


def measured(home: Home, folder: JobFolder, runs: int) -> dict[str, Any]:
    """What one job costs: seconds of the quickest run by part, pages, size_mb, peak_mb."""
    key = _key(home)
    _write(home, folder, key)
    spent, path = min((_write(home, folder, key) for _ in range(runs)), key=lambda r: r[0]["total"])
    with pikepdf.open(path) as pdf:
        pages = len(pdf.pages)
    return {
        **spent,
        "pages": pages,
        "size_mb": path.stat().st_size / 1e6,
        "peak_mb": _peak_mb(home, folder),
    }


def _peak_mb(home: Home, folder: JobFolder) -> float:
    """Of a new process that writes the report once. Not ru_maxrss, which a child starts with at
    its parent's size.
    """
    command = [sys.executable, "-m", "tests.bench.report", "--once", folder.id]
    done = subprocess.run(
        [*command, "--home", str(home.root)], capture_output=True, text=True, check=True
    )
    return float(json.loads(done.stdout)["peak_mb"])


def _once(home: Home, job: str) -> None:
    _write(home, JobFolder(home.jobs / job), _key(home))
    peak = Path("/proc/self/status").read_text().split("VmHWM:")[1].split()[0]
    print(json.dumps({"peak_mb": int(peak) / 1024}))


def _lines(target: Target, found: dict[str, Any]) -> Iterator[str]:
    def held(value: float, most: float | None) -> str:
        if most is None:
            return ""
        return f"{'met' if value <= most else 'MISSED':7} at most {most:g}"

    yield f"{target.name}, {found['pages']} pages"
    for part in PARTS:
        yield f"  {part:22} {found[part]:7.2f} s"
    rest = found["total"] - sum(found[part] for part in PARTS)
    yield f"  {'evidence and archive':22} {rest:7.2f} s"
    yield f"  {'total':22} {found['total']:7.2f} s   {held(found['total'], target.most_s)}"
    yield f"  {'total, CPU time':22} {found['cpu']:7.2f} s"
    yield f"  {'WeasyPrint alone':22} {found['pdf']:7.2f} s"
    ratio = found["total"] / found["pdf"]
    yield f"  {'total / WeasyPrint':22} {ratio:7.2f}     {held(ratio, target.most_ratio)}"
    yield f"  {'size':22} {found['size_mb']:7.2f} MB  {held(found['size_mb'], target.most_mb)}"
    peak = found["peak_mb"]
    yield f"  {'peak resident':22} {peak:7.0f} MB  {held(peak, target.most_peak_mb)}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else "")
    parser.add_argument("--runs", type=int, default=3, help="of which the quickest counts")
    parser.add_argument("--home", type=Path, help="where jobs and reports are kept (default: gone)")
    parser.add_argument("--once", metavar="JOB", help=argparse.SUPPRESS)
    arguments = parser.parse_args()
    if arguments.once:
        _once(Home.open(arguments.home), arguments.once)
        return
    with tempfile.TemporaryDirectory() as place:
        home = Home.open(arguments.home or Path(place))
        print(f"load of this machine {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
        for target in TARGETS:
            folder = jobs.into_home(home, target.make, MEGAPIXELS)
            print("\n".join(_lines(target, measured(home, folder, arguments.runs))), flush=True)


if __name__ == "__main__":
    main()
