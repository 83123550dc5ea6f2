"""The page of a job that is still being recorded: its sound can be heard, its gaps are told."""

import io
import wave
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from starlette.testclient import TestClient

from recorder.archive.jobs.folder import JobFolder
from recorder.flows.live.sessions import Sessions
from recorder.live.chunks import Chunk
from recorder.model.reading import Reading, Spoken, Standing
from recorder.model.recording import GapReason, Recording
from recorder.web.access.access import Access
from recorder.web.access.places import Places
from recorder.web.app import application
from recorder.web.house import House
from tests.web.conftest import PORT, paired_client
from tests.web.jobs.places import SETTINGS, Made
from tests.web.live.server import Deaf

RATE_HZ = 16_000
BEGAN = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
TONE = (8000 * np.sin(np.arange(8 * RATE_HZ) / 9)).astype("<i2")


@pytest.fixture
def sessions(made: Made) -> Iterator[Sessions]:
    sessions = Sessions(made.home, SETTINGS, made.key, hears=Deaf())
    yield sessions
    sessions.close()


@pytest.fixture
def client(made: Made, sessions: Sessions) -> TestClient:
    access = Access(made.home, Places(PORT), lambda line: None)
    app = application(House(made.home, SETTINGS, made.key, sessions, access))
    return paired_client(app, access)


@pytest.fixture
def folder(made: Made, sessions: Sessions) -> JobFolder:
    """Eight seconds of a tone in one stretch, and a value that was heard in it."""
    session = sessions.begin()
    name = "ab" * 16
    session.stretch(name, RATE_HZ, BEGAN, "Tablet", GapReason.FIRST)
    tenth = RATE_HZ // 10
    session.take(
        [
            Chunk(name, number, number * tenth, TONE[number * tenth :][:tenth].tobytes())
            for number in range(80)
        ]
    )
    folder = JobFolder(made.home.jobs / session.job_id)
    file = "recording_1.flac"
    reading = Reading(
        field="pressure", value=2.2, unit="bar", standing=Standing.DOUBTFUL, why="noise",
        evidence=Spoken(file=file, said="two point two", start_s=4.0, end_s=5.0),
    )  # fmt: skip
    stretches = (
        Recording(file=file, began_at=BEGAN, samples=TONE.size, rate_hz=RATE_HZ, device="Tablet"),
        Recording(
            file="recording_2.flac",
            began_at=BEGAN + timedelta(seconds=98),
            samples=RATE_HZ,
            rate_hz=RATE_HZ,
            device="Tablet",
            after=GapReason.HIDDEN,
        ),
    )
    folder.update(
        lambda job: job.model_copy(update={"readings": (reading,), "recordings": stretches})
    )
    return folder


def test_the_words_behind_a_value_come_from_the_stretch_that_runs(
    client: TestClient, folder: JobFolder
) -> None:
    assert f"/jobs/{folder.id}/clip/0" in client.get(f"/jobs/{folder.id}").text
    answer = client.get(f"/jobs/{folder.id}/clip/0")
    with wave.open(io.BytesIO(answer.content)) as sound:
        assert sound.getframerate() == RATE_HZ
        heard = np.frombuffer(sound.readframes(sound.getnframes()), "<i2")
    begin = round(3.0 * RATE_HZ)
    assert np.array_equal(heard, TONE[begin : begin + 3 * RATE_HZ])


def test_a_gap_is_told_with_its_reason(client: TestClient, folder: JobFolder) -> None:
    page = client.get(f"/jobs/{folder.id}").text
    assert "No sound for 1:30 min" in page
    assert "the device was locked, or showed something else" in page


def test_the_way_back_to_the_recording_stands_on_top(client: TestClient, folder: JobFolder) -> None:
    page = client.get(f"/jobs/{folder.id}").text
    assert page.index(f'href="/live/{folder.id}"') < page.index("Waiting for you")
    assert "A report can be written once the job is finished" in page
