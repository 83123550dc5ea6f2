"""Bad input: an exit code, one clear line, and nothing lost."""

import hashlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from recorder.resources import shipped
from tests.cli.command import seamnote
from tests.voice.sound import tone, write

DEMO = shipped("demo_media") / "job"


def contents(folder: Path) -> dict[str, str]:
    """SHA-256 of every file below a folder, by its relative name."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def silent(path: Path) -> None:
    write(path, np.zeros(32_000), 16_000)


def empty(path: Path) -> None:
    path.touch()


def text(path: Path) -> None:
    path.write_text("pressure two bar\n")


def hum(path: Path) -> None:
    write(path, tone(50.0, 3.0, 16_000), 16_000)


BAD_SOUND = {silent: "no speech", empty: "is empty", text: "no sound", hum: "no speech"}


@pytest.mark.parametrize("make", BAD_SOUND, ids=lambda make: make.__name__)
@pytest.mark.parametrize("command", ["transcribe", "extract", "process"])
def test_bad_sound(tmp_path: Path, make: object, command: str) -> None:
    source = tmp_path / "source"
    source.mkdir()
    make(source / "note.wav")  # type: ignore[operator]
    before = contents(source)
    target = source if command == "process" else source / "note.wav"
    ran = seamnote(command, target, "--json", cwd=tmp_path)
    assert ran.code == 3
    line = ran.complains_once()
    assert "note.wav" in line
    assert BAD_SOUND[make] in line  # type: ignore[index]
    assert contents(source) == before
    if command == "process":
        kept = contents(tmp_path / "home" / "jobs")
        assert before["note.wav"] in kept.values()


def no_card(path: Path) -> None:
    shade = np.tile(np.linspace(60, 200, 800).astype(np.uint8), (600, 1))
    Image.fromarray(shade).convert("RGB").save(path)


def truncated(path: Path) -> None:
    content = (DEMO / "photo_3_accepted.jpg").read_bytes()
    path.write_bytes(content[: len(content) // 3])


def text_picture(path: Path) -> None:
    path.write_text("a photo of the splice\n")


BAD_PICTURES = {no_card: "card", truncated: "whole picture", empty: "is empty",
                text_picture: "not a whole picture"}  # fmt: skip


@pytest.mark.parametrize("make", BAD_PICTURES, ids=lambda make: make.__name__)
@pytest.mark.parametrize("command", ["measure", "process"])
def test_bad_pictures(tmp_path: Path, make: object, command: str) -> None:
    source = tmp_path / "source"
    source.mkdir()
    make(source / "seam.jpg")  # type: ignore[operator]
    before = contents(source)
    target = source if command == "process" else source / "seam.jpg"
    ran = seamnote(command, target, "--json", cwd=tmp_path)
    assert ran.code == 3
    line = ran.complains_once()
    assert "seam.jpg" in line
    assert BAD_PICTURES[make] in line  # type: ignore[index]
    assert contents(source) == before
    for found in ran.objects:
        numbers = found.get("measurements", [found])
        assert all(m["gap_max"] is None and m["splice_width"] is None for m in numbers)
    if command == "process":
        kept = contents(tmp_path / "home" / "jobs")
        assert before["seam.jpg"] in kept.values()


@pytest.mark.parametrize("command", ["process", "search", "show", "demo"])
@pytest.mark.parametrize("place", ["below a file", "/proc/seamnote"])
def test_an_unwritable_home(tmp_path: Path, command: str, place: str) -> None:
    blocker = tmp_path / "file"
    blocker.write_text("not a folder\n")
    home = blocker / "home" if place == "below a file" else Path(place)
    source = tmp_path / "source"
    source.mkdir()
    silent(source / "note.wav")
    before = contents(tmp_path)
    argument = {"process": [source], "show": ["last"]}.get(command, [])
    ran = seamnote(command, *argument, "--home", home, cwd=tmp_path)
    assert ran.code == 3
    assert str(home) in ran.complains_once()
    assert contents(tmp_path) == before


def test_one_bad_file_does_not_stop_the_rest(tmp_path: Path) -> None:
    source = tmp_path / "source"
    source.mkdir()
    (source / "photo.jpg").write_bytes((DEMO / "photo_3_accepted.jpg").read_bytes())
    text(source / "note.wav")
    (source / "plan.docx").write_bytes(b"PK")
    ran = seamnote("process", source, "--json", cwd=tmp_path)
    assert ran.code == 4
    assert "note.wav" in ran.err
    assert "plan.docx is neither a recording nor a photo" in ran.err
    (job,) = ran.objects
    assert [m["status"] for m in job["measurements"]] == ["measured"]
    assert {m["name"]: bool(m["refused"]) for m in job["media"]} == {
        "note.wav": True, "photo.jpg": False,
    }  # fmt: skip


@pytest.mark.parametrize(("card", "word"), [
    ('presure = "2 bar"', "pressure"),
    ('pressure = "2 mm"', "mm"),
    ("pressure = 2", "unit"),
    ("pressure = [1, 2]", "one value"),
    ("pressure = ", "Invalid value"),
    ('[[photo]]\nstage = "before"', "photo"),
    ('[[limit]]\nname = "gap"\nhigh = "1 mm"', "limit"),
    ('[[limit]]\nname = "finger_gap"', "low, high or both"),
    ('[[limit]]\nname = "edge_offset"\nlow = "2 mm"\nhigh = "1 mm"', "low is above high"),
    ('[[limit]]\nname = "edge_offset"\nhigh = "1 mm"\n' * 2, "one entry"),
    ('[[photo]]\nfile = "typo.jpg"', "there is no typo.jpg"),
])  # fmt: skip
def test_a_wrong_job_card_is_named_and_nothing_is_begun(
    tmp_path: Path, card: str, word: str
) -> None:
    source = tmp_path / "source"
    source.mkdir()
    silent(source / "note.wav")
    (source / "job.toml").write_text(card)
    ran = seamnote("process", source, cwd=tmp_path)
    assert ran.code == 3
    line = ran.complains_once()
    assert "job.toml" in line
    assert word in line
    assert contents(tmp_path / "home" / "jobs") == {}


@pytest.mark.parametrize(("arguments", "code"), [
    (["process", "nowhere"], 3),
    (["process", "."], 3),
    (["measure", "nowhere.jpg"], 3),
    (["transcribe", "nowhere.wav"], 3),
    (["extract", "nowhere.txt"], 3),
    (["verify", "nowhere.pdf"], 3),
    (["show", "4711"], 2),
    (["report", "4711"], 2),
    (["confirm", "4711"], 2),
    (["search", "--where", "presure>=2bar"], 2),
    (["search", "--where", "pressure>=2mm"], 2),
    (["search", "--where", "pressure"], 2),
    (["search", "--where", "pressure>=low"], 2),
    (["search", "--since", "yesterday"], 2),
    (["search", "--outcome", "fine"], 2),
    (["card", "--size", "XXL"], 2),
    (["card", "--png", "nowhere/card.png"], 3),
    (["extract", "--asked", "presure", "a.txt"], 2),
    (["process", "a.txt"], 3),
    (["search", "--until", "0000"], 2),
    (["search", "--until", "9999-12-31"], 2),
    (["search", "--limit", "-1"], 2),
    (["search", "--limit", "99999999999999999999"], 2),
    (["confirm", "last", "--splice", "-3"], 2),
    (["measure", "a.txt", "--print-scale", "1.2,1"], 2),
    (["polish"], 2),
    ([], 2),
    (["measure"], 2),
])  # fmt: skip
def test_wrong_use_and_missing_files(tmp_path: Path, arguments: list[str], code: int) -> None:
    (tmp_path / "a.txt").write_text("two bar\n")
    ran = seamnote(*arguments, cwd=tmp_path)
    assert ran.code == code
    assert ran.complains_once()


def test_settings_with_a_fault_are_named(tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    (home / "settings.toml").write_text('[speech]\nthreads = "many"\n')
    for command in (("search", "anything"), ("extract", "-")):
        ran = seamnote(*command, cwd=tmp_path, stdin="two bar")
        assert ran.code == 3
        assert "speech.threads" in ran.complains_once()
    ran = seamnote("doctor", cwd=tmp_path)
    assert ran.code == 4
    assert "MISSING  settings" in ran.out
