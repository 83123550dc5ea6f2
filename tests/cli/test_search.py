"""'seamnote search' as a person and as a program see it; the command runs in this process."""

import csv
import io
import json
import re
import shlex
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.finding.saved import Asked, saved_search
from recorder.archive.jobs.folder import JobFolder
from recorder.cli import main
from recorder.cli.hits_text import BOLD, PLAIN, table
from recorder.flows.find import find
from recorder.model.fields import FIELDS
from recorder.model.job import Job
from tests.archive.sample_jobs import BAKERY, NOW, add_job, from_card, reading, transcript
from tests.cli.command import Ran

PARCEL = (
    from_card("customer", "=Osterholm Parcel"),
    from_card("belt_width", 401.5),
    reading("top_temperature", 181.0),
    reading("finger_gap", 0.7),
    reading("bubbles", True),
    reading("outcome", "rejected"),
)

Search = Callable[..., Ran]


@pytest.fixture(scope="module")
def jobs(tmp_path_factory: pytest.TempPathFactory) -> tuple[Home, Job, Job]:
    root = tmp_path_factory.mktemp("search")
    home = Home.open(root / "home")
    said = (transcript("the forklift touched the belt", *["nothing"] * 8, "a seal is worn"),)
    return (
        home,
        add_job(home, root / "a", NOW, readings=BAKERY),
        add_job(
            home, root / "b", NOW - timedelta(days=40), readings=PARCEL, transcripts=said,
            notes=(), photos=(), measurements=(), complete=False,
        ),
    )  # fmt: skip


@pytest.fixture
def search(jobs: tuple[Home, Job, Job], capsys: pytest.CaptureFixture[str]) -> Search:
    def run(*arguments: str) -> Ran:
        code = main(["search", "--home", str(jobs[0].root), *arguments])
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return Ran(code, out, err)

    return run


def test_people_get_a_table(search: Search, jobs: tuple[Home, Job, Job]) -> None:
    ran = search("gasket")
    assert ran.code == 0
    assert ran.out.splitlines() == [
        "date        outcome   job                     id",
        f"2026-11-25  accepted  4817, Larkfield Bakery  {jobs[1].id}",
        "            Said: the press hisses at the left hose, it wants a new [gasket]"
        "   narration.flac 0:10",
        f"2026-10-16  rejected  =Osterholm Parcel       {jobs[2].id}  (interrupted)",
        "            Said: a [seal] is worn   narration.flac 1:30",
    ]
    assert ran.err == "seamnote: for 'gasket' also found seal\n"


def test_fields_that_were_asked_for_have_columns(
    search: Search, jobs: tuple[Home, Job, Job]
) -> None:
    ran = search(
        "--where", "top_temperature>=340 degF", "--where", "outcome=rejected", "--unit", "degF",
        "--unit", "in", "--sort", "-belt_width",
    )  # fmt: skip
    assert ran.out.splitlines() == [
        "date        outcome              job                     top_temperature  belt_width  id",
        "2026-10-16  rejected             =Osterholm Parcel       358 °F           15.807 in   "
        f"{jobs[2].id}  (interrupted)",
        "2026-11-25  accepted (rejected)  4817, Larkfield Bakery  342 °F           2.756 in    "
        f"{jobs[1].id}",
    ]
    assert ran.err == ""


def test_a_narrow_terminal_cuts_titles_and_lines_and_shows_matches_bold(
    jobs: tuple[Home, Job, Job],
) -> None:
    found = find(jobs[0], Asked(words="two outfeed", where=("belt_width<100",)))
    wide = table(found, None, bold=False)
    assert "4817, Larkfield Bakery" in wide[1]
    assert any(line.endswith("[two] oven [outfeed] three   narration.flac 0:00") for line in wide)
    narrow = table(found, 70, bold=True)
    assert len(narrow[1]) == 70
    assert "4817, Larkfie…" in narrow[1]
    assert any(f"{BOLD}two{PLAIN}" in line for line in narrow)
    plain = [line.replace(BOLD, "").replace(PLAIN, "") for line in narrow]
    assert all(len(line) <= 70 for line in plain)
    assert any(line.endswith("…   narration.flac 0:00") for line in plain)
    assert all(jobs[1].id in line for line in table(found, 20, bold=False)[1:2])


