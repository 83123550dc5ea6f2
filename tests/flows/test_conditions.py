import os
import time
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recorder.archive.finding.search import Range
from recorder.errors import BadValue, SeamnoteError, UnknownField, UnknownUnit, WrongUse
from recorder.flows.conditions import condition
from recorder.model.fields import FIELDS


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("belt_width=70", Range("belt_width", 70.0, 70.0)),
        ("belt_width = 70 mm", Range("belt_width", 70.0, 70.0)),
        ("belt_width=60mm..80mm", Range("belt_width", 60.0, 80.0)),
        ("belt_width=6cm .. 80 mm", Range("belt_width", 60.0, 80.0)),
        ("belt_width=6..8cm", Range("belt_width", 60.0, 80.0)),
        ("belt_width=60 mm..80", Range("belt_width", 60.0, 80.0)),
        ("belt_width=60..80", Range("belt_width", 60.0, 80.0)),
        ("top_temperature=-40 .. 356 °F", Range("top_temperature", -40.0, 180.0)),
        ("belt_width>=2inch", Range("belt_width", low=50.8)),
        ("belt_width>2in", Range("belt_width", low=50.8, low_open=True)),
        ("belt_width<=.07m", Range("belt_width", high=70.0)),
        ("belt_width<70", Range("belt_width", high=70.0, high_open=True)),
        ("top_temperature>=356degF", Range("top_temperature", low=180.0)),
        ("top_temperature<=356 °F", Range("top_temperature", high=180.0)),
        ("ambient_temperature<-5", Range("ambient_temperature", high=-5.0, high_open=True)),
        ("dwell_time=3min", Range("dwell_time", 180.0, 180.0)),
        ("dwell_time==3 min 30 s", Range("dwell_time", 210.0, 210.0)),
        ("belt_width>=two and a half inches", Range("belt_width", low=63.5)),
        ("elongation=1%..2%", Range("elongation", 1.0, 2.0)),
        ("supply_phases=3", Range("supply_phases", 3.0, 3.0)),
        ("outcome=rejected", Range("outcome", equals="rejected")),
        ("customer= O'Brien Parcel ", Range("customer", equals="O'Brien Parcel")),
        ("materials=3 x 2..4 = ok", Range("materials", equals="3 x 2..4 = ok")),
        ("bubbles=No", Range("bubbles", equals=False)),
        ("bubbles=ja", Range("bubbles", equals=True)),
        ("splice_type=double finger", Range("splice_type", equals="double_finger")),
        ("guide_profile = V-guided", Range("guide_profile", equals="v_guided")),
        ("Belt width >= 70", Range("belt_width", low=70.0)),
        ("cool-down<=60", Range("cool_down_temperature", high=60.0)),
        ("top_temperature>=350 degrees F", Range("top_temperature", low=176.666666667)),
        ("pressure>2 bars", Range("pressure", low=2.0, low_open=True)),
        ("bubbles=yes", Range("bubbles", equals=True)),
    ],
)
def test_conditions(text: str, meant: Range) -> None:
    assert condition(text) == meant


def _s(day: int, hour: int = 0) -> float:
    return datetime(2026, 11, day, hour, tzinfo=UTC).timestamp()


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("arrived_at=2026-11-25", Range("arrived_at", _s(25), _s(26), high_open=True)),
        ("arrived_at>=2026-11-25", Range("arrived_at", low=_s(25))),
        ("arrived_at>2026-11-25", Range("arrived_at", low=_s(26))),
        ("arrived_at<2026-11-25", Range("arrived_at", high=_s(25), high_open=True)),
        ("arrived_at<=2026-11-25", Range("arrived_at", high=_s(26), high_open=True)),
        ("arrived_at=2026-11-24..2026-11-25", Range("arrived_at", _s(24), _s(26), high_open=True)),
        ("arrived_at>=2026-11", Range("arrived_at", low=_s(1))),
        ("arrived_at<2026-11", Range("arrived_at", high=_s(1), high_open=True)),
        ("arrived_at>2026-11-25T08:00", Range("arrived_at", low=_s(25, 8), low_open=True)),
        ("arrived_at=2026-11-25T09:00+01:00", Range("arrived_at", _s(25, 8), _s(25, 8))),
    ],
)
def test_times(monkeypatch: pytest.MonkeyPatch, text: str, meant: Range) -> None:
    monkeypatch.setitem(os.environ, "TZ", "UTC")
    time.tzset()
    assert condition(text) == meant


@pytest.mark.parametrize(
    ("text", "error", "says"),
    [
        ("", WrongUse, "no condition"),
        ("top_temperature", WrongUse, "search --help"),
        ("top_temperature>=", WrongUse, "no condition"),
        (">=5", WrongUse, "no condition"),
        ("top_temprature>=5", UnknownField, "top_temperature"),
        ("top_temperature>=5bar", UnknownUnit, "degC, degF, kelvin"),
        ("pressure>=5furlong", UnknownUnit, "bar"),
        ("pressure>=high", BadValue, "give one number"),
        ("pressure>=1..2", BadValue, "before LOW..HIGH"),
        ("pressure=1..", BadValue, "both ends"),
        ("pressure=..1bar", BadValue, "give one number"),
        ("belt_width=6cm..80", BadValue, "both ends their unit"),
        ("dwell_time=2..3 min 30 s", BadValue, "both ends their unit"),
        ("pressure=1e3", BadValue, "the unit"),
        ("pressure=nan", BadValue, "give one number"),
        ("supply_phases=3V", BadValue, "without a unit"),
        ("outcome>accepted", BadValue, "use '='"),
        ("bubbles=maybe", BadValue, "yes or no"),
        ("outcome=acepted", BadValue, "accepted, rework, rejected"),
        ("outcome!=accepted", WrongUse, "compares nothing"),
        ("top_temperature=>350", WrongUse, "use one of = >= <= > <"),
        ("top_temp>=350", UnknownField, "did you mean top_temperature"),
        ("width=70", UnknownField, "belt_width or splice_width"),
        ("pressure>=2 bra", UnknownUnit, "bar"),
        ("arrived_at>yesterday", BadValue, "2026-03-09"),
    ],
)
def test_what_cannot_be_meant(text: str, error: type[SeamnoteError], says: str) -> None:
    with pytest.raises(error, match=says):
        condition(text)


def _answer(text: str) -> Range | str:
    try:
        return condition(text)
    except SeamnoteError as error:
        return str(error)


@given(st.sampled_from(sorted(FIELDS)), st.sampled_from(["=", ">=", "<"]), st.text(max_size=20))
def test_nothing_else_is_raised(field: str, sign: str, value: str) -> None:
    answer = _answer(field + sign + value)
    if isinstance(answer, str):
        assert answer
        assert "\n" not in answer
    else:
        assert answer.field == field
