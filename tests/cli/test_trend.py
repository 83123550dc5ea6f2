"""'seamnote trend' and 'seamnote summary' as a person and as a program see them."""

import csv
import io
import json
import re
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from xml.etree import ElementTree

import pytest

from recorder.archive.disk.home import Home
from recorder.cli import main
from recorder.model.measurement import Measurement
from tests.cli.command import Ran
from tests.flows.knowhow.light_jobs import FIRST, STABLE, home_of, jobs

WORN = tuple(round(gap + 0.08, 2) for gap in STABLE[:12])

Run = Callable[..., Ran]


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    other = jobs(STABLE, FIRST + timedelta(hours=1), press="Presse Süd", template="T80-20",
                 technician="Ida Sundby", customer="\u0645\u062e\u0628\u0632")  # fmt: skip
    return home_of(tmp_path_factory.mktemp("trend"), [*jobs((*STABLE, *WORN)), *other])


@pytest.fixture
def run(home: Home, capsysbinary: pytest.CaptureFixture[bytes]) -> Run:
    def ran(*arguments: str, of: Home = home) -> Ran:
        command, *rest = arguments
        code = main([command, "--home", str(of.root), *rest])
        out, err = (text.decode() for text in capsysbinary.readouterr())
        assert "Traceback" not in out + err
        return Ran(code, out, err)

    return ran


def test_all_charts_at_a_glance(run: Run) -> None:
    ran = run("trend")
    assert ran.code == 4
    lines = ran.out.splitlines()
    assert " ".join(lines[0].split()) == "finger gap width error cycle time platen difference"
    rows = {" ".join(re.split(r"\s{2,}", line)[:2]) for line in lines}
    assert {"press P2 42▲", "press Presse Süd 30", "template T80-20 30"} <= rows
    first = next(line for line in lines if line.startswith("▲"))
    assert first.startswith("▲ press P2, finger gap: crept up over the last ")


def test_a_glance_for_a_program_and_at_one_characteristic(run: Run) -> None:
    ran = run("trend", "finger-gap", "--json")
    assert ran.code == 4
    assert {line["characteristic"] for line in ran.objects} == {"finger_gap"}
    first = ran.objects[0]
    assert (first["stream"], first["name"], first["points"]) == ("press", "P2", 42)
    assert first["newest"]["rule"] == "drift"
    assert run("trend", "cycle_time").code == 0


def test_a_chart_as_text(run: Run) -> None:
    ran = run("trend", "finger_gap", "--press", "p2")
    assert ran.code == 4
    assert ran.out.startswith("Finger gap, press P2: 42 points, 2026-10-02 to 2026-11-0")
    assert re.search(r"^newest +0\.33 ± 0\.05 mm  2026-11-0\d  job 2026\d+-\S+, splice 1$",
                     ran.out, re.MULTILINE)  # fmt: skip
    assert "limits   0.1" in ran.out
    assert "centre 0.219 mm; from the first 30 points\n" in ran.out
    assert "signals  S crept up over the last " in ran.out
    calm = run("trend", "finger_gap", "--press", "Presse süd")
    assert (calm.code, calm.out.splitlines()[-1]) == (0, "signals  none")


def test_values_in_another_unit_keep_no_zero(run: Run) -> None:
    inches = run("trend", "finger_gap", "--press", "P2", "--unit", "inch")
    assert "newest   0.013 ± 0.002 in" in inches.out
    degrees = run("trend", "platen_difference", "--press", "P2", "--unit", "degF")
    assert "newest   7 °F" in degrees.out  # 4 °C apart, and no 39 °F
    assert "newest   4 °C" in run("trend", "platen_difference", "--press", "P2").out


def test_upper_bounds_alone_give_no_limits_and_it_is_said_why(run: Run, tmp_path: Path) -> None:
    bound = Measurement(value=0.15, unit="mm", U=0.05, below=True)
    seams = [each.measurements[0].model_copy(update={"gap_max": bound}) for each in jobs(STABLE)]
    made = zip(jobs(STABLE), seams, strict=True)
    home = home_of(
        tmp_path, [each.model_copy(update={"measurements": (seam,)}) for each, seam in made]
    )
    told = run("trend", "finger_gap", "--everything", of=home)
    assert told.code == 0
    assert "30 points" in told.out
    assert "limits   none: they need two points in a row that are measured" in told.out


def test_a_chart_for_programs(run: Run) -> None:
    ran = run("trend", "finger_gap", "--press", "P2", "--json")
    (chart,) = ran.objects
    assert (chart["unit"], len(chart["points"])) == ("mm", 42)
    assert chart["limits"]["baseline"] == 30
    table = run("trend", "finger_gap", "--press", "P2", "--csv", "-").out
    assert len(list(csv.DictReader(io.StringIO(table)))) == 42


