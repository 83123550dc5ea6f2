from datetime import UTC, datetime, timedelta, timezone

from hypothesis import given, settings
from hypothesis import strategies as st

from recorder.archive.index.entries import moment
from recorder.archive.index.keys import first_key, free_key
from tests.archive.sample_jobs import NOW

MOMENTS = st.datetimes(
    datetime(1700, 1, 1), datetime(2250, 1, 1), timezones=st.just(UTC)
)  # fmt: skip


@settings(max_examples=100, deadline=None)
@given(one=MOMENTS, other=MOMENTS, job_id=st.text(max_size=20))
def test_keys_sort_by_time(one: datetime, other: datetime, job_id: str) -> None:
    if one < other:
        assert free_key(one, job_id, ()) < first_key(other) <= free_key(other, job_id, ())
    assert -(2**63) <= free_key(one, job_id, ()) < 2**63


def test_any_moment_has_a_key_of_64_bits() -> None:
    for at in (datetime.min, datetime.max):
        for hours in (-14, 0, 14):
            zoned = at.replace(tzinfo=timezone(timedelta(hours=hours)))
            assert -(2**63) <= free_key(zoned, "id", ()) < 2**63
            assert moment(zoned)[:4] in ("0001", "9999")
    assert first_key(datetime.min.replace(tzinfo=UTC)) < first_key(NOW)
    assert first_key(NOW) < first_key(datetime.max.replace(tzinfo=UTC))


def test_a_key_is_free_and_the_same_again() -> None:
    job_id = "20261125-204530-3f9a"
    key = free_key(NOW, job_id, set())
    assert key == free_key(NOW.astimezone(timezone(timedelta(hours=9))), job_id, {1})
    assert free_key(NOW, job_id, {key, key + 1}) == key + 2
