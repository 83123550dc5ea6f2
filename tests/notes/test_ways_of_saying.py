"""One thing said in many ways, and talk that says nothing of the job, sentence by sentence."""

from __future__ import annotations

from pathlib import Path

import pytest

from recorder.model.job import in_force
from recorder.model.reading import Standing
from tests.bench.narrations import slot
from tests.bench.scoring import agree
from tests.notes.telling import told

LINES = [
    line
    for line in Path(__file__).with_name("ways_of_saying.txt").read_text("utf-8").splitlines()
    if not line.startswith("#")
]
Value = bool | float | str


@pytest.mark.parametrize("line", LINES)
def test_what_is_clear_is_what_was_said(line: str) -> None:
    wanted, _, sentence = line.partition(" | ")
    truth = {} if wanted == "-" else dict(map(_told, wanted.split(",")))
    clear = {
        name: reading.value
        for name, reading in in_force(told(sentence).readings).items()
        if reading.standing is Standing.CLEAR
    }
    assert set(clear) == set(truth)
    assert all(agree(name, clear[name], value) for name, value in truth.items())


def _told(entry: str) -> tuple[str, Value]:
    name, _, text = entry.partition("=")
    given: bool | int | str = {"true": True, "false": False}.get(text, text)
    return name, slot(name, int(text) if name == "supply_phases" else given).value