def test_programs_get_json(search: Search, jobs: tuple[Home, Job, Job]) -> None:
    ran = search("forklfit", "--where", "top_temperature>100", "--unit", "degF", "--json")
    (hit,) = ran.objects
    assert hit["id"] == jobs[2].id
    assert hit["created_at"] == "2026-10-16T20:45:30Z"
    assert hit["values"]["top_temperature"] == 357.8
    assert hit["values"]["belt_width"] == 401.5
    assert hit["matched"] == {"top_temperature": [357.8]}
    assert hit["units"] == {"belt_width": "mm", "top_temperature": "degF"}
    assert hit["instead"] == {"forklfit": ["forklift"]}
    assert hit["lines"] == [
        {
            "label": "Said", "text": "the forklift touched the belt", "marks": [[4, 12]],
            "file": "narration.flac", "start_s": 0.0,
        }
    ]  # fmt: skip
    assert ran.err == "seamnote: no job holds 'forklfit': searched forklift\n"
    assert search("bulldozer", "--json") == Ran(0, "", "")


def test_programs_get_csv(search: Search, jobs: tuple[Home, Job, Job]) -> None:
    ran = search("--where", "finger_gap>0.3", "--csv", "--unit", "inch", "--sort", "oldest")
    assert ran.out.count("\r\n") == ran.out.count("\n") == 3
    parcel, bakery = csv.DictReader(io.StringIO(ran.out, newline=""))
    assert parcel["id"] == jobs[2].id
    assert parcel["created_at"] == "2026-10-16T20:45:30+00:00"
    assert parcel["customer"] == "'=Osterholm Parcel"
    assert parcel["complete"] == "false"
    assert float(parcel["belt_width_inch"]) * 25.4 == pytest.approx(401.5)
    assert parcel["pressure_bar"] == ""
    assert float(parcel["matched_finger_gap_inch"]) * 25.4 == pytest.approx(0.7)
    assert bakery["top_temperature_degC"] == "172"
    gaps = [float(gap) * 25.4 for gap in bakery["matched_finger_gap_inch"].split("; ")]
    assert gaps == pytest.approx([0.9, 0.35])
    assert Path(bakery["path"]).name == jobs[1].id
    (found,) = csv.DictReader(io.StringIO(search("gasket", "--csv", "--limit", "1").out))
    assert found["found"].endswith("it wants a new [gasket]")
    assert (found["sound_file"], found["sound_s"]) == ("narration.flac", "10")


def test_csv_without_a_hit_has_its_heading(search: Search) -> None:
    ran = search("bulldozer", "--csv")
    assert ran.out.startswith("id,created_at,")
    assert ran.out.count("\n") == 1
    assert ran.err == ""


def test_what_did_not_fit_is_told(search: Search) -> None:
    ran = search("--limit", "1")
    assert len(ran.out.splitlines()) == 2
    assert ran.complains_once() == "seamnote: more jobs match; --limit shows more than 1"
    assert search("--limit", "2").err == ""


def test_nothing_found_says_what_could_be_left_out(search: Search) -> None:
    ran = search("larkfield", "--where", "bubbles=yes", "--until", "2026")
    assert (ran.code, ran.out) == (0, "")
    assert ran.err.splitlines() == [
        "seamnote: no job matches",
        "seamnote: without 'larkfield' 1 does",
        "seamnote: without 'bubbles=yes' 1 does",
    ]


def test_a_search_is_saved_and_asked_again(
    search: Search, jobs: tuple[Home, Job, Job], tmp_path: Path
) -> None:
    ran = search("hose", "--where", "belt_width<100", "--sort", "-belt_width", "--save", "narrow 1")
    assert jobs[1].id in ran.out
    assert ran.complains_once() == (
        "seamnote: saved; ask again with: seamnote search --saved 'narrow 1'"
    )
    again = search("--saved", "narrow 1", "gasket", "--json")
    assert [hit["id"] for hit in again.objects] == [jobs[1].id]
    assert search("--saved", "narrow 1", "forklift", "--json").out == ""
    (listed,) = search("--list-saved").out.splitlines()
    name, _, line = listed.partition(": seamnote search ")
    assert name == "narrow 1"
    search(*shlex.split(line), "--save", "copy")
    assert saved_search(jobs[0], "copy") == saved_search(jobs[0], "narrow 1")
    assert [each["name"] for each in search("--list-saved", "--json").objects] == [
        "copy", "narrow 1",
    ]  # fmt: skip
    ran = search("press", "--save", "copy")
    assert "in place of an earlier one" in ran.complains_once()
    for forgotten in ("copy", "narrow 1"):
        told = f"seamnote: the search {forgotten!r} is forgotten\n"
        assert search("--forget", forgotten) == Ran(0, "", told)
    assert search("--list-saved") == Ran(0, "", "")


