"""A way to judge bytes as a file, by what the home of the firm knows."""

from collections.abc import Callable
from pathlib import Path

import pytest

from recorder.report.verifying.facts import Verification
from recorder.report.verifying.signers import Known
from recorder.report.verifying.verify import verify
from tests.report.verifying import reports

Judge = Callable[..., Verification]


@pytest.fixture
def judge(tmp_path: Path) -> Judge:
    def judged(content: bytes, known: Known | None = None) -> Verification:
        path = tmp_path / "report.pdf"
        path.write_bytes(content)
        return verify(path, known or reports.known())

    return judged
