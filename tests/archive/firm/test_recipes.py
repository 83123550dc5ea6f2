"""The firm's recipes on disk: they grow, and whoever changes one is noticed."""

from __future__ import annotations

import hashlib
import json
import multiprocessing
import os
from pathlib import Path

import pytest

from recorder.archive.disk import atomic
from recorder.archive.disk.home import Home
from recorder.archive.firm.recipes import all_kept, slug, versions, writing
from recorder.errors import BadRecipe, BadValue, OutputUnwritable, RecipeChanged
from recorder.model.recipe import Recipe
from tests.knowhow.recipes.past_runs import recipe


def add(home: Home, *recipes: Recipe) -> list[Recipe]:
    with writing(home) as write:
        return [write(each) for each in recipes]


@pytest.fixture
def kept(home: Home) -> Path:
    """The file of a recipe with three versions."""
    add(home, *(recipe("Oven 70", reason=reason) for reason in ("first", "second", "third")))
    return home.recipes / "oven-70.jsonl"


def test_versions_are_counted_and_read_back(home: Home, kept: Path) -> None:
    found = versions(home, "OVEN-70")
    assert [(each.version, each.reason) for each in found] == [
        (1, "first"), (2, "second"), (3, "third"),
    ]  # fmt: skip
    assert found[0] == recipe("Oven 70", reason="first")
    assert versions(home, "Oven 71") == ()
    (every,), faults = all_kept(home)
    assert (every, faults) == (found, ())


def test_the_first_spelling_of_a_name_stays(home: Home) -> None:
    add(home, recipe("  Oven   70 "), recipe("oven 70"))
    assert {each.name for each in versions(home, "Oven, 70!")} == {"Oven 70"}


def test_the_file_only_grows(home: Home, kept: Path) -> None:
    before = kept.read_bytes()
    add(home, recipe("Oven 70", reason="fourth"))
    assert kept.read_bytes().startswith(before)
    assert kept.read_bytes().count(b"\n") == 4
    assert [path.name for path in home.recipes.iterdir()] == ["oven-70.jsonl"]


