"""The drift of a stream of values: a cumulative sum that knows its own history (ISO 7870-4).

Each value is held against all the values before it, so that no point is spent on a baseline and no
error of a short baseline stays for ever: with the mean m and the standard deviation s of n values,
(x - m) / (s sqrt(1 + 1/n)) has Student's distribution with n - 1 degrees of freedom while nothing
changes, and is brought from that to the normal one (self-starting cumulative sums: Hawkins,
The Statistician 36, 1987, from memory). So a stable process alarms as seldom as theory says for
known mean and spread, however short its past: with k = 0.5 and h = 5 once in 465 values to both
sides, once in 930 to one side. A shift by one sigma alarms after 10.4 values on average when the
past is long. A past of fewer than 100 values is partly taken in by what came after it, and the
alarm comes later.

A size that cannot be less than nothing, like a gap, is skewed: more of it lies far above the usual
than far below. Its cube root is not (Wilson and Hilferty, PNAS 17, 1931), and is taken instead; of
the values as they are, a stable process would alarm more than twice as often.

Three departures from the textbook, each measured in tests/knowhow/trends/test_run_length.py: no
value counts for more than three sigma, in the sum or in the history, so that one slip makes no
drift; while the alarm lasts the history does not learn, so that what drifts does not become usual;
and the sum grows no higher than 2 h, so that the alarm ends some ten values after all is well.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from recorder.knowhow.trends.individuals import ENOUGH
from recorder.knowhow.trends.rules import DRIFT, Broken

K = 0.5  # half of the shift that is looked for, in sigma
H = 5.0  # where the sum alarms, in sigma
MOST = 3.0  # sigma that one value counts for


def normal_score(t: float, freedom: int) -> float:
    """The normal deviate as rare as t of Student's distribution (Wallace 1959, from memory; within
    0.01 of the exact one up to 3 for 9 degrees of freedom and more).
    """
    factor = (8 * freedom + 1) / (8 * freedom + 3)
    return math.copysign(factor * math.sqrt(freedom * math.log1p(t * t / freedom)), t)


def drifting(
    values: Iterable[tuple[float, bool]],
    finest: float = 0.0,
    size: bool = False,
    upwards_only: bool = False,
) -> list[Broken]:
    """At which values a sum alarms, each since it began to grow.

    values: each with whether it is an upper bound only, which pulls no sum up and teaches nothing.
    finest: the least standard deviation that is believed. size: whether they are sizes, of which
    the cube root is taken. upwards_only: for what is better the smaller it is.
    """
    found = []
    count, mean, squares = 0, 0.0, 0.0
    up = down = 0.0
    rising = falling = 0
    for place, (told, bound) in enumerate(values):
        value = max(told, 0.0) ** (1 / 3) if size else told
        learnt = value
        if count >= ENOUGH:
            least = finest / (3 * mean * mean) if size and mean > 0 else finest
            spread = max(math.sqrt(squares / (count - 1)), least) * math.sqrt(1 + 1 / count)
            score = 0.0
            if spread > 0:
                score = min(max(normal_score((value - mean) / spread, count - 1), -MOST), MOST)
                learnt = min(max(value, mean - MOST * spread), mean + MOST * spread)
            if up <= 0:
                rising = place
            up = min(max(0.0, up + (min(score, 0.0) if bound else score) - K), 2 * H)
            if up > H:
                found.append(Broken(DRIFT, "above", place, rising))
            if not upwards_only:
                if down <= 0:
                    falling = place
                down = min(max(0.0, down + (0.0 if bound else -score) - K), 2 * H)
                if down > H:
                    found.append(Broken(DRIFT, "below", place, falling))
        if up <= H and down <= H and not bound:
            count += 1
            apart = learnt - mean
            mean += apart / count
            squares += apart * (learnt - mean)
    return found
