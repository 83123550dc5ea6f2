"""The sound of a live session on the page: stretches, gaps and their reasons, times of day."""

from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from recorder.model.job import Job
from recorder.model.recording import GapReason, Recording, gaps
from recorder.report.content import sound
from recorder.report.content.compose import compose
from recorder.report.content.context import Report
from recorder.report.content.pictures import PictureTray
from tests.report import jobs, sample

BEGAN = datetime(2026, 3, 4, 23, 58, 0, tzinfo=timezone(timedelta(hours=1)))


def recorded(*stretches: tuple[float, float], reason: GapReason = GapReason.HIDDEN) -> Job:
    """Stretches that begin and end so many seconds after BEGAN."""
    return Job(
        id="x", created_at=BEGAN, version="1",
        recordings=tuple(
            Recording(
                file=f"{number}.flac", began_at=(BEGAN + timedelta(seconds=begin)).astimezone(UTC),
                samples=round((end - begin) * 44_100), rate_hz=44_100, device="Imke's phone",
                after=reason if number else GapReason.FIRST,
            )
            for number, (begin, end) in enumerate(stretches)
        ),
    )  # fmt: skip


@pytest.fixture(scope="module")
def live(tmp_path_factory: pytest.TempPathFactory) -> Report:
    folder = tmp_path_factory.mktemp("live")
    job = jobs.live(folder)
    return compose(job, PictureTray(folder), jobs.METRIC, sample.EDITION)


def test_a_job_of_files_has_no_sound_of_a_session() -> None:
    assert sound.sound(recorded()) is None


def test_gaps_are_told_in_order_with_when_how_long_and_why() -> None:
    job = recorded((0, 60), (80, 100.5), (100.6, 170), (180, 300))
    found = sound.sound(job)
    assert found is not None
    assert [(each.at, each.length) for each in found.silences] == [
        ("23:59:00 to 23:59:20", "20 s"), ("2026-03-05 00:00:50 to 2026-03-05 00:01:00", "10 s"),
    ]  # fmt: skip
    assert {each.why for each in found.silences} == {
        "the device was locked, or showed something else"
    }
    assert found.told == (
        "Recorded live with Imke's phone: sound from 2026-03-04 23:58:00+01:00 to "
        "2026-03-05 00:03:00+01:00, 4:30 min."
    )
    assert found.stretches[0].samples == "2646000 at 44.1 kHz"


@pytest.mark.parametrize("reason", GapReason)
def test_every_reason_has_its_words(reason: GapReason) -> None:
    found = sound.sound(recorded((0, 1), (5, 6), reason=reason))
    assert found is not None
    assert len(found.silences[0].why) > 5


def test_silence_within_a_stretch_of_time() -> None:
    job = recorded((0, 60), (80, 100), (110, 300))
    assert len(gaps(job.recordings)) == 2
    assert sound.within(job, 0, 300) == pytest.approx(30)
    assert sound.within(job, 70, 105) == pytest.approx(15)
    assert sound.within(job, 110, 300) == 0


def test_the_page_tells_gaps_before_the_signature_and_in_the_annex(live: Report) -> None:
    assert live.evidence is not None
    assert live.evidence.sound is not None
    assert [each.length for each in live.evidence.sound.silences] == ["20 s", "3:10 min"]
    assert [each.word for each in live.overview.summary][-1] == "2 gaps in the sound"
    assert len(live.overview.summary) == 5


def test_the_stages_are_drawn_by_the_clock_over_the_gap(live: Report) -> None:
    assert live.evidence is not None
    (course,) = live.evidence.splices[0].timelines
    assert [each.detail for each in course.stretches] == [
        "4:50 min", "5:00 min, 165 °C / 165 °C", "4:20 min, to 60 °C",
    ]  # fmt: skip
    assert course.remarks == (
        "The stages began when they were called out, 07:17:00 to 07:31:10 by the clock of the "
        "session.",
        "For 3:10 min of it there is no sound.",
    )


def test_a_value_of_the_clock_says_so(live: Report) -> None:
    rows = {row.label: row.values for row in live.overview.settings.rows}
    assert rows["Cycle time"][-1].also == "14 min 10 s, by the clock"
    assert "clock" not in rows["Dwell"][-1].also


def test_what_was_said_has_the_time_of_day(live: Report, tmp_path: Path) -> None:
    assert live.evidence is not None
    assert live.evidence.notes[0].at == "07:17"
    (talk,) = live.evidence.recordings
    assert talk.heading == "sound-2.flac, from 07:16:50, heard with tiny.en"
    job = jobs.live(tmp_path)
    doubtful = tuple(
        r.model_copy(update={"standing": jobs.DOUBTFUL}) if r.field == "pressure" else r
        for r in job.readings
    )
    shown = compose(
        job.model_copy(update={"readings": doubtful}), PictureTray(tmp_path), jobs.METRIC,
        sample.EDITION,
    )  # fmt: skip
    assert shown.evidence is not None
    assert "said at 07:17:02" in shown.evidence.open_points[0].why
