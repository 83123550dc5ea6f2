"""Wilson's interval against SciPy, and against a published table.

SciPy: ``scipy.stats.binomtest(k, n).proportion_ci(0.95, method="wilson")``. The table is the
method 3 (score, without continuity correction) of R. G. Newcombe, "Two-sided confidence intervals
for the single proportion: comparison of seven methods", Statistics in Medicine 17 (1998) 857-872,
table I, quoted from memory and not copied from it.
"""

from __future__ import annotations

import pytest
from scipy.stats import binomtest

from recorder.knowhow.recipes.wilson import share

NEWCOMBE = [
    (81, 263, 0.2553, 0.3662),
    (15, 148, 0.0624, 0.1605),
    (0, 20, 0.0000, 0.1611),
    (1, 29, 0.0061, 0.1718),
]


@pytest.mark.parametrize("of", [1, 2, 3, 5, 10, 29, 100, 1000, 100_000])
def test_scipy_has_the_same_interval(of: int) -> None:
    for accepted in sorted({0, 1, of // 3, of // 2, of - 1, of}):
        expected = binomtest(accepted, of).proportion_ci(0.95, method="wilson")
        found = share(accepted, of)
        assert found.low == pytest.approx(expected.low, abs=1e-12)
        assert found.high == pytest.approx(expected.high, abs=1e-12)


@pytest.mark.parametrize(("accepted", "of", "low", "high"), NEWCOMBE)
def test_a_published_table_has_it(accepted: int, of: int, low: float, high: float) -> None:
    found = share(accepted, of)
    assert (round(found.low, 4), round(found.high, 4)) == (low, high)
