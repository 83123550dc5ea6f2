"""Control charts against published numbers and against scipy."""

from __future__ import annotations

import math
import random

import pytest
from scipy import integrate, stats

from recorder.knowhow.trends.cusum import normal_score
from recorder.knowhow.trends.individuals import D2, D4, limits, moving_ranges
from recorder.knowhow.trends.scatter import scatter
from tests.knowhow.trends.made import run

# Ten batches of a flow rate, and what the NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2
# ("Individuals Control Charts"), makes of them.
FLOW = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)


def test_the_worked_example_of_nist() -> None:
    found = limits(FLOW)
    assert found is not None
    assert found.centre == pytest.approx(50.81, abs=5e-5)
    assert found.range_centre == pytest.approx(1.8778, abs=5e-5)
    assert found.upper == pytest.approx(55.8041, abs=5e-5)
    assert found.lower == pytest.approx(45.8159, abs=5e-5)
    ranges = (2.0, 2.3, 1.4, 3.5, 3.4, 1.4, 0.2, 1.2, 1.5)
    assert moving_ranges(FLOW) == pytest.approx(ranges)


def test_the_constants_are_those_of_the_range_of_two_normal_values() -> None:
    """d2 and d3 are mean and standard deviation of that range, whose density is that of the
    difference of both, folded at zero; ISO 7870-2 gives 2.66 = 3/d2 and D4 = 1 + 3 d3/d2 = 3.267.
    """
    difference = stats.norm(scale=math.sqrt(2)).pdf
    d2 = integrate.quad(lambda x: 2 * x * difference(x), 0, math.inf)[0]
    square = integrate.quad(lambda x: 2 * x * x * difference(x), 0, math.inf)[0]
    d3 = math.sqrt(square - d2**2)
    assert round(d2, 3) == D2 == 1.128
    assert d2 == pytest.approx(2 / math.sqrt(math.pi))
    assert round(3 / D2, 2) == 2.66
    assert round(1 + 3 * d3 / d2, 3) == D4 == 3.267


@pytest.mark.parametrize("freedom", [9, 12, 29, 200])
@pytest.mark.parametrize("t", [-4.0, -2.0, -0.3, 0.0, 0.7, 1.5, 3.0])
def test_a_score_is_as_rare_as_its_t(freedom: int, t: float) -> None:
    exact = float(stats.norm.ppf(stats.t.cdf(t, freedom)))
    assert normal_score(t, freedom) == pytest.approx(exact, abs=0.01)


def test_the_rank_correlation_is_that_of_scipy() -> None:
    luck = random.Random(8)
    told = [
        run(n, pressure=luck.choice((2.0, 2.1, 2.2, 2.3)), finger_gap=round(luck.random(), 1))
        for n in range(80)
    ]
    outside = stats.spearmanr([it.pressure for it in told], [it.finger_gap for it in told])
    assert scatter("pressure", told).correlation == pytest.approx(float(outside.statistic))
