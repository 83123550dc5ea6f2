"""Past jobs are asked by voice in the browser, and answered from the archive."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder


def test_past_jobs_are_asked_by_voice(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "tests.web.live.past_asked", str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=300, check=False)
    assert done.returncode == 0, done.stderr[-4000:]
    came = json.loads(done.stdout.splitlines()[-1])
    said = " ".join(came["said"])
    assert "Three of three accepted on such a belt." in said
    assert "Top one seventy-three." in said
    assert "Template F 80 fits. Used three times on such a belt." in said
    assert "accepted jobs used one seventy-two to one seventy-four. Is one eighty-five meant?" in (
        said
    )
    assert said.endswith("Okay.")

    job = JobFolder(Home.open(tmp_path / "home", create=False).jobs / came["job"]).load()
    (note,) = [each.text for each in job.notes if "is meant" in each.text]
    assert note.startswith("Top platen 185 °C is meant; 3 accepted runs on such a belt")
