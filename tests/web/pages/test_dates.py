"""Times as the pages show them."""

from datetime import UTC, datetime

import pytest

from recorder.web.pages.dates import clock, day, moment


@pytest.mark.parametrize(
    ("seconds", "shown"),
    [(None, ""), (0, "0:00"), (64.2, "1:04"), (599.99, "9:59"), (3600, "1:00:00")],
)
def test_a_place_in_a_recording(seconds: float | None, shown: str) -> None:
    assert clock(seconds) == shown


def test_a_day_is_written_out() -> None:
    at = datetime(2026, 11, 6, 12, 5).astimezone()
    assert (day(at), moment(at)) == ("6 November 2026", "6 November 2026, 12:05")


def test_a_wrong_clock_at_the_end_of_the_calendar_is_shown_as_told() -> None:
    assert day(datetime(9999, 12, 31, 23, 59, tzinfo=UTC)).endswith("9999")
