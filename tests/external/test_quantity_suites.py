"""Quantities in sentences of others: the test suite of quantulum3, and ours beside quantulum3.

quantulum3 (https://pypi.org/project/quantulum3, MIT) ships its tests in its package; they are read
there. What counts as right is told in tests/bench/quantities.py.
"""

from __future__ import annotations

import pytest

from tests.bench.peers import readers
from tests.bench.quantities import score
from tests.bench.suites import Case, ours, quantulum

MUST = 0.95
# Of its own suite, which is small, and has megayears and a mean for a range.
MUST_OF_THEIRS = {"temperature": 0.85, "length": 0.95, "duration": 0.8}


def shares(cases: list[Case], reader: str) -> dict[str, float]:
    """The share of quantities that the reader has right, by kind."""
    stated, right, *_ = score(cases, readers()[reader])
    return {kind: right[kind] / count for kind, count in stated.items()}


@pytest.mark.parametrize(("kind", "must"), MUST_OF_THEIRS.items())
def test_the_suite_of_quantulum3(kind: str, must: float) -> None:
    assert shares(quantulum(), "ours")[kind] >= must


def test_ours_in_every_kind() -> None:
    mine, theirs = shares(ours(), "ours"), shares(ours(), "quantulum3")
    assert len(mine) == 6
    for kind, share in mine.items():
        assert share >= MUST
        assert share > theirs[kind]


def test_nothing_is_found_where_nothing_is() -> None:
    empty = [case for case in ours() if not case.stated]
    assert len(empty) >= 10
    *_, extra, misses = score(empty, readers()["ours"])
    assert (dict(extra), misses) == ({}, [])
