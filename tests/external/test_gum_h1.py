"""Calibration of an end gauge: the guide's own worked example, through our budget code.

JCGM 100:2008, Evaluation of measurement data - Guide to the expression of uncertainty in
measurement (GUM), Annex H.1 with Table H.1; two more examples and a table of the same guide. The
inputs were compared with two programs of national institutes that hold the same example: GTC of MSL
New Zealand (docs/API/GUM_H1.rst) and UncLib of METAS. Lengths in nanometres, temperatures in kelvin
from 20 °C.
"""

import math

import pytest

from recorder.model.measurement import BudgetTerm
from recorder.model.uncertainty import combine, coverage_factor, dof_of_judgement


def term(name: str, u: float, dof: float | None = None, group: str | None = None) -> BudgetTerm:
    return BudgetTerm(name=name, u=u, dof=dof, group=group)


def rectangular(half_width: float) -> float:
    return half_width / math.sqrt(3)  # JCGM 100, 4.3.7


# H.1.3 and Table H.1: estimates
STANDARD = 50_000_623.0  # length of the standard, from its certificate
DIFFERENCE = 215.0  # mean of five readings of the comparator
ALPHA = 11.5e-6  # thermal expansion of the standard, per kelvin
THETA = -0.1  # temperature of the bed
DELTA_ALPHA, DELTA_THETA = 0.0, 0.0  # gauge and standard are taken as alike

# H.1.3: standard uncertainties of the inputs
U_ALPHA = rectangular(2e-6)
U_THETA = math.hypot(0.2, 0.5 / math.sqrt(2))  # of the mean, and a cycle of amplitude 0.5 K
U_DELTA_ALPHA = rectangular(1e-6)
U_DELTA_THETA = rectangular(0.05)

# H.1.3.2: the comparison
COMPARISON = (
    term("repeated readings", 13 / math.sqrt(5), 24),
    term("comparator, random", 10 / 2.57, 5),  # ± 0.01 µm at 95 %, from six readings
    term("comparator, systematic", 20 / 3, dof_of_judgement(0.25)),  # 0.02 µm at three sigma
)
# Table H.1: what each input brings to the length. Expansion and temperature of the bed bring
# nothing at first order, because gauge and standard are taken as alike.
BUDGET = (
    term("certificate of the standard", 75 / 3, 18),
    *COMPARISON,
    term("difference in expansion", STANDARD * THETA * U_DELTA_ALPHA, dof_of_judgement(0.10)),
    term("difference in temperature", STANDARD * ALPHA * U_DELTA_THETA, dof_of_judgement(0.50)),
)
# H.1.7: products of two inputs of which one is estimated as nothing
SECOND_ORDER = (
    term("expansion difference x temperature", STANDARD * U_DELTA_ALPHA * U_THETA),
    term("expansion x temperature difference", STANDARD * U_ALPHA * U_DELTA_THETA),
)


def test_length() -> None:
    expansion = DELTA_ALPHA * THETA + ALPHA * DELTA_THETA
    assert STANDARD + DIFFERENCE - STANDARD * expansion == 50_000_838


def test_each_term_is_that_of_table_h1() -> None:
    wanted = (25.0, 5.8, 3.9, 6.7, 2.9, 16.6)
    assert [round(abs(term.u), 1) for term in BUDGET] == list(wanted)
    assert [term.dof for term in BUDGET] == pytest.approx([18, 24, 5, 8, 50, 2])
    assert pytest.approx(0.41, abs=0.005) == U_THETA


def test_comparison() -> None:
    found = combine(COMPARISON)
    assert round(found.u, 1) == 9.7
    assert round(found.dof, 1) == 25.6


def test_combined_standard_uncertainty() -> None:
    found = combine(BUDGET)
    assert round(found.u) == 32
    assert found.u**2 == pytest.approx(1002, abs=1)
    assert math.floor(found.dof) == 16
    assert round(found.dof, 1) == 16.7


def test_expanded_uncertainty_at_99_percent() -> None:
    """The guide multiplies the rounded 32 nm by 2.92; before rounding it is 92.5 nm."""
    found = combine(BUDGET)
    U, k = found.expanded(0.99)
    assert round(k, 2) == 2.92
    assert round(k * round(found.u)) == 93
    assert pytest.approx(92.5, abs=0.1) == U
    print(f"\nH.1: u_c {found.u:.2f} nm, dof {found.dof:.1f}, k {k:.3f}, U99 {U:.1f} nm")


def test_terms_of_second_order() -> None:
    assert [round(term.u, 1) for term in SECOND_ORDER] == [11.7, 1.7]
    assert round(combine((*BUDGET, *SECOND_ORDER)).u) == 34


def test_ten_resistors_calibrated_with_one_standard() -> None:
    """JCGM 100, 5.2.2, example: fully correlated, so 1 ohm and not 0.32 ohm."""
    together = [term(f"resistor {n}", 0.100, group="standard") for n in range(10)]
    apart = [term(f"resistor {n}", 0.100) for n in range(10)]
    assert combine(together).u == pytest.approx(1.0)
    assert round(combine(apart).u, 2) == 0.32


# Table G.2, some of its rows: degrees of freedom, then t for 68.27, 90, 95, 95.45, 99 and 99.73 %
TABLE_G2 = (
    (1, (1.84, 6.31, 12.71, 13.97, 63.66, 235.80)),
    (2, (1.32, 2.92, 4.30, 4.53, 9.92, 19.21)),
    (5, (1.11, 2.02, 2.57, 2.65, 4.03, 5.51)),
    (10, (1.05, 1.81, 2.23, 2.28, 3.17, 3.96)),
    (16, (1.03, 1.75, 2.12, 2.17, 2.92, 3.54)),
    (50, (1.01, 1.68, 2.01, 2.05, 2.68, 3.16)),
    (math.inf, (1.000, 1.645, 1.960, 2.000, 2.576, 3.000)),
)


@pytest.mark.parametrize(("dof", "wanted"), TABLE_G2)
def test_table_g2(dof: float, wanted: tuple[float, ...]) -> None:
    one, two, three = (math.erf(n / math.sqrt(2)) for n in (1, 2, 3))  # sigmas of a normal one
    levels = (one, 0.90, 0.95, two, 0.99, three)
    tolerance = 0.00051 if dof == math.inf else 0.0051
    for level, t in zip(levels, wanted, strict=True):
        assert coverage_factor(level, dof) == pytest.approx(t, abs=tolerance)
