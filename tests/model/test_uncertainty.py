"""Budgets, coverage factors and probabilities of conformity against scipy and against chance."""

import math

import numpy as np
import pytest
from scipy import stats

from recorder.model.measurement import BudgetTerm
from recorder.model.uncertainty import (
    LEVEL,
    combine,
    coverage_factor,
    dof_of_judgement,
    probability_of_conformity,
)


def term(u: float, dof: float | None = None, group: str | None = None) -> BudgetTerm:
    return BudgetTerm(name="", u=u, dof=dof, group=group)


def test_independent_terms_add_as_squares_and_those_of_one_cause_as_they_are() -> None:
    assert combine([term(3.0), term(4.0)]).u == pytest.approx(5.0)
    assert combine([term(1.0, group="lens"), term(2.0, group="lens"), term(4.0)]).u == (
        pytest.approx(5.0)
    )
    assert combine([term(2.0, group="tone"), term(-2.0, group="tone")]).u == 0.0
    assert combine([]).u == 0.0


def test_terms_of_one_cause_against_drawn_errors() -> None:
    """Errors drawn as the budget says: one draw for each cause, shared by its terms."""
    rng = np.random.default_rng(4)
    card, blur, noise = rng.standard_normal((3, 200_000))
    errors = 0.03 * card + 0.02 * card + 0.04 * blur - 0.01 * blur + 0.02 * noise
    budget = [term(0.03, group="card"), term(0.02, group="card"), term(0.04, group="blur"),
              term(-0.01, group="blur"), term(0.02)]  # fmt: skip
    assert combine(budget).u == pytest.approx(errors.std(), rel=0.01)


def test_degrees_of_freedom() -> None:
    assert combine([term(2.0, 7)]).dof == pytest.approx(7)
    assert combine([term(2.0, 7), term(2.0, 7)]).dof == pytest.approx(14)
    assert combine([term(2.0), term(1.0)]).dof == math.inf
    assert combine([term(0.0, 3)]).dof == math.inf
    assert combine([term(1.0, 9, "lens"), term(2.0, 4, "lens")]).dof == pytest.approx(4)
    assert combine([term(1.0, 5), term(1.0)]).dof == pytest.approx(20), "(1 + 1)² / (1 / 5)"


def test_an_interval_covers_as_often_as_it_says() -> None:
    """Two means of few readings and their difference: the case that formula G.2b is for."""
    rng = np.random.default_rng(8)
    one, other = rng.normal(0, 1.0, (8000, 4)), rng.normal(0, 0.6, (8000, 6))
    hits = 0
    for a, b in zip(one, other, strict=True):
        budget = [term(a.std(ddof=1) / 2, 3), term(b.std(ddof=1) / math.sqrt(6), 5)]
        hits += abs(a.mean() - b.mean()) <= combine(budget).expanded()[0]
    assert hits / 8000 == pytest.approx(LEVEL, abs=0.01)


@pytest.mark.parametrize("level", [0.5, 0.6827, 0.9, 0.95, LEVEL, 0.99, 0.9973, 0.9999])
def test_coverage_factor_against_scipy(level: float) -> None:
    for dof in (*range(1, 230), 500, 1e4, 1e9):
        reference = stats.t.ppf((1 + level) / 2, dof)
        assert coverage_factor(level, dof) == pytest.approx(reference, rel=1e-7), dof
    assert coverage_factor(level) == pytest.approx(stats.norm.ppf((1 + level) / 2), rel=1e-9)


def test_k_is_two_where_nothing_is_in_doubt_and_grows_with_doubt() -> None:
    assert coverage_factor() == pytest.approx(2.0, abs=1e-12)
    assert combine([term(0.5)]).expanded() == pytest.approx((1.0, 2.0))
    assert coverage_factor(dof=7.9) == coverage_factor(dof=7), "cut, not rounded"
    factors = [coverage_factor(dof=dof) for dof in (1, 2, 5, 20, 200, 201, 1e6, math.inf)]
    assert factors == sorted(factors, reverse=True)


def test_judgement() -> None:
    """A standard deviation of n + 1 readings is itself known to about 1 / sqrt(2 n)."""
    rng = np.random.default_rng(2)
    known_to = rng.normal(0, 1, (40_000, 33)).std(axis=1, ddof=1).std()
    assert dof_of_judgement(known_to) == pytest.approx(32, rel=0.03)


@pytest.mark.parametrize(("level", "dof"), [(0.0, 5), (1.0, 5), (0.95, 0.9), (0.95, math.nan)])
def test_what_makes_no_sense_is_refused(level: float, dof: float) -> None:
    with pytest.raises(ValueError, match=r"level|fewer than one"):
        coverage_factor(level, dof)


def test_probability_of_conformity_against_scipy_and_at_its_ends() -> None:
    for value in np.linspace(-1, 3, 41):
        knowledge = stats.norm(value, 0.4)
        both = probability_of_conformity(value, 0.4, 0.3, 1.1)
        assert both == pytest.approx(knowledge.cdf(1.1) - knowledge.cdf(0.3), abs=1e-12)
        upper = probability_of_conformity(value, 0.4, high=1.1)
        assert upper == pytest.approx(knowledge.cdf(1.1), abs=1e-12)
        lower = probability_of_conformity(value, 0.4, low=0.3)
        assert lower == pytest.approx(knowledge.sf(0.3), abs=1e-12)
    assert probability_of_conformity(0.5, 0.1) == 1.0
    assert probability_of_conformity(1.1, 0.0, 0.3, 1.1) == 1.0
    assert probability_of_conformity(1.2, 0.0, 0.3, 1.1) == 0.0
