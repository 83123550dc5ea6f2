import os
import time
from datetime import datetime

import pytest

from recorder.errors import BadValue, UnknownUnit
from recorder.flows.moments import stretch
from recorder.flows.wanted_units import DIMENSIONS, wanted_units


@pytest.mark.parametrize(
    ("said", "unit"),
    [
        ("psi", {"pressure": "psi"}),
        ("bars", {"pressure": "bar"}),
        ("MPa", {"pressure": "MPa"}),
        ("degF", {"temperature": "degF"}),
        ("°F", {"temperature": "degF"}),
        ("degrees F", {"temperature": "degF"}),
        ("Fahrenheit", {"temperature": "degF"}),
        ("inch", {"length": "inch"}),
        ("in", {"length": "inch"}),
        ("mm", {"length": "mm"}),
        ("m", {"length": "m"}),
        ("minutes", {"time": "min"}),
        (" % ", {"ratio": "percent"}),
    ],
)
def test_a_unit_is_named_as_the_trade_does(said: str, unit: dict[str, str]) -> None:
    assert wanted_units([said]) == unit


def test_of_two_for_one_dimension_the_later_counts() -> None:
    assert wanted_units(["psi", "degF", "kPa"]) == {"pressure": "kPa", "temperature": "degF"}
    assert wanted_units([]) == {}


@pytest.mark.parametrize(
    ("wrong", "near"),
    [("bra", "bar"), ("degX", "degF"), ("lbs", "psi"), ("furlong", "degC, degF"), ("", "psi")],
)
def test_a_wrong_unit_names_the_near_ones(wrong: str, near: str) -> None:
    with pytest.raises(UnknownUnit) as caught:
        wanted_units(["mm", wrong])
    assert near in str(caught.value)


def test_only_units_that_fields_have() -> None:
    assert "angle" not in DIMENSIONS
    with pytest.raises(UnknownUnit):
        wanted_units(["rad"])


@pytest.mark.parametrize(
    ("text", "start", "end"),
    [
        ("2026", "2026-01-01T00:00", "2027-01-01T00:00"),
        ("2026-03", "2026-03-01T00:00", "2026-04-01T00:00"),
        ("2026-12", "2026-12-01T00:00", "2027-01-01T00:00"),
        (" 2028-02-29 ", "2028-02-29T00:00", "2028-03-01T00:00"),
        ("2026-03-09T08:30", "2026-03-09T08:30", "2026-03-09T08:30"),
        ("2026-03-09T08:30+05:00", "2026-03-09T03:30", "2026-03-09T03:30"),
    ],
)
def test_a_stretch_of_time(
    monkeypatch: pytest.MonkeyPatch, text: str, start: str, end: str
) -> None:
    monkeypatch.setitem(os.environ, "TZ", "UTC")
    time.tzset()
    assert stretch(text, "since") == tuple(
        datetime.fromisoformat(f"{t}+00:00") for t in (start, end)
    )


@pytest.mark.parametrize(
    "text", ["", "March", "2026-13", "2026-02-30", "0000", "9999", "9999-12", "26-03", "２０２６"]
)
def test_what_is_no_date(text: str) -> None:
    with pytest.raises(BadValue, match="cannot be since; write a date"):
        stretch(text, "since")
