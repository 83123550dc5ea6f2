"""Measurements in words and numbers."""

import pytest

from recorder.model.measurement import Decision, Measurement, SeamMeasurement
from recorder.report.content.measured import besides, table
from tests.report import sample


def photo(gap: float, below: bool = False) -> SeamMeasurement:
    value = Measurement(value=gap, unit="mm", U=0.08, below=below)
    return SeamMeasurement(file="p.jpg", status="measured", gap_max=value)


@pytest.mark.parametrize(
    ("said", "measured", "below", "differs"),
    [
        (0.1, 0.15, False, False),
        (0.1, 0.19, False, True),
        (0.5, 0.15, False, True),
        (0.1, 0.12, True, False),
        (0.5, 0.12, True, True),
    ],
)
def test_a_spoken_value_beyond_the_uncertainty_is_marked(
    said: float, measured: float, below: bool, differs: bool
) -> None:
    reading = sample.told("finger_gap", said, "mm", "as said", 1.0)
    found = table(["Photo"], [photo(measured, below)], {"finger_gap": reading}, {})
    assert found is not None
    (column,) = found.columns
    assert column.said.mark is not None
    assert (column.said.mark.word == "differs from photo") is differs


def test_a_value_that_was_only_said_has_its_column() -> None:
    reading = sample.told("edge_offset", 0.4, "mm", "as said", 1.0)
    found = table([], [], {"edge_offset": reading}, {})
    assert found is not None
    assert found.columns[0].label == "Edge offset"
    assert found.columns[0].said.value == "0.4 mm"


def test_nothing_measured_and_nothing_said() -> None:
    assert table([], [], {}, {}) is None


def test_the_customers_unit_and_the_decision() -> None:
    found = table(["After"], [sample.measurement("p.jpg", 0.9, 70.1)], {}, {"length": "inch"})
    assert found is not None
    gap = found.photos[0].values[0]
    assert gap.also == "0.035 ± 0.004 in"
    assert gap.decision is not None
    assert (gap.decision.kind, gap.decision.sign) == (Decision.OUTSIDE.value, "✗")
    assert found.sources == (
        "Limit (Largest finger gap, Edge offset): house default, common practice, set your own",
        "Limit (Splice width): job card",
    )


def test_what_has_no_limit_in_one_line() -> None:
    assert besides(sample.measurement("p.jpg", 0.15, 70.1)) == (
        "mean gap 0.09 ± 0.05 mm, belt width 70.02 ± 0.15 mm, skew 0.20 ± 0.11°, "
        "bow 0.11 ± 0.09 mm, 7 fingers"
    )
