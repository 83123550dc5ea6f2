"""'seamnote prepare': sources in their order, questions at a terminal, a list without one."""

import io
import json
import shutil
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.cli import main
from recorder.flows import jobcard
from recorder.flows.knowhow import prepared
from recorder.model.job import in_force
from recorder.model.reading import Role
from tests.flows.knowhow.past_jobs import keep_job, told


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Home:
    made = Home.open(tmp_path_factory.mktemp("firm") / "home")
    for days, top in enumerate((171.0, 172.0, 173.0)):
        belt = {"customer": "Ouzel", "finger_length": 30.0, "finger_pitch": 10.0}
        keep_job(made, told(f"41{days}", "accepted", top, **belt), days)
    return made


@pytest.fixture
def home(made: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Home:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("SEAMNOTE_HOME", str(tmp_path / "home"))
    monkeypatch.setattr("sys.stdin", io.StringIO())
    return Home(Path(shutil.copytree(made.root, tmp_path / "home")))


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_what_is_missing_is_listed_where_nobody_can_be_asked(
    home: Home, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["prepare", "--from", "410", "job_number=5120", "--json"]) == 4
    found = json.loads(capsys.readouterr().out)
    assert found["missing"] == ["template"]
    assert [each["field"] for each in found["questions"]] == found["missing"]
    assert found["fields"]["belt_width"] == {
        "value": 70.0, "unit": "mm", "origin": "job", "whence": "job 410",
    }  # fmt: skip
    assert found["recipe"]["settings"] == {"pressure": 2.2, "top_temperature": 171.0}
    assert found["card"] == "job_5120/job.toml"
    assert Path("job_5120/job_card.pdf").read_bytes().startswith(b"%PDF")
    assert main(["prepare", "--from", "410", "job_number=5120"]) == 3
    assert "exists already" in capsys.readouterr().err


def test_at_a_terminal_it_is_asked_one_by_one(
    home: Home, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answers = ["", "T30-10", "172", "172 degC"]
    monkeypatch.setattr("sys.stdin", Terminal("\n".join(answers) + "\n"))
    arguments = ["prepare", "--from", "410", "top_temperature=185 degC", "--keep"]
    assert main(arguments) == 0, "the job number is missed by nobody"
    said = capsys.readouterr().out
    assert "top_temperature: is 185 °C meant? 3 accepted runs" in said
    assert "'172' cannot be top_temperature; say the unit too" in said
    (card,) = prepared.prepared(home)
    readings = jobcard.read(prepared.path_of(home, card.name)).readings
    assert in_force(readings)["template"].value == "T30-10"
    assert in_force(readings, role=Role.ASKED)["top_temperature"].value == 172.0
    assert not list(Path().glob("job_*"))


def test_the_end_of_the_input_leaves_the_rest_open(
    home: Home, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stdin", Terminal("5120\n"))
    assert main(["prepare", "--from", "410", "--keep"]) == 4
    assert "Missing         template" in capsys.readouterr().out


def test_yes_asks_nothing_and_means_what_was_asked_for(
    home: Home, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stdin", Terminal())
    wanted = ["template=T30-10", "top_temperature=185 degC"]
    assert main(["prepare", "--from", "410", *wanted, "--yes", "--keep"]) == 0
    assert "top_temperature 185 °C, meant; 3 accepted runs" in capsys.readouterr().out


def test_sources_count_in_the_order_in_which_they_are_named(
    home: Home, capsys: pytest.CaptureFixture[str]
) -> None:
    said = ["--said", "Belt width eighty millimetres."]
    for order, width in (([*said, "--from", "410"], 80.0), (["--from", "410", *said], 70.0)):
        main(["prepare", *order, "--keep", "--json"])
        found = json.loads(capsys.readouterr().out)
        assert found["fields"]["belt_width"]["value"] == width
        assert len(found["notes"]) == 1


def test_a_description_comes_from_a_file_or_the_standard_input(
    home: Home, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("tomorrow.txt").write_text("Belt width eighty millimetres.")
    monkeypatch.setattr("sys.stdin", io.StringIO("Belt thickness two millimetres."))
    main(["prepare", "--said", "tomorrow.txt", "--said", "-", "--keep", "--json"])
    fields = json.loads(capsys.readouterr().out)["fields"]
    assert fields["belt_width"]["whence"] == "said in tomorrow.txt"
    assert fields["belt_thickness"]["value"] == 2.0


@pytest.mark.parametrize(
    ("arguments", "code", "told_so"),
    [
        (["--from", "nothing"], 2, "no job answers to 'nothing'"),
        (["--recipe", "Oven"], 2, "there is no recipe 'Oven'"),
        (["--conveyor", "Oven"], 2, "there is no conveyor 'Oven'"),
        (["belt_width"], 2, "'belt_width' is not FIELD=VALUE"),
        (["belt_width=70"], 2, "say the unit too"),
        (["press=P2", "press=P3"], 2, "press is told twice"),
        (["outcome=accepted"], 2, "outcome is found during the job"),
        (["--pulley", "1m", "--pulley", "2m", "--pulley", "3m"], 2, "two pulleys"),
        (["--pulley", "1m", "--centres", "5m"], 2, "give both pulleys"),
        (["--pulley", "1m", "--pulley", "1m", "--centres", "50mm"], 3, "no belt runs like this"),
        (["--said", "nowhere.txt"], 3, "nowhere.txt"),
    ],
)
def test_what_cannot_be_is_told_in_one_line_and_nothing_is_written(
    home: Home, capsys: pytest.CaptureFixture[str], arguments: list[str], code: int, told_so: str
) -> None:
    assert main(["prepare", *arguments]) == code
    (line,) = capsys.readouterr().err.splitlines()
    assert told_so in line
    assert not list(Path().glob("job_*"))


def test_a_take_up_may_be_shorter(home: Home, capsys: pytest.CaptureFixture[str]) -> None:
    arguments = ["--length", "9m", "--take-up", "-30mm", "--trim", "20mm", "splice_type=butt"]
    main(["prepare", *arguments, "--keep", "--json"])
    length = json.loads(capsys.readouterr().out)["belt_length"]
    assert (length["joined"], length["cut"]) == (8970.0, 9010.0)


def test_cards_that_wait_are_listed_and_discarded(
    home: Home, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["prepare", "customer=Ouzel", "job_number=5120", "--keep", "--json"])
    name = json.loads(capsys.readouterr().out)["waiting"]
    assert main(["prepare", "--waiting"]) == 0
    assert capsys.readouterr().out == f"{name}  5120, Ouzel\n"
    assert main(["prepare", "--discard", name]) == 0
    assert main(["prepare", "--discard", name]) == 2
    assert "it may have been used already" in capsys.readouterr().err
    assert main(["prepare", "--waiting", "--json"]) == 0
    assert capsys.readouterr().out == ""
