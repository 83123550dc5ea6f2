"""The zone rules, by hand and against their theory; how broken rules become signals."""

from __future__ import annotations

import random
from statistics import fmean

import pytest

from recorder.knowhow.trends import rules
from recorder.knowhow.trends.rules import Broken, broken_zones, signals, text_of
from tests.knowhow.trends.theory import zones_arl


def broken(scores: list[float | None]) -> set[tuple[str, str, int, int]]:
    return {tuple(each) for each in broken_zones(scores)}  # type: ignore[misc]


def test_one_point_beyond_a_limit() -> None:
    assert broken([0.5, 3.1]) == {("beyond", "above", 1, 1)}
    assert broken([0.5, -3.1]) == {("beyond", "below", 1, 1)}
    assert broken([0.5, 2.99]) == set()


def test_two_of_three_beyond_two_sigma_on_one_side() -> None:
    assert broken([2.1, 0.0, 2.1]) == {("two_of_three", "above", 2, 0)}
    assert broken([2.1, 0.0, 0.0, 2.1]) == set()
    assert broken([2.1, 0.0, -2.1]) == set()


def test_four_of_five_beyond_one_sigma() -> None:
    assert broken([-1.1, -1.2, 0.3, -1.1, -1.5]) == {("four_of_five", "below", 4, 0)}
    assert broken([-1.1, 0.3, 0.3, -1.1, -1.5]) == set()


def test_eight_on_one_side_and_not_seven() -> None:
    assert broken([0.1] * 7) == set()
    assert broken([-0.5] + [0.1] * 8) == {("eight_on_one_side", "above", 8, 1)}
    assert broken([0.1] * 4 + [0.0] + [0.1] * 4) == set()


def test_what_cannot_be_judged_takes_part_in_nothing() -> None:
    assert broken([0.1] * 4 + [None] + [0.1] * 4) == set()
    assert broken([None] * 20) == set()


@pytest.mark.parametrize(("shift", "charts", "longest"), [(0.0, 200, 800), (1.0, 800, 60)])
def test_the_zone_rules_run_as_long_as_theory_says(shift: float, charts: int, longest: int) -> None:
    luck = random.Random(5)
    lengths = []
    for _ in range(charts):
        scores: list[float | None] = [luck.gauss(shift, 1) for _ in range(longest)]
        lengths.append(1 + min((each.at for each in broken_zones(scores)), default=longest))
    assert fmean(lengths) == pytest.approx(zones_arl(shift), rel=0.12)


def test_points_in_a_row_are_one_signal() -> None:
    row = [Broken(rules.EIGHT, "above", at, at - 7) for at in (9, 10, 11)]
    apart = [Broken(rules.BEYOND, "above", at, at) for at in (4, 11)]
    found = signals(row + apart)
    assert [(each.rule, each.since, each.first, each.at) for each in found] == [
        ("beyond", 4, None, 4),
        ("beyond", 11, None, 11),
        ("eight_on_one_side", 2, 9, 11),
    ]
    assert found[2].text == "10 points in a row above the centre"


@pytest.mark.parametrize("rule", rules.LETTERS)
@pytest.mark.parametrize("side", ["above", "below"])
def test_each_rule_has_its_sentence_and_letter(rule: str, side: str) -> None:
    (signal,) = signals([Broken(rule, side, 9, 9)])
    assert signal.text == text_of(signal) != ""
    assert rules.rule_text(rule) != rule
    assert len(set(rules.LETTERS.values())) == len(rules.LETTERS)
