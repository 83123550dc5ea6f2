"""What veraPDF finds wrong in a PDF: one engine for a whole session of tests.

    assert verapdf.failures(pdf, "3a") == []     # PDF/A-3a, ISO 19005-3
    assert verapdf.failures(pdf, "ua1") == []    # PDF/UA-1, ISO 14289-1

The first call starts the engine, which takes about 2 s; a file takes a few tenths.
``python -m tests.external.verapdf FILE...`` prints what is wrong in files.
"""

import atexit
import functools
import json
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Literal, get_args

Flavour = Literal["3a", "ua1"]
FLAVOURS: tuple[Flavour, ...] = get_args(Flavour)

ROOT = Path(__file__).parents[2]


def failures(pdf: bytes | Path, flavour: Flavour) -> list[str]:
    """Every failed rule as one line: clause, test number, message and place in the file."""
    if isinstance(pdf, bytes):
        with tempfile.NamedTemporaryFile(suffix=".pdf") as file:
            file.write(pdf)
            file.flush()
            return failures(Path(file.name), flavour)
    engine = _engine()
    assert engine.stdin
    assert engine.stdout
    engine.stdin.write(json.dumps([flavour, str(pdf)]) + "\n")
    engine.stdin.flush()
    answer = engine.stdout.readline()
    assert answer, f"the veraPDF engine ended with {engine.wait(timeout=10)}"
    told: list[str] = json.loads(answer)
    return told


@functools.cache
def _engine() -> subprocess.Popen[str]:
    engine = subprocess.Popen(
        [sys.executable, "-m", "tests.external.verapdf_engine"],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    atexit.register(_end, engine)
    return engine


def _end(engine: subprocess.Popen[str]) -> None:
    """The end of its input ends the engine."""
    assert engine.stdin
    engine.stdin.close()
    engine.wait(timeout=30)


def main() -> None:
    for path in map(Path, sys.argv[1:]):
        for flavour in FLAVOURS:
            told = failures(path.resolve(), flavour)
            print(f"{path} {flavour}: {'FAIL' if told else 'PASS'}", *told, sep="\n  ")


if __name__ == "__main__":
    main()
