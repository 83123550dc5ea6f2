"""archive redact: nothing goes unless a person says so, and what is said of it is true."""

import argparse
import io
import json
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.cli import main, redacting
from recorder.cli.terminal import StageLines
from recorder.flows import archive
from tests.archive.sample_jobs import add_job

Run = tuple[int, str, str]


@pytest.fixture
def folder(tmp_path: Path) -> JobFolder:
    home = Home.open(tmp_path / "home")
    return JobFolder(home.jobs / add_job(home, tmp_path / "camera").id)


def redact(capsys: pytest.CaptureFixture[str], folder: JobFolder, *arguments: str) -> Run:
    home = folder.path.parents[1]
    code = main(["archive", "redact", "--home", str(home), *arguments])
    told = capsys.readouterr()
    return code, told.out, told.err


def test_without_yes_it_says_what_would_go_and_what_stays(
    folder: JobFolder, capsys: pytest.CaptureFixture[str]
) -> None:
    before = folder.record.read_bytes()
    code, out, err = redact(capsys, folder, "last", "--reason", "asked by letter")
    assert code == 4
    assert "goes: narration.flac" in out
    assert "what was said" not in out.partition("Stays")[0]
    assert "Backups, exports and copies elsewhere still hold all of it" in out
    assert "law says and not this program" in out
    assert max(map(len, out.splitlines())) <= 80
    assert err == "seamnote: nothing was removed: say --yes to remove this from 1 job\n"
    assert folder.record.read_bytes() == before
    assert folder.changed_originals(folder.load()) == []


def test_with_yes_it_goes_and_once_more_there_is_nothing(
    folder: JobFolder, capsys: pytest.CaptureFixture[str]
) -> None:
    wanted = ("last", folder.id, "--reason", "asked by letter", "--transcript", "--yes")
    code, out, err = redact(capsys, folder, *wanted)
    assert (code, err) == (0, "")
    assert "goes: what was said in narration.flac" in out
    assert out.count("removed        4817, Larkfield Bakery") == 1
    assert folder.load().media[0].removed
    code, out, err = redact(capsys, folder, *wanted)
    assert (code, err) == (0, "")
    assert "nothing of a voice is in it" in out
    assert "removed  " not in out


class Tired(io.StringIO):
    """Standard output whose reader has gone, as in 'seamnote … | head -1'."""

    def write(self, text: str) -> int:
        raise BrokenPipeError


def test_a_reader_who_goes_leaves_nothing_half_done(
    folder: JobFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    home = Home(folder.path.parents[1])
    asked = argparse.Namespace(
        home=home.root, jobs=["last"], due=False, reason="asked", transcript=True, yes=True,
        json=False,
    )  # fmt: skip
    monkeypatch.setattr("sys.stdout", Tired())
    with pytest.raises(BrokenPipeError):
        redacting._redact(asked)
    assert folder.load().media[0].removed
    assert not archive.check(home, StageLines()).faults


def test_on_a_terminal_it_asks(
    folder: JobFolder, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    for reply, code in (("no\n", 4), ("\n", 4), ("yes\n", 0)):
        monkeypatch.setattr("sys.stdin", Terminal(reply))
        assert redact(capsys, folder, "last", "--reason", "asked")[0] == code
        assert bool(folder.load().media[0].removed) == (code == 0)


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_what_is_due_goes_by_the_settings(
    folder: JobFolder, capsys: pytest.CaptureFixture[str]
) -> None:
    settings = folder.path.parents[1] / "settings.toml"
    code, _, err = redact(capsys, folder, "--due", "--yes")
    assert code == 2
    assert "keep_recordings_days" in err
    settings.write_text("[archive]\nkeep_recordings_days = 36500\n")
    assert redact(capsys, folder, "--due", "--yes") == (0, "no recording is due\n", "")
    job = folder.load()
    old = job.created_at.replace(year=1990)
    folder.update(lambda known: known.model_copy(update={"created_at": old}))
    settings.write_text("[archive]\nkeep_recordings_days = 730\n")
    assert redact(capsys, folder, "--due")[0] == 4
    assert redact(capsys, folder, "--due", "--yes")[0] == 0
    removed = folder.load().media[0].removed
    assert removed
    assert removed.reason == "recordings are kept for 730 days"


def test_a_job_that_cannot_be_read_is_named_and_nothing_else_is_said(
    folder: JobFolder, capsys: pytest.CaptureFixture[str]
) -> None:
    folder.record.write_bytes(b"{")
    code, out, err = redact(capsys, folder, folder.id, "--reason", "asked", "--yes")
    assert (code, out) == (3, "")
    assert str(folder.path) in err


def test_as_json(folder: JobFolder, capsys: pytest.CaptureFixture[str]) -> None:
    for arguments, done in (((), False), (("--yes",), True), (("--yes",), True)):
        _, out, _ = redact(capsys, folder, "last", "--reason", "asked", "--json", *arguments)
        told = json.loads(out)
        assert (told["job"], told["done"]) == (folder.id, done)
    assert told["going"]["recordings"] == []


@pytest.mark.parametrize("arguments", [
    (), ("last",), ("last", "--due", "--reason", "asked"), ("last", "--reason", ""),
    ("nobody", "--reason", "asked", "--yes"),
])  # fmt: skip
def test_a_wrong_call_is_told_in_one_line_and_touches_nothing(
    folder: JobFolder, capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...]
) -> None:
    code, out, err = redact(capsys, folder, *arguments)
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert not folder.load().media[0].removed


def test_an_unfinished_job_is_told_and_the_others_are_done(
    folder: JobFolder, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    home = Home(folder.path.parents[1])
    other = add_job(home, tmp_path / "other", complete=False)
    code, _, err = redact(capsys, folder, folder.id, other.id, "--reason", "asked", "--yes")
    assert code == 3
    assert err.startswith(f"seamnote: job {other.id} was interrupted")
    assert folder.load().media[0].removed


def test_show_tells_what_was_removed(folder: JobFolder, capsys: pytest.CaptureFixture[str]) -> None:
    redact(capsys, folder, "last", "--reason", "asked by letter", "--transcript", "--yes")
    assert main(["show", "--home", str(folder.path.parents[1]), "last"]) == 0
    out = capsys.readouterr().out
    assert "narration.flac, whose words were removed on request" in out
    assert "asked by letter" in out
    assert "not here" not in out
