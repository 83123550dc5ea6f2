"""What the command line of SQLite reads out of a table of press runs.

Its ``.import --csv`` reads RFC 4180 by code of its own:
https://www.sqlite.org/cli.html#importing_files_as_csv_or_other_formats
"""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.flows.export import export_text
from tests.archive.sample_jobs import add_job, from_card, reading
from tests.flows.test_backup import Silent

CUSTOMER = 'Müller, "Söhne"\nund Töchter; \\N | Lager 2'


def test_sqlite_reads_what_was_told(tmp_path: Path) -> None:
    home = Home.open(tmp_path / "home")
    told = (
        from_card("customer", CUSTOMER),
        from_card("site", "=2+3"),
        reading("tension_mark_after", 1012.5),
        reading("elongation", -0.25),
        reading("dwell_time", 180.0, run=1),
        reading("dwell_time", 195.0, run=2),
    )
    job = add_job(home, tmp_path / "camera", readings=told, photos=())
    target = tmp_path / "a.csv"
    export_text(home, [job.id], target, "csv", units={}, replace=False, progress=Silent())
    query = "SELECT * FROM t ORDER BY CAST(run AS INTEGER)"
    read = subprocess.run(
        ["sqlite3", ":memory:", f".import --csv '{target}' t", ".mode json", query],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    first, second = json.loads(read.stdout)
    assert first["customer"] == second["customer"] == CUSTOMER
    assert first["site"] == "'=2+3"
    assert (first["job"], first["complete"], first["pressure_bar"]) == (job.id, "true", "")
    assert float(first["tension_mark_after_mm"]) == 1012.5
    assert float(first["elongation_percent"]) == pytest.approx(-0.25)
    assert (float(first["dwell_time_s"]), float(second["dwell_time_s"])) == (180.0, 195.0)
    assert target.read_bytes().count(b"\r\n") == 3  # RFC 4180, 2.1
