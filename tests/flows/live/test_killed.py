"""A server with the real engine, killed three times in one job: no sound and no sentence is lost,
and none is there twice.
"""

import io
import signal
import subprocess
import sys
import wave
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from recorder.archive.jobs.folder import JobFolder
from recorder.model.job import Job, in_force
from recorder.settings import SpeakingSettings
from recorder.voice.speak import speech
from tests.flows.live.scripted import utterances

DRAINED_S = 15.0
SENTENCES = (
    "Finger length thirty millimetres.",
    "Bottom platen one hundred and sixty degrees.",
    "Top platen one hundred and seventy degrees.",
    "The dwell time was four minutes.",
    "Belt width six hundred millimetres.",
)
PAUSE_S = 1.0


def spoken(path: Path) -> int:
    """The sentences as raw samples; their rate."""
    sound, rate_hz = b"", 0
    for sentence in SENTENCES:
        with wave.open(io.BytesIO(speech(sentence, SpeakingSettings()))) as wav:
            rate_hz = wav.getframerate()
            sound += wav.readframes(wav.getnframes())
        sound += bytes(2 * int(PAUSE_S * rate_hz))
    path.write_bytes(sound)
    return rate_hz


@contextmanager
def server(*arguments: object) -> Iterator[subprocess.Popen[str]]:
    command = [sys.executable, "-m", "tests.flows.live.child", *map(str, arguments)]
    child = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    try:
        yield child
    finally:
        child.send_signal(signal.SIGKILL)
        child.wait()


def until(child: subprocess.Popen[str], wanted: str) -> list[str]:
    """The lines up to the one that begins so."""
    assert child.stdout
    lines = []
    for line in child.stdout:
        lines.append(line.strip())
        assert not line.startswith("trouble"), line
        if line.startswith(wanted):
            return lines
    raise AssertionError((wanted, lines))


def test_three_kills_in_one_job_cost_nothing(tmp_path: Path) -> None:
    home, sound = tmp_path / "home", tmp_path / "sound.pcm"
    rate_hz = spoken(sound)
    chunks = -(-sound.stat().st_size // (rate_hz // 10 * 2))
    with server(home, sound, rate_hz, "new", chunks // 4) as child:
        job_id = until(child, "job")[0].split()[1]
        until(child, "heard")  # the first sentence; the second is cut off in the middle
    with server(home, sound, rate_hz, job_id, chunks // 2) as child:
        assert until(child, "wanted")[-1] == f"wanted {chunks // 4}"
        until(child, f"saved {chunks // 2}")
    with server(home, sound, rate_hz, job_id, 3 * chunks // 4) as child:
        until(child, "heard")
    with server(home, sound, rate_hz, job_id, chunks, "--drain") as child:
        took_s = float(until(child, "drained")[-1].split()[1])
    folder = JobFolder(home / "jobs" / job_id)
    job = folder.load()
    assert (folder.path / "live" / "recording_1.pcm").read_bytes() == sound.read_bytes()
    assert _values(job) == {
        "finger_length": 30.0,
        "bottom_temperature": 160.0,
        "top_temperature": 170.0,
        "dwell_time": 240.0,
        "belt_width": 600.0,
    }
    assert len(job.readings) == len(SENTENCES)
    starts = [said.start_s or 0.0 for said in utterances(job)]
    assert starts == sorted(starts)
    assert len(starts) == len(SENTENCES)
    assert folder.record_faults() == ()
    assert took_s < DRAINED_S


def _values(job: Job) -> dict[str, bool | float | str]:
    return {
        name: round(reading.value, 3) if isinstance(reading.value, float) else reading.value
        for name, reading in in_force(job.readings).items()
    }
