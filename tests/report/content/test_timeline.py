"""The course of a press run, to scale."""

from typing import Any

import pytest

from recorder.model.job import Job
from recorder.model.reading import Standing
from recorder.model.stages import Stage, StageMark
from recorder.report.content.context import Timeline
from recorder.report.content.formats import length
from recorder.report.content.timeline import timeline
from tests.report import sample
from tests.report.sample import told


def job(*marks: tuple[Stage, float], **seconds: float) -> Job:
    readings = [told(name, value, "s", "", 1.0) for name, value in seconds.items()]
    temperatures = {"top_temperature": 172.0, "bottom_temperature": 168.0}
    readings += [told(name, value, "degC", "", 2.0) for name, value in temperatures.items()]
    stages = [StageMark(stage=stage, file="a", at_s=at, said="") for stage, at in marks]
    return Job(
        id="x", created_at=sample.NOW, version="1", readings=tuple(readings), stages=tuple(stages)
    )


def drawn(**arguments: Any) -> Timeline:
    found = timeline(job(**arguments), 1, 1, "Press run")
    assert found is not None
    return found


def widths(found: Timeline) -> dict[str, float]:
    assert sum(s.width for s in found.stretches) == pytest.approx(100)
    ends = [0.0, *(s.start + s.width for s in found.stretches)]
    assert [s.start for s in found.stretches] == pytest.approx(ends[:-1])  # side by side
    return {s.kind: round(s.width, 3) for s in found.stretches}


def test_told_lengths_are_to_scale_and_the_rest_is_shared_and_said_so() -> None:
    found = drawn(preheat_time=60.0, dwell_time=180.0, cycle_time=600.0)
    assert widths(found) == {
        "preheat": 10.0, "heating unknown": 30.0, "dwell": 30.0, "cooling unknown": 30.0,
    }  # fmt: skip
    assert found.remarks == (
        "Heating up and cooling down took 6:00 min together; how it divides was not told.",
    )
    assert found.stretches[2].detail == "3:00 min, 172 °C / 168 °C"
    assert [(t.at, t.label) for t in found.ticks[:3]] == [
        (0, "0"), (20, "2:00 min"), (40, "4:00 min"),
    ]  # fmt: skip


def test_without_a_cycle_time_there_is_no_scale() -> None:
    found = drawn(dwell_time=180.0)
    assert found.ticks == ()
    assert widths(found) == {"heating unknown": 22.0, "dwell": 56.0, "cooling unknown": 22.0}
    assert found.remarks == ("How long heating up and cooling down took was not told.",)


def test_a_cycle_shorter_than_its_stages_is_not_drawn() -> None:
    found = drawn(preheat_time=60.0, dwell_time=180.0, cycle_time=200.0)
    assert found.remarks[0].startswith("The cycle time is shorter")
    assert found.ticks == ()


def test_a_cycle_without_a_rest() -> None:
    assert widths(drawn(dwell_time=180.0, cycle_time=180.0)) == {"dwell": 100.0}


def test_nothing_told_draws_nothing() -> None:
    assert timeline(job(), 1, 1, "") is None
    assert timeline(job(cycle_time=600.0), 1, 1, "") is None


def marked(dwell_s: float, **seconds: float) -> Timeline:
    """Heating for four minutes, and open again 800 s after it began."""
    marks = (
        (Stage.HEATING, 100.0), (Stage.DWELL, 340.0), (Stage.COOLING, 340.0 + dwell_s),
        (Stage.OPEN, 900.0),
    )  # fmt: skip
    found = timeline(job(*marks, **seconds), 1, 1, "")
    assert found is not None
    return found


def test_called_out_stages_have_the_lengths_of_the_recording() -> None:
    found = marked(200.0, dwell_time=180.0)
    assert widths(found) == {"heating": 30.0, "dwell": 25.0, "cooling": 45.0}
    assert found.stretches[1].detail == "3:20 min, 172 °C / 168 °C"
    assert found.remarks == (
        "The stages began when they were called out, 1:40 min to 15:00 min in the recording.",
    )


def test_a_recording_that_does_not_run_with_the_press_is_told_apart() -> None:
    found = marked(20.0, dwell_time=180.0, cycle_time=600.0)
    assert widths(found)["dwell"] == 30.0
    assert found.remarks[0] == (
        "Dwell: 3:00 min was told, and by the recording it took 20 s. The told times are drawn."
    )


def test_a_doubtful_length_keeps_its_mark() -> None:
    doubtful = job(dwell_time=180.0)
    readings = tuple(
        r.model_copy(update={"standing": Standing.DOUBTFUL}) for r in doubtful.readings
    )
    found = timeline(doubtful.model_copy(update={"readings": readings}), 1, 1, "")
    assert found
    assert [s.mark.kind for s in found.stretches if s.mark] == ["doubtful"]


@pytest.mark.parametrize(
    ("seconds", "shown"),
    [(0, "0 s"), (59.4, "59 s"), (59.6, "1:00 min"), (185, "3:05 min"), (3725, "1:02:05 h")],
)
def test_a_length(seconds: float, shown: str) -> None:
    assert length(seconds) == shown


@pytest.mark.parametrize("seconds", [1.0, 40.0, 660.0, 5000.0, 200_000.0])
def test_ticks_stay_few_and_inside(seconds: float) -> None:
    ticks = drawn(dwell_time=seconds / 2, cycle_time=seconds).ticks
    assert 1 <= len(ticks) <= 33
    assert all(0 <= tick.at <= 100 for tick in ticks)
