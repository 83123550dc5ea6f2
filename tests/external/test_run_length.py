"""Average run lengths against published tables: the theory that the trends are held against."""

from __future__ import annotations

import pytest

from tests.knowhow.trends.theory import cusum_arl, zones_arl

# NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.3 ("CUSUM Control Charts"): of a one-sided
# sum with k = 0.5, by shift of the mean in sigma, for h = 4 and h = 5. Written down from memory.
CUSUM = {
    0.0: (336, 930),
    0.5: (26.6, 38.0),
    1.0: (8.38, 10.4),
    2.0: (3.34, 4.01),
    3.0: (2.19, 2.57),
}

# C. W. Champ and W. H. Woodall, "Exact results for Shewhart control charts with supplementary runs
# rules", Technometrics 29 (1987), for the four rules together. Written down from memory; the first
# is also given by the e-Handbook in 6.3.2.
ZONES = {0.0: 91.75, 1.0: 9.22}


@pytest.mark.parametrize("shift", CUSUM)
def test_the_cumulative_sum(shift: float) -> None:
    for h, published in zip((4.0, 5.0), CUSUM[shift], strict=True):
        assert cusum_arl(shift, h=h, sides=1) == pytest.approx(published, rel=0.004)


def test_the_cumulative_sum_to_both_sides() -> None:
    """168 and 465, as text books give them for h = 4 and 5 (Montgomery, from memory)."""
    assert cusum_arl(0.0, h=4.0) == pytest.approx(168, rel=0.004)
    assert cusum_arl(0.0, h=5.0) == pytest.approx(465, rel=0.004)


@pytest.mark.parametrize("shift", ZONES)
def test_the_zone_rules(shift: float) -> None:
    assert zones_arl(shift) == pytest.approx(ZONES[shift], abs=0.005)
