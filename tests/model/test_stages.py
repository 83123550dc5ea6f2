"""Stages between their marks."""

from datetime import UTC, datetime, timedelta

from recorder.model.recording import Recording
from recorder.model.stages import Stage, StageMark, spans, timed


def mark(stage: Stage, at_s: float, file: str = "talk.flac", run: int = 1) -> StageMark:
    return StageMark(stage=stage, file=file, at_s=at_s, said="", run=run)


def lengths(*marks: StageMark, run: int = 1) -> list[tuple[Stage, float]]:
    return [(span.stage, span.seconds) for span in spans(marks, 1, run)]


def test_each_stage_lasts_until_the_next_mark() -> None:
    assert lengths(
        mark(Stage.HEATING, 10), mark(Stage.DWELL, 250), mark(Stage.COOLING, 430),
        mark(Stage.OPEN, 700),
    ) == [(Stage.HEATING, 240), (Stage.DWELL, 180), (Stage.COOLING, 270)]  # fmt: skip


def test_the_last_stage_has_no_end_that_anybody_told() -> None:
    assert lengths(mark(Stage.HEATING, 10), mark(Stage.DWELL, 250)) == [(Stage.HEATING, 240)]
    assert lengths(mark(Stage.DWELL, 250)) == []
    assert lengths() == []


def test_a_stage_told_twice_goes_on_and_a_passed_one_does_not_come_back() -> None:
    assert lengths(
        mark(Stage.DWELL, 100), mark(Stage.DWELL, 160), mark(Stage.HEATING, 170),
        mark(Stage.COOLING, 280), mark(Stage.OPEN, 300),
    ) == [(Stage.DWELL, 180), (Stage.COOLING, 20)]  # fmt: skip


def test_two_recordings_have_no_common_clock() -> None:
    assert lengths(
        mark(Stage.HEATING, 5, "a"), mark(Stage.DWELL, 65, "a"), mark(Stage.COOLING, 1, "b")
    ) == [(Stage.HEATING, 60)]


def test_runs_are_apart() -> None:
    marks = (mark(Stage.HEATING, 0), mark(Stage.OPEN, 50), mark(Stage.HEATING, 90, run=2))
    assert lengths(*marks) == [(Stage.HEATING, 50)]
    assert lengths(*marks, run=2) == []


BEGAN = datetime(2026, 11, 26, 8, 0, tzinfo=UTC)


def stretch(file: str, after_s: float, seconds: float) -> Recording:
    return Recording(
        file=file, began_at=BEGAN + timedelta(seconds=after_s), samples=round(seconds * 48_000),
        rate_hz=48_000,
    )  # fmt: skip


def test_the_stretches_of_a_session_have_one_clock() -> None:
    """Two marks before a gap of five minutes, and two behind it."""
    marks = (
        mark(Stage.DWELL, 3, "b"), mark(Stage.COOLING, 63, "b"),
        mark(Stage.PREHEAT, 2, "a"), mark(Stage.HEATING, 20, "a"), mark(Stage.HEATING, 1, "other"),
    )  # fmt: skip
    recordings = (stretch("b", 330, 600), stretch("a", 0, 30))
    assert [(s.stage, s.start_s, s.end_s) for s in spans(marks, 1, 1, recordings)] == [
        (Stage.PREHEAT, 2, 20), (Stage.HEATING, 20, 333), (Stage.DWELL, 333, 393),
    ]  # fmt: skip
    told = timed(marks, recordings, 1, 1)
    assert [each.at for each in told] == [BEGAN + timedelta(seconds=s) for s in (2, 20, 333, 393)]
    assert timed(marks, recordings, 1, 2) == ()
    assert spans(marks, 1, 1) == spans(marks, 1, 1, (stretch("else", 0, 5),))


def test_a_clock_that_was_set_back_makes_no_stage_of_less_than_nothing() -> None:
    marks = (mark(Stage.HEATING, 100, "a"), mark(Stage.DWELL, 1, "b"))
    found = spans(marks, 1, 1, (stretch("a", 0, 110), stretch("b", 20, 60)))
    assert found == ()
