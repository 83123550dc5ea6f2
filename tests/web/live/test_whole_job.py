"""A whole job by voice, on a machine that has no network at all."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.flows import verify
from recorder.model.reading import Standing

# With the loopback alone, and no route to anywhere.
ALONE = ("unshare", "--net", "sh", "-c", 'ip link set lo up && exec "$@"', "sh")


def test_a_whole_job_by_voice_without_any_network(tmp_path: Path) -> None:
    command = [*ALONE, sys.executable, "-m", "tests.web.live.whole_job", str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=400, check=False)
    assert done.returncode == 0, done.stderr[-4000:]
    came = json.loads(done.stdout.splitlines()[-1])
    assert came["hosts"] == ["localhost"]
    assert any("seventy-two" in question for question in came["questions"])

    home = Home.open(tmp_path / "home", create=False)
    folder = JobFolder(home.jobs / came["job"])
    job = folder.load()
    values = {each.field: each for each in job.readings if each.standing is not Standing.DOUBTFUL}
    assert job.complete
    assert values["isolation_confirmed"].value is True
    assert values["pressure"].value == 2
    assert values["top_temperature"].value == 172
    (seam,) = job.measurements
    assert seam.decision == "within"
    assert [each.file for each in job.recordings] == ["recording_1.flac"]
    (report,) = folder.reports.glob("*.pdf")
    assert not verify.check(home, report, 1).failed
