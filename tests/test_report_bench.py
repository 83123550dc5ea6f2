"""The bench of the report itself: it times what the flow calls, and tells what is missed."""

from dataclasses import replace

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.jobs.reports import reports
from tests.bench import report
from tests.report import jobs

TARGET = report.Target("no photo", jobs.no_photo, most_s=300.0, most_mb=0.0001, most_ratio=9.0)


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    return Home.open(tmp_path_factory.mktemp("bench"))


def test_it_times_the_parts_of_real_reports_and_judges_them(home: Home) -> None:
    folder = jobs.into_home(home, jobs.no_photo)
    found = report.measured(home, folder, 1)
    written = reports(folder)
    assert len(written) == 3  # one to warm up, one that counts, one for its memory
    assert round(found["size_mb"] * 1e6) == written[1].size_bytes
    parts = sum(found[part] for part in report.PARTS)
    assert 0 < found["pdf"] < found["render"] < parts < found["total"]
    assert found["pages"] >= 2
    assert 50 < found["peak_mb"] < 2000
    text = "\n".join(report._lines(TARGET, found))
    assert text.count("MISSED") == 1
    assert text.count("met ") == 2
    slow = replace(TARGET, most_s=0.0, most_ratio=0.0, most_peak_mb=1.0)
    assert "\n".join(report._lines(slow, found)).count("MISSED") == 4
