"""Run the installed command as a user does: another process, a foreign folder."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any


@dataclass(frozen=True)
class Ran:
    code: int
    out: str
    err: str

    @property
    def objects(self) -> list[Any]:
        return [json.loads(line) for line in self.out.splitlines()]

    def complains_once(self) -> str:
        """The one line on standard error (progress lines apart); no traceback anywhere."""
        assert "Traceback" not in self.out + self.err
        lines = [line for line in self.err.splitlines() if not line.startswith("  ✓ ")]
        assert len(lines) == 1, self.err
        assert lines[0].startswith("seamnote: ")
        return lines[0]


def seamnote(
    *arguments: str | Path, cwd: Path, home: Path | None = None, stdin: str = "", **variables: str
) -> Ran:
    environment = {k: v for k, v in os.environ.items() if not k.startswith("SEAMNOTE")}
    environment |= {"SEAMNOTE_HOME": str(home or cwd / "home"), **variables}
    done = subprocess.run(
        [sys.executable, "-m", "recorder", *map(str, arguments)],
        cwd=cwd, env=environment, input=stdin, capture_output=True, text=True, check=False,
    )  # fmt: skip
    return Ran(done.returncode, done.stdout, done.stderr)