def test_a_wrong_search_is_not_saved(search: Search, jobs: tuple[Home, Job, Job]) -> None:
    assert search("--where", "widht=70", "--save", "wrong").code == 2
    assert not jobs[0].searches.exists() or "wrong" not in jobs[0].searches.read_text()


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        (["--saved", "none"], 2, "no search is saved"),
        (["--forget", "none"], 2, "no search is saved"),
        (["--csv", "--json"], 2, "two forms"),
        (["--list-saved", "gasket"], 2, "--list-saved stands by itself"),
        (["--forget", "narrow", "1"], 2, "--forget NAME stands by itself"),
        (["--forget", "narrow", "--save", "wide"], 2, "not allowed with"),
        (["--limit", "0"], 2, "'0' is not a whole number from 1"),
        (["--limit", "x" * 50], 2, "is not a whole number from 1"),
        (["--where", "customer>3"], 2, "'>3' cannot be customer; only numbers and times"),
        (["--sort", "-widht"], 2, "did you mean"),
        (["--sort", "relevance"], 2, "give words"),
        (["--sort"], 2, "expected one argument"),
        (["--unit", "bra"], 2, "bar"),
        (["--where", "top_temp>1"], 2, "top_temperature"),
        (["--save", "", "x"], 2, "name of a search"),
    ],
)
def test_wrong_use_is_one_line(search: Search, arguments: list[str], code: int, says: str) -> None:
    ran = search(*arguments)
    assert ran.code == code
    assert says in ran.complains_once()


@pytest.mark.parametrize(
    ("name", "arguments"),
    [("searches.json", ["--list-saved"]), ("synonyms.toml", ["gasket"])],
)
def test_a_damaged_file_is_one_line_with_its_path(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str, arguments: list[str]
) -> None:
    home = Home.open(tmp_path / "home")
    (home.root / name).write_text("{")
    assert main(["search", "--home", str(home.root), *arguments]) == 3
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert str(home.root / name) in err


def test_nothing_of_a_strangers_job_steers_the_terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    home = Home.open(tmp_path / "home")
    add_job(home, tmp_path / "source", readings=(reading("site", "mill\x1b[2J\x9b1m\rgone"),))
    arguments = ["--where", "site=mill\x1b[2J\x9b1m\rgone", "--save", "x"]
    nowhere = ["--where", "site=mill\x1b[2J", "gasket"]
    for more in (arguments, nowhere, ["--list-saved"]):
        assert main(["search", "--home", str(home.root), *more]) == 0
        out, err = capsys.readouterr()
        assert "mill" in out + err
        assert not {"\x1b", "\x9b", "\r"} & {*out, *err}


def test_a_job_that_cannot_be_read_is_told_and_hides_no_other(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    home = Home.open(tmp_path / "home")
    whole = add_job(home, tmp_path / "source")
    damaged = add_job(home, tmp_path / "source", NOW - timedelta(days=1))
    (home.jobs / damaged.id / "job.json").write_text("{")
    assert main(["search", "--home", str(home.root), "gasket", "--json"]) == 0
    out, err = capsys.readouterr()
    assert [json.loads(line)["id"] for line in out.splitlines()] == [whole.id]
    assert err == "seamnote: 1 job folder cannot be read: 'seamnote archive check' tells more\n"


def test_an_empty_home_is_not_taken_for_a_search_without_a_match(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["search", "--home", str(tmp_path / "new"), "gasket"]) == 0
    assert capsys.readouterr() == ("", f"seamnote: there are no jobs in {tmp_path / 'new'}\n")


def test_help_names_the_fields_and_shows_examples(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["search", "--help"])
    out = capsys.readouterr().out
    examples = [line.strip() for line in out.splitlines() if line.startswith("  seamnote search")]
    assert len(examples) >= 5
    assert all(re.search(rf"\b{name}\b", out) for name in FIELDS)
    assert max(map(len, out.splitlines())) <= 80
    for line in examples:
        words = shlex.split(line.partition(" > ")[0])[2:]
        assert json.dumps(words)  # each can be read by a shell


@pytest.mark.parametrize("zone", ["America/New_York", "Pacific/Kiritimati"])
def test_a_clock_at_an_end_of_the_calendar_stops_no_search(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    zone: str,
) -> None:
    """As in a folder that somebody copied: those days have no time in every zone."""
    home = Home.open(tmp_path / "home")
    for number, at in enumerate(("0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-12:00")):
        folder = JobFolder(home.jobs / add_job(home, tmp_path / str(number)).id)
        values = json.loads(folder.record.read_bytes()) | {"created_at": at}
        folder.record.write_text(json.dumps(values))
    monkeypatch.setenv("TZ", zone)
    time.tzset()
    try:
        assert main(["search", "--home", str(home.root), "larkfield"]) == 0
    finally:
        monkeypatch.undo()
        time.tzset()
    rows = capsys.readouterr().out.splitlines()
    assert [row[:4] for row in rows if row[4:5] == "-"] == ["9999", "0001"]
