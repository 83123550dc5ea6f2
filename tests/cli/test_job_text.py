"""What the terminal shows of measurements: complete where asked for, short after processing."""

from pathlib import Path

import pytest

from recorder.cli.job_text import as_json, details, measured, summary
from recorder.model.job import Job
from recorder.model.length import BeltLength
from recorder.model.measurement import SeamMeasurement
from recorder.model.stages import Stage, StageMark
from tests.report import jobs, sample


@pytest.fixture
def job(tmp_path: Path) -> Job:
    return sample.demo_job(tmp_path)


def test_a_photo_in_full() -> None:
    seam = sample.measurement("a.jpg", 0.9, 70.1)
    house = "house default, common practice, set your own"
    assert measured(seam) == [
        "Photo a.jpg: ✗ outside limits: finger gap",
        f"    gap_max                0.90 ± 0.08 mm     ✗ outside    at most 0.5 mm, {house}",
        "                           12.3 mm left of and 4.1 mm below the middle of the splice",
        "    gap_mean               0.54 ± 0.05 mm",
        "    splice_width           70.10 ± 0.21 mm    ✓ within     69.3 to 70.7 mm, job card",
        "    belt_width             70.02 ± 0.15 mm",
        "                           left end 70.04 ± 0.19 mm, right end 70.00 ± 0.19 mm",
        f"    edge_offset            below 0.12 mm      ✓ within     at most 1 mm, {house}",
        "                           upper edge -0.08 ± 0.10 mm, lower edge 0.05 ± 0.10 mm",
        "    skew                   0.20 ± 0.11°",
        "    bow                    0.11 ± 0.09 mm",
        "    finger_pitch           10.01 ± 0.04 mm",
        "    finger_length          30.02 ± 0.12 mm",
        "    finger_count           7",
        "    look: finger 3 stands open",
        f"    note: {sample.NEVER_MEASURED}",
        "    lens: found from the card in the photo",
        "    overlay: derived/overlay/a.jpg",
        "    plot: derived/overlay/plot_a.jpg",
    ]


def test_a_photo_in_short_gives_the_limit_that_is_not_kept() -> None:
    lines = measured(sample.measurement("a.jpg", 0.9, 70.1), brief=True)
    assert [line.split()[0] for line in lines] == [
        "Photo", "gap_max", "splice_width", "edge_offset", "look:",
    ]  # fmt: skip
    assert "at most 0.5 mm" in lines[1]
    assert lines[2].endswith("✓ within")


def test_a_limit_without_a_number_is_shown_undecided() -> None:
    seam = sample.measurement("a.jpg", 0.1, 70.1)
    seam = seam.model_copy(
        update={
            "splice_width": None,
            "decisions": {**seam.decisions, "splice_width": "undecided"},
            "decision": "undecided",
        }
    )
    lines = measured(seam, brief=True)
    assert lines[0] == "Photo a.jpg: ? undecided: splice width"
    assert "splice_width           not measured       ? undecided  69.3 to 70.7 mm" in lines[2]


def test_without_limits_and_refused() -> None:
    bare = SeamMeasurement(file="a.jpg", status="measured", gap_max=sample.mm(0.2, 0.1))
    assert measured(bare) == ["Photo a.jpg: no limits", "    gap_max                0.20 ± 0.10 mm"]
    refused = SeamMeasurement(file="a.jpg", status="refused", reason="no card; lay one")
    assert measured(refused) == ["Photo a.jpg: not measured, no card; lay one"]


def test_the_summary_says_what_the_last_photos_of_each_splice_say(job: Job) -> None:
    text = summary(job)
    assert "  ✗ photos                 outside limits: finger gap (photo_1.jpg)" in text
    assert "  ✓ photos                 within limits (photo_3.jpg)" in text
    assert "belt_width             70.02" not in text
    assert "belt_width             70.02" in summary(job, brief=False)
    refused = SeamMeasurement(file="photo_3.jpg", status="refused", reason="no card; lay one")
    changed = job.model_copy(update={"measurements": (*job.measurements[:2], refused)})
    line = "  ? photos                 photo_3.jpg not measured; an earlier one was"
    assert line in summary(changed)


def test_a_splice_that_only_photos_show_is_not_left_out(job: Job) -> None:
    first = tuple(reading for reading in job.readings if reading.splice == 1)
    text = summary(job.model_copy(update={"readings": first}))
    assert "Splice 2" in text
    assert "within limits (photo_3.jpg)" in text


def test_the_json_has_the_verdicts(job: Job, tmp_path: Path) -> None:
    found = as_json(job, tmp_path)["verdicts"]
    assert {splice: verdict["decision"] for splice, verdict in found.items()} == {
        1: "outside",
        2: "within",
    }


def test_the_stages_that_were_called_out(job: Job, tmp_path: Path) -> None:
    assert "Stages" not in details(job, tmp_path)
    mark = StageMark(stage=Stage.DWELL, file="talk.flac", at_s=64.0, said="dwell starts", splice=2)
    told = details(job.model_copy(update={"stages": (mark,)}), tmp_path)
    assert "   1:04  dwell, splice 2, run 1  (talk.flac: “dwell starts”)" in told.splitlines()


def test_the_length_of_the_belt_is_told_where_it_was_worked_out(job: Job, tmp_path: Path) -> None:
    belt = BeltLength(endless=9113.29, joined=9113.29, punched=9193.29, cut=9233.29,
                      mark_spacing=1000)  # fmt: skip
    told = details(job.model_copy(update={"belt_length": belt}), tmp_path)
    assert "  · cut, square to square  9233.3 mm\n  · marks apart, slack     1000.0 mm\n" in told
    assert "square to square" not in details(job, tmp_path)


def test_a_live_session_shows_its_sound_and_the_gaps_in_it(tmp_path: Path) -> None:
    job = jobs.live(tmp_path)
    shown = details(job, tmp_path)
    assert (
        """\
Sound of the session, by the clock of the machine that kept it
  2026-03-04 07:15:00   1:30 min  sound-1.flac, Imke's phone
             no sound   0:20 min  the device was locked, or showed something else
  2026-03-04 07:16:50   6:40 min  sound-2.flac, Imke's phone
             no sound   3:10 min  another device became the microphone
  2026-03-04 07:26:40   8:20 min  sound-3.flac, bench tablet
"""
        in shown
    )
    assert len(as_json(job, tmp_path)["recordings"]) == 3
    assert "Sound" not in details(sample.demo_job(tmp_path), tmp_path)


def test_an_interrupted_session_goes_on_where_it_was_begun(tmp_path: Path) -> None:
    begun = {"complete": False}
    told = {True: jobs.live(tmp_path), False: sample.demo_job(tmp_path)}
    for live, command in ((True, "seamnote serve"), (False, "seamnote process")):
        text = summary(told[live].model_copy(update=begun))
        (line,) = (each for each in text.splitlines() if each.startswith("Interrupted"))
        assert command in line


def test_the_marks_tell_the_elongation(job: Job) -> None:
    marks = (
        sample.card("tension_mark_before", 1000.0, "mm"),
        sample.card("tension_mark_after", 1012.0, "mm"),
    )
    assert "elongation" not in summary(job)
    stretched = job.model_copy(update={"readings": (*job.readings, *marks)})
    assert "elongation             1.20 %, from the marks" in summary(stretched)
