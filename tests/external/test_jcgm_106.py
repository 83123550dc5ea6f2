"""Probability of conformity against the worked examples of its guide.

JCGM 106:2012, Evaluation of measurement data - The role of measurement uncertainty in conformity
assessment. What stands here was typed from memory of the guide; each number is computed again from
its definition by scipy.stats.norm, and the limits of the motor oil are those of SAE J300 for grade
40, as published lists of that standard have them.
"""

import pytest
from scipy.stats import norm

from recorder.model.measurement import Decision, Limit, Measurement, decide
from recorder.model.uncertainty import coverage_factor, probability_of_conformity


def test_breakdown_voltage_of_a_zener_diode() -> None:
    """7.3, one-sided, from memory: -5.47 V with u = 0.05 V where at most -5.40 V is allowed."""
    found = probability_of_conformity(-5.47, 0.05, high=-5.40)
    assert found == pytest.approx(norm.cdf(-5.40, -5.47, 0.05))
    assert round(found, 2) == 0.92


def test_viscosity_of_a_motor_oil() -> None:
    """7.4, two-sided, from memory: 13.6 mm²/s with u = 1.8 mm²/s; SAE grade 40 is 12.5 to 16.3."""
    found = probability_of_conformity(13.6, 1.8, low=12.5, high=16.3)
    assert found == pytest.approx(norm.cdf(16.3, 13.6, 1.8) - norm.cdf(12.5, 13.6, 1.8))
    assert round(found, 2) == 0.66


@pytest.mark.parametrize(
    ("probability", "z"), [(0.80, 0.84), (0.90, 1.28), (0.95, 1.64), (0.99, 2.33), (0.999, 3.09)]
)
def test_distance_from_the_limit_for_a_probability(probability: float, z: float) -> None:
    """7.3, Table 1: (limit - value) / u that gives the probability, one-sided."""
    assert probability_of_conformity(0.0, 1.0, high=z) == pytest.approx(probability, abs=0.002)
    assert coverage_factor(2 * probability - 1) == pytest.approx(z, abs=0.0051)
    assert coverage_factor(2 * probability - 1) == pytest.approx(norm.ppf(probability))


@pytest.mark.parametrize("u_of_tolerance", [0.05, 0.125, 0.2, 0.24])
def test_a_guard_band_of_u_keeps_what_8_3_2_promises(u_of_tolerance: float) -> None:
    """8.3.2: with a guard band w = U = 2 u no more than 2.3 % of one limit's decisions are wrong.

    Between two limits the other one may take as much again.
    """
    low, high = 69.3, 70.7
    u = u_of_tolerance * (high - low)
    seen = set()
    for step in range(401):
        value = 68.0 + step * 0.01
        measured = Measurement(value=value, unit="mm", U=2 * u)
        both = decide(measured, Limit(name="splice_width", low=low, high=high))
        upper = decide(measured, Limit(name="splice_width", high=high))
        seen |= {both, upper}
        inside = probability_of_conformity(value, u, low, high)
        under = probability_of_conformity(value, u, high=high)
        if both is Decision.WITHIN:
            assert inside > 1 - 2 * norm.sf(2)
        if both is Decision.OUTSIDE:
            assert inside < norm.sf(2)
        assert (upper is Decision.WITHIN) == (under > norm.cdf(2) - 1e-12)
        assert (upper is Decision.OUTSIDE) == (under < norm.sf(2) - 1e-12)
    assert seen == set(Decision), "all three decisions came up"
