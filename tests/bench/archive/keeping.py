"""Check and backup of a smaller archive with originals of some size, for information."""

from __future__ import annotations

import shutil
from pathlib import Path

from recorder.flows import archive
from recorder.flows.backup import backup
from tests.bench.archive.figures import Figure, timed
from tests.bench.archive.home import made

MEDIA_BYTES = 250_000


class _Quiet:
    def stage(self, text: str) -> None:
        pass

    def share(self, done: float) -> None:
        pass


def figures(root: Path, count: int) -> tuple[list[Figure], list[str]]:
    """Of ``count`` jobs, in a new home under ``root``; also every fault that is found in them."""
    home = made(root / "kept", count, MEDIA_BYTES)
    archive.rebuild(home, _Quiet())
    size_mb = sum(path.stat().st_size for path in home.jobs.rglob("*") if path.is_file()) / 1e6
    faults: list[str] = []
    checked = timed(lambda: faults.extend(archive.check(home, _Quiet()).faults)).wall_s
    target = root / "kept.zip"
    kept = timed(lambda: backup(home, target, keys=False, replace=True, progress=_Quiet())).wall_s
    found = [
        Figure("archive check", count / checked, "jobs/s", note=f"{size_mb / checked:.0f} MB/s"),
        Figure("backup, read back", count / kept, "jobs/s", note=f"{size_mb / kept:.0f} MB/s"),
        Figure("backup, its size", target.stat().st_size / size_mb / 1e4, "%", note="of the jobs"),
    ]
    target.unlink()
    shutil.rmtree(home.root)
    return found, faults