def test_pictures(run: Run, tmp_path: Path) -> None:
    svg, png = tmp_path / "a.svg", tmp_path / "a.png"
    run("trend", "finger_gap", "--press", "P2", "--svg", str(svg), "--png", str(png))
    assert ElementTree.fromstring(svg.read_text()).get("role") == "img"
    assert png.read_bytes().startswith(b"\x89PNG\r\n")
    for kind in (("--outcomes",), ("--against", "dwell_time")):
        drawn = run("trend", *kind, "--press", "P2", "--svg", "-").out
        assert drawn.startswith("<svg ")
        assert drawn.rstrip().endswith("</svg>")


def test_a_unit_that_fits_nothing_changes_nothing(run: Run) -> None:
    for unit in ("psi", "inch"):
        drawn = run("trend", "--against", "pressure", "--unit", unit, "--svg", "-").out
        assert ("Pressure, psi" in drawn) is (unit == "psi")


def test_a_picture_needs_a_place(run: Run, tmp_path: Path) -> None:
    for place in (tmp_path / "no" / "a.svg", tmp_path, Path("/")):
        ran = run("trend", "--outcomes", "--svg", str(place))
        assert (ran.code, ran.out) == (3, "")
        assert "cannot be written" in ran.complains_once()


def test_outcomes_and_settings(run: Run) -> None:
    ran = run("trend", "--outcomes", "--customer", "larkfield bakery")
    assert ran.code == 0
    assert ran.out.split()[:5] == ["month", "accepted", "rework", "rejected", "open"]
    months = run("trend", "--outcomes", "--everything", "--json").objects
    assert sum(month["accepted"] for month in months) == 72
    told = run("trend", "--against", "top_temperature").out
    assert told.startswith("Top platen against the measured gap: 72 press runs\n")


def test_a_press_without_such_a_point_says_so(run: Run) -> None:
    ran = run("trend", "edge_offset", "--press", "P2")
    assert (ran.code, ran.out) == (0, "Edge offset, press P2: no job tells it yet\n")
    none = run("trend", "finger_gap", "--press", "P2", "--since", "2030")
    assert none.out == "Finger gap, press P2: no job tells it yet\n"


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (
            ("finger_gap", "--press", "P3"),
            "there is no press 'P3'; there are 'P2', 'Presse Süd'; see",
        ),
        (("gap", "--press", "P2"), "there is no characteristic 'gap'; did you mean finger_gap?"),
        (("--press", "P2"), "say what to chart, e.g. finger_gap, or --outcomes"),
        (("finger_gap", "--outcomes"), "give a characteristic, --outcomes or --against"),
        (("finger_gap", "--svg", "a.svg"), "say whose chart: --press"),
        (("finger_gap", "--press", "P2", "--since", "yesterday"), "'yesterday' cannot be since"),
        (("finger_gap", "--press", "P2", "--unit", "lightyear"), "'lightyear'"),
        (("--against", "dwell"), "did you mean dwell_time?"),
        (("--outcomes", "--svg", "-", "--csv", "-"), "only one thing can go to standard output"),
        (("--outcomes", "--png", "-", "--json"), "only one thing can go to standard output"),
        (("--outcomes", "--since", "2026-11", "--until", "2026-10"), "--until lies before"),
        (("finger_gap", "--press", "P2", "--template", "T30-10"), "not allowed with"),
    ],
)
def test_wrong_use_is_told_in_one_line(run: Run, arguments: tuple[str, ...], told: str) -> None:
    ran = run("trend", *arguments)
    assert ran.code == 2
    assert ran.out == ""
    assert told in ran.complains_once()


def test_a_new_home_says_what_is_missing(run: Run, tmp_path: Path) -> None:
    ran = run("trend", of=home_of(tmp_path, ()))
    assert (ran.code, ran.out) == (0, "")
    assert "tells anything to chart yet; a measured photo does" in ran.complains_once()


def test_a_long_list_of_names_is_cut(run: Run, tmp_path: Path) -> None:
    many = [
        each
        for n in range(30)
        for each in jobs(STABLE[:1], FIRST + timedelta(minutes=n), press=f"P{n:02}")
    ]
    ran = run("trend", of=home_of(tmp_path, many))
    assert "10 more by press; --json lists all" in ran.out
    assert ran.out.count("press P") == 20


def test_a_month_as_pdf(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    ran = run("summary", "2026-10", "--customer", "LARKFIELD bakery", "--json")
    assert ran.code == 0
    assert json.loads(ran.out)["pdf"] == "summary_2026-10_Larkfield-Bakery.pdf"
    assert (tmp_path / "summary_2026-10_Larkfield-Bakery.pdf").read_bytes().startswith(b"%PDF-")
    wrong = run("summary", "2026-31")
    assert (wrong.code, wrong.out) == (2, "")
    assert "write a month of the calendar like 2026-10" in wrong.complains_once()
