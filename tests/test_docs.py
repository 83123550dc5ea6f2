"""The documents are true: commands, rooms and settings that they name, and those that exist."""

import argparse
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from recorder.cli.parser import build

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def commands() -> dict[str, argparse.ArgumentParser]:
    """By name, those of a group as 'archive check'."""
    return dict(_below(build()))


def _below(parser: argparse.ArgumentParser, group: str = "") -> Iterator[tuple[str, Any]]:
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            for name, command in action.choices.items():
                inner = tuple(_below(command, f"{group}{name} "))
                yield from inner or [(f"{group}{name}", command)]


@pytest.mark.parametrize("name", commands())
def test_every_command_is_in_the_readme_and_has_help(name: str) -> None:
    assert re.search(rf"seamnote {name}\b", README)
    text = commands()[name].format_help()
    assert "--home" in text
    assert "--json" in text
    for option in commands()[name]._actions:
        if option.option_strings and option.dest not in ("splice",):
            assert option.help, f"{name} {option.option_strings} has no help"


def test_every_command_in_the_readme_exists() -> None:
    groups = {name.split()[0] for name in commands() if " " in name}
    named = set(re.findall(rf"seamnote ((?:(?:{'|'.join(groups)}) )?[a-z]+)\b", README))
    assert named <= commands().keys() | groups


def test_every_option_in_the_readme_exists() -> None:
    known = {
        option
        for parser in commands().values()
        for action in parser._actions
        for option in action.option_strings
    }
    blocks = re.findall(r"```(?:text|console)\n(.*?)```", README, re.DOTALL)
    named = {
        option
        for block in blocks
        for line in block.splitlines()
        if line.startswith("$ seamnote")
        for option in re.findall(r"(?<= )--[a-z-]+", line)
    }
    assert named
    assert named <= known


def test_every_room_is_in_the_guide() -> None:
    rooms = {
        path.name + "/" if path.is_dir() else path.name
        for path in (ROOT / "recorder").iterdir()
        if not path.name.startswith("__")
    }
    missing = {room for room in rooms if f"`{room}`" not in DEVELOPERS}
    assert missing == set()


@pytest.mark.parametrize("document", ["README.md", "DEVELOPERS.md", "demo_media/README.md"])
def test_every_file_that_a_document_names_exists(document: str) -> None:
    path = ROOT / document
    text = path.read_text(encoding="utf-8")
    linked = re.findall(r"\]\(([^)#:]+)\)", text)
    named = re.findall(r"`((?:recorder|tests|demo_media|report_templates|job|\.ci)/[\w./]+)`", text)
    assert linked + named
    for name in linked + named:
        assert (path.parent / name).exists() or (ROOT / name).exists(), name


def test_the_gate_runs_the_two_commands_of_the_readme() -> None:
    blocks = re.findall(r"^```sh\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)
    assert len(blocks) == 2
    assert "seamnote demo" in blocks[0]
    assert "pytest" in blocks[1]
    assert all(block.count("\n") == 1 for block in blocks)
