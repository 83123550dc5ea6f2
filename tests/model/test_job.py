"""Which reading is in force, and which must be asked about."""

from datetime import UTC, datetime

import pytest

from recorder.model.job import Job, in_force, missing, needs_person, to_confirm
from recorder.model.reading import Evidence, Reading, Role, Spoken, Standing, Typed

CARD = Typed(file="job.toml")
HEARD = Spoken(file="a.wav", said="...")


def reading(
    field: str, value: float | str, standing: Standing = Standing.CLEAR,
    evidence: Evidence = HEARD, splice: int = 1, run: int = 1, role: Role = Role.USED,
) -> Reading:  # fmt: skip
    unit = {"pressure": "bar", "belt_width": "mm", "finger_length": "mm"}.get(field)
    return Reading(
        field=field, value=value, unit=unit, standing=standing, evidence=evidence,
        splice=splice, run=run, role=role,
    )  # fmt: skip


def job(*readings: Reading) -> Job:
    return Job(id="j", created_at=datetime(2026, 1, 1, tzinfo=UTC), version="0", readings=readings)


def test_the_newest_is_in_force_and_the_history_stays() -> None:
    told = (reading("pressure", 2.0), reading("pressure", 2.2))
    assert in_force(told)["pressure"].value == 2.2
    assert len(told) == 2


def test_a_doubt_does_not_displace_what_a_person_confirmed_and_is_asked() -> None:
    typed = reading("belt_width", 70.0, Standing.CONFIRMED, CARD)
    heard = reading("belt_width", 17.0, Standing.DOUBTFUL)
    assert in_force((typed, heard))["belt_width"] is typed
    assert to_confirm(job(typed, heard)) == [heard]


def test_a_doubt_displaces_what_was_only_clear() -> None:
    first, second = reading("pressure", 2.0), reading("pressure", 2.6, Standing.DOUBTFUL)
    assert in_force((first, second))["pressure"] is second


def test_a_confirmation_settles_the_doubt() -> None:
    heard = reading("pressure", 2.6, Standing.DOUBTFUL)
    answer = reading("pressure", 2.2, Standing.CONFIRMED, Typed())
    assert to_confirm(job(heard, answer)) == []
    assert in_force((heard, answer))["pressure"] is answer


def test_each_splice_and_run_has_its_own() -> None:
    told = (
        reading("pressure", 2.0),
        reading("pressure", 2.1, run=2),
        reading("pressure", 2.2, splice=2),
    )
    assert in_force(told)["pressure"].value == 2.2
    assert in_force(told, splice=1)["pressure"].value == 2.1
    assert in_force(told, splice=1, run=1)["pressure"].value == 2.0


def test_a_doubt_about_the_first_splice_is_asked_even_after_the_second() -> None:
    doubt = reading("pressure", 2.0, Standing.DOUBTFUL)
    assert to_confirm(job(doubt, reading("pressure", 2.2, splice=2))) == [doubt]


def test_the_job_card_holds_for_every_splice() -> None:
    told = (
        reading("finger_length", 30.0, Standing.CONFIRMED, CARD),
        reading("pressure", 2.2, Standing.CONFIRMED, CARD, role=Role.ASKED),
        reading("pressure", 2.0, splice=2),
    )
    assert in_force(told)["finger_length"].value == 30.0
    assert in_force(told, splice=2, role=Role.ASKED)["pressure"].value == 2.2
    assert in_force(told, splice=2)["pressure"].value == 2.0


def test_asked_does_not_count_as_used() -> None:
    asked = reading("pressure", 2.2, Standing.CONFIRMED, CARD, role=Role.ASKED)
    assert in_force((asked,)) == {}
    assert "pressure" in missing(job(asked))


def test_a_doubt_needs_a_person() -> None:
    assert needs_person(job(reading("pressure", 2.0, Standing.DOUBTFUL)))
    assert not needs_person(job(reading("pressure", 2.0)))


@pytest.mark.parametrize("wrong", [
    {"field": "pressur", "value": 2.0},
    {"field": "pressure", "value": 2.0, "unit": "psi"},
    {"field": "pressure", "value": "two", "unit": "bar"},
    {"field": "pressure", "value": float("nan"), "unit": "bar"},
    {"field": "bubbles", "value": "no"},
    {"field": "outcome", "value": "fine"},
    {"field": "belt_width", "value": 70.0, "unit": "mm", "splice": 2},
    {"field": "outcome", "value": "accepted", "run": 2},
])  # fmt: skip
def test_a_reading_that_does_not_fit_its_field_cannot_exist(wrong: dict[str, object]) -> None:
    with pytest.raises(ValueError, match=r"."):
        Reading.model_validate({"standing": "clear", "evidence": HEARD, **wrong})


def test_a_withdrawn_value_is_in_force_no_more() -> None:
    two = reading("pressure", 2.0, Standing.CONFIRMED)
    back = two.model_copy(update={"standing": Standing.WITHDRAWN})
    doubt = two.model_copy(update={"value": 2.2, "standing": Standing.DOUBTFUL})
    assert in_force((two,))["pressure"] == two
    assert "pressure" not in in_force((two, back))
    assert in_force((two, back, doubt))["pressure"] == doubt
    assert "pressure" in missing(job(two, back))
    assert "pressure" not in missing(job(two, back, doubt))
    assert to_confirm(job(two, doubt, back)) == []
