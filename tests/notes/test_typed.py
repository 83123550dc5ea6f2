from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from recorder.errors import BadValue, UnknownField, UnknownUnit
from recorder.model.fields import FIELDS
from recorder.model.quantity import Quantity
from recorder.model.reading import Role, Standing, Typed
from recorder.notes.typed import typed_reading

HAND = Typed(file="job.toml")


@pytest.mark.parametrize(
    ("field", "text", "value"),
    [
        ("pressure", "2 bar", 2.0),
        ("pressure", "32 psi", 2.20632233381),
        ("top_temperature", "350 degF", 176.666666667),
        ("top_temperature", "172°C", 172.0),
        ("dwell_time", "3 min", 180.0),
        ("dwell_time", "3 min 30 s", 210.0),
        ("belt_width", "2 3/4 in", 69.85),
        ("ambient_temperature", "-5 degC", -5.0),
        ("bubbles", "no", False),
        ("bubbles", True, True),
        ("isolation_confirmed", "Yes", True),
        ("outcome", "accepted", "accepted"),
        ("guide_profile", "v guided", "v_guided"),
        ("job_number", "4817", "4817"),
        ("job_number", 4817, "4817"),
        ("customer", "  Larkfield   Bakery ", "Larkfield Bakery"),
        ("supply_phases", 3, 3.0),
        ("arrived_at", "2026-11-25T08:10+01:00", "2026-11-25T08:10:00+01:00"),
    ],
)
def test_value(field: str, text: str | bool | int, value: bool | float | str) -> None:
    reading = typed_reading(field, text, HAND)
    assert reading.value == value
    assert type(reading.value) is type(value)
    assert reading.standing is Standing.CONFIRMED
    assert reading.evidence == HAND


def test_what_was_typed_in_another_unit_is_kept() -> None:
    assert typed_reading("pressure", "32 psi", HAND).as_said == Quantity(value=32, unit="psi")
    assert typed_reading("pressure", "2 bar", HAND).as_said is None


def test_level_of_the_field_decides_splice_and_run() -> None:
    places = [
        (r.splice, r.run)
        for r in (
            typed_reading("customer", "Larkfield Bakery", HAND, splice=2, run=3),
            typed_reading("bubbles", False, HAND, splice=2, run=3),
            typed_reading("pressure", "2 bar", HAND, Role.ASKED, splice=2, run=3),
        )
    ]
    assert places == [(1, 1), (2, 1), (2, 3)]


@pytest.mark.parametrize(
    "text", ["2", 2.2, 2, "", "two", "2 to 3 bar", "bar", "9" * 400 + " bar", True]
)
def test_a_bare_number_or_no_number_is_refused_with_a_hint(text: str | float) -> None:
    with pytest.raises(BadValue, match=r"unit, for example '2\.2 bar'|say the unit too"):
        typed_reading("pressure", text, HAND)


@pytest.mark.parametrize("text", ["3 parsec", "3 mm", "3 bar or so"])
def test_a_wrong_unit_is_named(text: str) -> None:
    with pytest.raises(UnknownUnit, match=r"not a unit that pressure can have; use one of bar"):
        typed_reading("pressure", text, HAND)


def test_a_wrong_field_gets_near_names() -> None:
    with pytest.raises(UnknownField, match="did you mean pressure"):
        typed_reading("presure", "2 bar", HAND)


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("bubbles", "maybe"),
        ("outcome", "ok"),
        ("belt_width", "-3 mm"),
        ("top_temperature", "-400 degC"),
        ("supply_phases", "x"),
        ("supply_phases", float("inf")),
        ("supply_phases", float("nan")),
        ("supply_phases", -1),
        ("top_temperature", float("nan")),
        ("top_temperature", "inf degC"),
        ("top_temperature", "1720 degC"),
        ("pressure", "-1 bar"),
        ("pressure", "220 MPa"),
        ("belt_width", "101 000 m"),
        ("dwell_time", "9000 hours"),
        ("supply_voltage", "400000 V"),
        ("supply_current", "15000 A"),
        ("job_number", float("inf")),
        ("customer", " "),
        ("customer", "a\0b"),
        ("arrived_at", "08:10"),
        ("arrived_at", "2026-11-25T08:10"),
        ("arrived_at", "2026-13-25T08:10+01:00"),
        ("arrived_at", "0001-01-01T00:00+14:00"),
    ],
)
def test_impossible_values_are_refused(field: str, text: str | float) -> None:
    with pytest.raises(BadValue) as refused:
        typed_reading(field, text, HAND)
    assert "\n" not in str(refused.value)


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(sorted(FIELDS)), st.text(max_size=40))
def test_any_text_gives_a_reading_or_a_clear_error(field: str, text: str) -> None:
    try:
        shown = typed_reading(field, text, HAND).field
    except (BadValue, UnknownUnit) as refused:
        shown = str(refused)
    assert field in shown
    assert "\n" not in shown


def test_an_impossible_value_is_refused_with_the_limit() -> None:
    with pytest.raises(BadValue, match="more than 1000 °C is not possible"):
        typed_reading("top_temperature", "1720 degC", HAND)


@pytest.mark.parametrize(
    ("field", "text", "value"),
    [("elongation", "-1.5 %", -1.5), ("top_temperature", "400 degC", 400.0)],
)
def test_an_unusual_value_is_what_a_person_typed(field: str, text: str, value: float) -> None:
    assert typed_reading(field, text, HAND).value == value


def test_an_unknown_unit_is_answered_with_those_of_the_trade_alone() -> None:
    with pytest.raises(UnknownUnit) as refused:
        typed_reading("belt_width", "3 km", Typed())
    assert "mm, cm, m, inch" in str(refused.value)
    assert "light_year" not in str(refused.value)
