"""The arithmetic of uncertainty, by the guides of the JCGM, apart from what is measured.

JCGM 100:2008 (GUM): terms of a budget add to a combined standard uncertainty with its effective
degrees of freedom, and these give a coverage factor. JCGM 106:2012: how probable it is that the
thing measured lies within its limits.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import NormalDist
from typing import Protocol

LEVEL = math.erf(math.sqrt(2.0))  # coverage of k = 2 for a normal distribution: 95.45 %
_SUMMED_DOF = 200  # up to here the finite sums; beyond, three terms of the expansion give 1e-6


class Contribution(Protocol):
    """One term of a budget.

    u: standard uncertainty as it enters the result, in the result's unit; within a group a
    negative one acts against the others. dof: degrees of freedom behind u, None when u is taken
    as exactly known (JCGM 100, G.4.3). group: terms of one group have one cause, so that all of
    them err together; None: independent of all others.
    """

    @property
    def u(self) -> float: ...
    @property
    def dof(self) -> float | None: ...
    @property
    def group(self) -> str | None: ...


@dataclass(frozen=True)
class Combined:
    """u: combined standard uncertainty. dof: its effective degrees of freedom, may be infinite."""

    u: float
    dof: float

    def expanded(self, level: float = LEVEL) -> tuple[float, float]:
        """Expanded uncertainty U = k u, and k."""
        k = coverage_factor(level, self.dof)
        return k * self.u, k


def combine(terms: Iterable[Contribution]) -> Combined:
    """Combined standard uncertainty of a budget and its effective degrees of freedom.

    Independent terms add as squares (JCGM 100, 5.1.2); those of one group, fully correlated, add
    as they are before (5.2.2, note 1), and count with the fewest degrees of freedom among them.
    Degrees of freedom by Welch and Satterthwaite (G.4.1, formula G.2b).
    """
    sums: dict[str | int, float] = {}
    dofs: dict[str | int, float] = {}
    for number, term in enumerate(terms):
        cause = number if term.group is None else term.group
        sums[cause] = sums.get(cause, 0.0) + term.u
        dof = math.inf if term.dof is None else term.dof
        dofs[cause] = min(dofs.get(cause, math.inf), dof)
    u = math.hypot(*sums.values())
    shares = sum((sums[cause] / u) ** 4 / dofs[cause] for cause in sums) if u > 0 else 0.0
    return Combined(u, 1.0 / shares if shares > 0 else math.inf)


def dof_of_judgement(relative_u: float) -> float:
    """Degrees of freedom of a standard uncertainty that is itself known to ``relative_u``.

    For a term from judgement: 0.25 says that it may be wrong by a quarter (JCGM 100, G.4.2,
    formula G.3).
    """
    return 0.5 / relative_u**2


def coverage_factor(level: float = LEVEL, dof: float = math.inf) -> float:
    """k such that value ± k u covers ``level`` of a t-distribution with ``dof`` (JCGM 100, G.3).

    Degrees of freedom that are no integer are cut to the next lower one (G.4.1, note 1), so that k
    is rather too large. ValueError for a level outside 0 to 1 and for less than one degree.
    """
    if not 0.0 < level < 1.0:
        raise ValueError(f"a level of {level} is not between 0 and 1")
    if not dof >= 1.0:
        raise ValueError(f"{dof} degrees of freedom are fewer than one")
    z = NormalDist().inv_cdf((1.0 + level) / 2.0)
    return _t_summed(level, math.floor(dof), z) if dof <= _SUMMED_DOF else _t_expanded(z, dof)


def _t_expanded(z: float, dof: float) -> float:
    """Two-sided quantile of the t-distribution near the normal one, z.

    Abramowitz and Stegun, Handbook of Mathematical Functions (1964), 26.7.5.
    """
    first = (z**3 + z) / 4
    second = (5 * z**5 + 16 * z**3 + 3 * z) / 96
    third = (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / 384
    return z + first / dof + second / dof**2 + third / dof**3


def _t_summed(level: float, dof: int, z: float) -> float:
    """Two-sided quantile of the t-distribution, by Newton's method in the angle of 26.7.3.

    The probability is a concave function of the angle and the normal quantile z lies below the
    answer, so that the steps go up to it and never past it.
    """
    log_slope = math.lgamma((dof + 1) / 2) - math.lgamma(dof / 2)
    slope_at_zero = 2.0 / math.sqrt(math.pi) * math.exp(log_slope)
    angle = math.atan(z / math.sqrt(dof))
    while True:
        missing = level - _t_probability(angle, dof)
        step = missing / (slope_at_zero * math.cos(angle) ** (dof - 1))
        angle += step
        if step < 1e-12 * angle:
            return math.sqrt(dof) * math.tan(angle)


def _t_probability(angle: float, dof: int) -> float:
    """Probability of |t| <= sqrt(dof) tan(angle).

    Abramowitz and Stegun, Handbook of Mathematical Functions (1964), 26.7.3 and 26.7.4.
    """
    odd = dof % 2
    term = total = 1.0
    for n in range(2 + odd, dof - 1, 2):
        term *= math.cos(angle) ** 2 * (n - 1) / n
        total += term
    if not odd:
        return math.sin(angle) * total
    beyond_one = math.sin(angle) * math.cos(angle) * total if dof > 1 else 0.0
    return 2.0 / math.pi * (angle + beyond_one)


def probability_of_conformity(
    value: float, u: float, low: float = -math.inf, high: float = math.inf
) -> float:
    """Probability that what was measured lies within its limits (JCGM 106:2012, 7.2 to 7.4).

    The knowledge of it is a normal distribution about ``value`` with standard deviation ``u``.
    All in one unit. With u = 0 the value itself says yes or no.
    """
    if u == 0:
        return float(low <= value <= high)
    return 1.0 - _upper_tail((value - low) / u) - _upper_tail((high - value) / u)


def _upper_tail(z: float) -> float:
    return 0.5 * math.erfc(z / math.sqrt(2.0))
