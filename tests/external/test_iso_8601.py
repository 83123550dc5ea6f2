"""Durations and dates of ISO 8601-1:2019 in a text.

Durations (5.5.2: PnDTnHnMnS) are written by pydantic, which serialises a timedelta by that
standard; dates and times of day (5.2 to 5.4) by Python's datetime. A duration is a quantity, a
date is none.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter

from recorder.notes.quantities import find_quantities

WRITER: TypeAdapter[timedelta] = TypeAdapter(timedelta)
MOMENTS = st.datetimes(datetime(1900, 1, 1), datetime(2099, 12, 31), timezones=st.just(UTC))


@given(st.timedeltas(timedelta(milliseconds=1), timedelta(days=27)))
def test_duration(duration: timedelta) -> None:
    written = WRITER.dump_json(duration).decode().strip('"')
    found = find_quantities(f"It took {written} in all.")
    if "T" not in written:  # whole days; "P3D" may be a part number as well
        assert found == ()
        return
    (quantity,) = found
    assert quantity.value == pytest.approx(duration.total_seconds(), abs=1e-6)
    assert (quantity.unit, quantity.start, quantity.end) == ("s", 8, 8 + len(written))


@pytest.mark.parametrize("text", ["PT", "P", "PT5", "PT5X", "PT1S2M", "XPT5M", "PT5M3", "pt5m"])
def test_what_only_looks_like_one(text: str) -> None:
    assert find_quantities(f"the part {text} is worn") == ()


@given(MOMENTS)
def test_dates_and_moments_are_no_quantities(moment: datetime) -> None:
    for written in (moment.isoformat(), moment.date().isoformat()):
        assert find_quantities(f"done on {written} by two people") == ()
