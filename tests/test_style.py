"""Ruff and mypy, so that one command runs what the gate runs."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


@pytest.mark.parametrize("command", [
    ["ruff", "check", "."],
    ["ruff", "format", "--check", "."],
    ["mypy", "--no-error-summary"],
], ids=["lint", "format", "types"])  # fmt: skip
def test_clean(command: list[str]) -> None:
    done = subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
