"""Stages between their marks."""

from recorder.model.stages import Stage, StageMark, spans


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
