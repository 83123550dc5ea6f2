"""Decisions with a guard band, and numbers as a person reads them."""

import pytest

from recorder.model.measurement import (
    Decision,
    Limit,
    Measurement,
    decide,
    decisions_on,
    worst,
)


@pytest.mark.parametrize(
    ("value", "U", "unit", "text"),
    [
        (0.35, 0.08, "mm", "0.35 ± 0.08 mm"),
        (70.104, 0.21, "mm", "70.10 ± 0.21 mm"),
        (70.104, 0.211, "mm", "70.10 ± 0.22 mm"),
        (70.104, 1.26, "mm", "70.1 ± 1.3 mm"),
        (70.104, 12.6, "mm", "70 ± 13 mm"),
        (0.0351, 0.0042, "mm", "0.035 ± 0.005 mm"),
        (0.0138, 0.0031, "inch", "0.014 ± 0.004 in"),
        (0.2, 0.11, "deg", "0.20 ± 0.11°"),
        (1.0, 0.0, "mm", "1.00 ± 0.00 mm"),
    ],
)
def test_as_many_decimals_as_the_uncertainty_carries(
    value: float, U: float, unit: str, text: str
) -> None:
    assert Measurement(value=value, unit=unit, U=U).shown() == text


def test_under_the_quantification_limit() -> None:
    assert Measurement(value=0.12, unit="mm", U=0.1, below=True).shown() == ("below 0.12 mm")


def test_another_coverage_factor_is_told() -> None:
    assert Measurement(value=1.0, unit="mm", U=0.3, k=3).shown().endswith("mm (k = 3)")


@pytest.mark.parametrize(
    ("low", "high", "text"),
    [
        (None, 0.5, "at most 0.5 mm"),
        (69.3, 70.7, "69.3 to 70.7 mm"),
        (60.0, None, "at least 60 mm"),
    ],
)
def test_limits(low: float | None, high: float | None, text: str) -> None:
    assert Limit(name="finger_gap", low=low, high=high).shown() == text


def mm(value: float, U: float, below: bool = False) -> Measurement:
    return Measurement(value=value, unit="mm", U=U, below=below)


def test_bounds_are_never_rounded_down() -> None:
    assert mm(0.121, 0.1, below=True).shown() == "below 0.13 mm"


WIDTH = Limit(name="splice_width", low=69.0, high=71.0)
GAP = Limit(name="finger_gap", high=0.5)


@pytest.mark.parametrize(
    ("measured", "limit", "decision"),
    [
        (mm(0.40, 0.10), GAP, Decision.WITHIN),
        (mm(0.41, 0.10), GAP, Decision.UNDECIDED),
        (mm(0.60, 0.10), GAP, Decision.UNDECIDED),
        (mm(0.61, 0.10), GAP, Decision.OUTSIDE),
        (mm(0.50, 0.00, below=True), GAP, Decision.WITHIN),
        (mm(0.51, 0.00, below=True), GAP, Decision.UNDECIDED),
        (mm(70.0, 1.0), WIDTH, Decision.WITHIN),
        (mm(70.0, 1.1), WIDTH, Decision.UNDECIDED),
        (mm(68.0, 0.5), WIDTH, Decision.OUTSIDE),
        (mm(68.6, 0.5), WIDTH, Decision.UNDECIDED),
        (mm(72.0, 0.5), WIDTH, Decision.OUTSIDE),
        (mm(65.0, 0.5, below=True), WIDTH, Decision.UNDECIDED),
        (mm(0.40, 0.05), Limit(name="finger_gap", high=0.02, unit="inch"), Decision.WITHIN),
    ],
)
def test_decision_rule(measured: Measurement, limit: Limit, decision: Decision) -> None:
    assert decide(measured, limit) is decision


@pytest.mark.parametrize("wrong", [
    {"name": "finger_gab", "high": 1.0},
    {"name": "finger_gap"},
    {"name": "finger_gap", "high": 1.0, "unit": "bar"},
    {"name": "finger_gap", "high": 1.0, "unit": "furlong"},
    {"name": "splice_width", "low": 71.0, "high": 70.0},
    {"name": "skew", "high": 1.0, "unit": "mm"},
    {"name": "edge_offset", "tolerance": 1.0},
    {"name": "splice_width", "tolerance": 1.0, "high": 70.0},
    {"name": "splice_width", "tolerance": 0.0},
    {"name": "finger_gap", "high": "1,000 mm"},
])  # fmt: skip
def test_a_limit_that_makes_no_sense_cannot_exist(wrong: dict[str, object]) -> None:
    with pytest.raises(ValueError, match=r"."):
        Limit.model_validate(wrong)


def test_the_worst_decision_counts() -> None:
    within, outside, undecided = Decision.WITHIN, Decision.OUTSIDE, Decision.UNDECIDED
    assert worst([within, undecided]) is undecided
    assert worst([undecided, outside, within]) is outside
    assert worst([within]) is within
    assert worst([]) is None


def deg(value: float, U: float) -> Measurement:
    return Measurement(value=value, unit="deg", U=U)


NUMBERS = {
    "gap_max": mm(0.30, 0.05),
    "splice_width": mm(70.3, 0.2),
    "belt_width": mm(70.0, 0.2),
    "skew": deg(-0.6, 0.1),
    "finger_pitch": mm(10.0, 0.05),
}


@pytest.mark.parametrize(("limit", "decision"), [
    ({"name": "finger_gap", "high": "0.4 mm"}, Decision.WITHIN),
    ({"name": "skew", "high": "0.45 deg"}, Decision.OUTSIDE),
    ({"name": "skew", "high": "1 deg"}, Decision.WITHIN),
    ({"name": "bow", "high": "1 mm"}, Decision.UNDECIDED),
    ({"name": "splice_width", "tolerance": "0.6 mm"}, Decision.WITHIN),
    ({"name": "splice_width", "tolerance": "0.55 mm"}, Decision.UNDECIDED),
    ({"name": "splice_width", "tolerance": "0.01 mm"}, Decision.OUTSIDE),
    ({"name": "finger_pitch", "tolerance": "5 mm"}, Decision.UNDECIDED),
    ({"name": "finger_length", "low": "5 mm"}, Decision.UNDECIDED),
])  # fmt: skip
def test_each_limit_has_its_decision(limit: dict[str, str], decision: Decision) -> None:
    """A deviation in either direction counts; without a number or a nominal size: undecided."""
    found = Limit.model_validate(limit)
    decisions = decisions_on(NUMBERS, [found])
    assert decisions == {found.name: decision}
    assert worst([Decision.WITHIN, *decisions.values()]) is decision


def test_a_tolerance_around_what_was_told() -> None:
    limit = Limit(name="splice_width", tolerance=0.5, source="job card")
    assert limit.shown() == "± 0.5 mm of the belt width"
    about = limit.about(2.0, "inch")
    assert (about.low, about.high) == pytest.approx((50.3, 51.3))
    assert about.shown() == "50.3 to 51.3 mm"
    assert about.source == "job card, ± 0.5 mm of the belt width told (2 in)"
    gap = Limit(name="finger_gap", high=0.5)
    assert gap.about(70.0, "mm") is gap


def test_bounds_as_text_stand_in_the_limits_unit() -> None:
    assert Limit.model_validate({"name": "skew", "high": "0.3°"}).shown() == "at most 0.3°"
    inch = Limit.model_validate({"name": "finger_gap", "high": "0.508 mm", "unit": "inch"})
    assert inch.high == pytest.approx(0.02)
    assert Limit.model_validate(inch.model_dump(mode="json")) == inch
