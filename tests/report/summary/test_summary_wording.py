"""A summary in a language made of brackets: whatever stands outside of them is data, no wording."""

import re
from datetime import UTC, datetime
from pathlib import Path

from recorder.flows.knowhow import charted
from recorder.knowhow.trends.rules import LETTERS
from recorder.model.past import PastRun
from recorder.report.content.pictures import PictureTray
from recorder.report.page import look as looks
from recorder.report.page.templates import fill
from recorder.report.summary.compose import Asked, Known, compose
from recorder.report.summary.month import Month
from recorder.report.wording.wording import writing
from recorder.settings import ReportSettings
from tests.report.wording import pseudo

SETTINGS = ReportSettings(firm="0815", units={"length": "inch"})
# What stands in a summary in every language: units, names of the month, and the names of the runs.
KNOWN = {"mm", "in", "October", "k", "U"}
RULES = set("".join(LETTERS.values()))  # of which a point may break several


def run(number: int, **told: object) -> PastRun:
    at = datetime(2026, 10, 1 + number // 2, 8 + number % 2, tzinfo=UTC)
    known: dict[str, object] = {
        "outcome": ("accepted", "rework", "rejected", None)[number % 4],
        "press": "7",
        "template": "8",
        "belt_material": "9",
        "customer": "10",
        "top_temperature": 170.0 + number % 5,
        "finger_gap": 0.2 + number % 5 / 50 + (0.4 if number > 20 else 0.0),
        "finger_gap_U": 0.05,
    }
    return PastRun(job=str(100 + number), at=at, **(known | told))  # type: ignore[arg-type]


def test_all_wording_of_a_summary_stands_in_the_catalogue(tmp_path: Path) -> None:
    pseudo.write(tmp_path / "templates")
    look = looks.read(None)
    below = run(30, gap_below=True, finger_gap_U=None, run=2)
    runs = [*map(run, range(29)), below]
    for customer in (None, "10"):
        asked = Asked(
            month=Month(year=2026, number=10), customer=customer, version="0.1.0",
            now=datetime(2026, 10, 30, 9, tzinfo=UTC),
        )  # fmt: skip
        with writing("en", (tmp_path / "templates", *look.folders)):
            drawn = charted.charts(runs, asked, SETTINGS)
            known = Known(
                runs=tuple(runs), low=0.1, high=0.9, drifts=drawn.drifts, outcomes=drawn.outcomes,
                charts=drawn.charts, against=drawn.against, uncharted=drawn.uncharted,
            )  # fmt: skip
            page = compose(asked, known, SETTINGS, PictureTray(tmp_path))
            html = fill(page, look, "summary.html")
        assert drawn.charts
        assert drawn.against
        assert drawn.drifts
        for shown in (html, *drawn.drawings.values()):
            text = pseudo.outside(re.sub(r'font-family="[^"]*"', "", shown))
            words = set(re.findall(r"[^\W\d_]+", text)) - KNOWN
            assert [word for word in words if not set(word) <= RULES] == [], text