def test_of_several_all_are_kept_or_none(
    home: Home, kept: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = kept.read_bytes()
    stage = atomic.stage

    def on_a_full_disk(path: Path, content: bytes) -> Path:
        if path.name == "two.jsonl":
            raise OutputUnwritable(path=path, detail="No space left on device")
        return stage(path, content)

    monkeypatch.setattr(atomic, "stage", on_a_full_disk)
    with pytest.raises(OutputUnwritable):
        add(home, recipe("Oven 70", reason="fourth"), recipe("One"), recipe("Two"))
    assert kept.read_bytes() == before
    assert [path.name for path in home.recipes.iterdir()] == ["oven-70.jsonl"]


def test_a_few_lines_recompute_the_chain(kept: Path) -> None:
    previous = "0" * 64
    for line in kept.read_bytes().splitlines():
        told, _, end = line.rpartition(b',"hash":"')
        assert json.loads(line)["previous"] == previous
        previous = hashlib.sha256(told).hexdigest()
        assert end == previous.encode() + b'"}'


def test_nothing_changes_by_one_character_without_being_noticed(home: Home, kept: Path) -> None:
    sound = kept.read_bytes()
    for at in range(0, len(sound) - 1, 29):
        kept.write_bytes(sound[:at] + bytes([sound[at] ^ 1]) + sound[at + 1 :])
        with pytest.raises((RecipeChanged, BadRecipe)):
            versions(home, "Oven 70")
    kept.write_bytes(sound)
    assert len(versions(home, "Oven 70")) == 3


def test_what_was_read_long_ago_is_read_anew_when_it_changed(home: Home, kept: Path) -> None:
    os.utime(kept, (1e9, 1e9))
    assert len(versions(home, "Oven 70")) == 3
    kept.write_bytes(kept.read_bytes().replace(b"172.0", b"182.0", 1))
    with pytest.raises(RecipeChanged):
        versions(home, "Oven 70")


@pytest.mark.parametrize("order", [(1, 2), (0, 2), (1, 0, 2), (0, 1, 1, 2)])
def test_no_version_goes_comes_or_moves_among_the_others(
    home: Home, kept: Path, order: tuple[int, ...]
) -> None:
    lines = kept.read_bytes().splitlines(keepends=True)
    kept.write_bytes(b"".join(lines[at] for at in order))
    with pytest.raises(RecipeChanged, match=r"is not as it was kept.*put .* back from a backup"):
        versions(home, "Oven 70")


def test_a_version_of_another_chain_does_not_fit(home: Home, kept: Path, tmp_path: Path) -> None:
    other = Home.open(tmp_path / "other")
    add(other, recipe("Oven 70", reason="elsewhere"), recipe("Oven 70", reason="second"))
    first, _, third = kept.read_bytes().splitlines(keepends=True)
    strange = (other.recipes / kept.name).read_bytes().splitlines(keepends=True)[1]
    kept.write_bytes(first + strange + third)
    with pytest.raises(RecipeChanged, match="version 2"):
        versions(home, "Oven 70")


def test_a_chain_that_begins_anew_is_noticed_by_its_number(home: Home, kept: Path) -> None:
    third = kept.read_bytes().splitlines()[2]
    told = third.rpartition(b',"hash":"')[0]
    told = told.replace(told[13:77], b"0" * 64)
    forged = told + f',"hash":"{hashlib.sha256(told).hexdigest()}"}}\n'.encode()
    kept.write_bytes(forged)
    with pytest.raises(RecipeChanged, match="version 1"):
        versions(home, "Oven 70")


def test_a_changed_recipe_is_told_and_hides_no_other(home: Home, kept: Path) -> None:
    add(home, recipe("Press hall"))
    kept.write_bytes(kept.read_bytes().replace(b"172.0", b"182.0", 1))
    (other,), (fault,) = all_kept(home)
    assert other[-1].name == "Press hall"
    assert isinstance(fault, RecipeChanged)
    with pytest.raises(RecipeChanged, match="version 1"):
        add(home, recipe("Oven 70"))


def test_a_recipe_under_the_name_of_another_is_none(home: Home, kept: Path) -> None:
    kept.rename(kept.with_name("hall.jsonl"))
    with pytest.raises(RecipeChanged):
        versions(home, "Hall")


@pytest.mark.parametrize("content", [b"", b"{}\n", b"\xff\xfe", b"[1]\n\n"])
def test_what_is_no_recipe_is_told(home: Home, kept: Path, content: bytes) -> None:
    kept.write_bytes(content)
    with pytest.raises(BadRecipe, match="cannot be understood"):
        versions(home, "Oven 70")


def test_a_torn_end_is_told(home: Home, kept: Path) -> None:
    kept.write_bytes(kept.read_bytes()[:-20])
    with pytest.raises(BadRecipe, match="ends within a line"):
        versions(home, "Oven 70")


def test_a_folder_in_its_place_is_told(home: Home) -> None:
    (home.recipes / "oven.jsonl").mkdir(parents=True)
    with pytest.raises(BadRecipe):
        versions(home, "Oven")


def _keep_many(root: Path, name: str, times: int) -> None:
    home = Home(root)
    for number in range(times):
        add(home, recipe(name, reason=f"{multiprocessing.current_process().name} {number}"))


def test_two_processes_lose_nothing(home: Home) -> None:
    spawn = multiprocessing.get_context("spawn")
    both = [spawn.Process(target=_keep_many, args=(home.root, "Oven", 8)) for _ in range(2)]
    for each in both:
        each.start()
    for each in both:
        each.join()
    found = versions(home, "Oven")
    assert [each.version for each in found] == list(range(1, 17))
    assert len({each.reason for each in found}) == 16


def test_where_nothing_can_be_written_nothing_is_kept(home: Home) -> None:
    home.recipes.write_text("a file")
    with pytest.raises(BadRecipe, match="Not a directory"):
        add(home, recipe("Oven"))


@pytest.mark.parametrize("name", ["", " ", "!!!", "___", "a\x07b", "x" * 81])
def test_what_cannot_be_a_name(name: str) -> None:
    with pytest.raises(BadValue, match="name of a recipe"):
        slug(name)


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("Oven 70", "oven-70"),
        ("../../etc/passwd", "etc-passwd"),
        ("Öfen ½", "öfen-1-2"),
        ("烤箱", "烤箱"),
    ],
)
def test_a_name_becomes_a_name_of_a_file(name: str, expected: str) -> None:
    assert slug(name) == expected


@pytest.mark.parametrize("name", ["CON", "nul", "Com1", "烤" * 80])
def test_every_file_system_takes_it(name: str) -> None:
    found = slug(name)
    assert found == slug(name.lower())
    assert len(found.encode()) <= 125
    assert found.casefold() not in ("con", "nul", "com1")
