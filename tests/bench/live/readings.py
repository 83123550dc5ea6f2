"""The readings of live hearing beside those of the same sound as a file."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from recorder.errors import NoSpeech
from recorder.model.transcript import Transcript, Utterance
from recorder.notes.extract import extract
from recorder.notes.words.vocabulary import hearing_prompt
from recorder.settings import SpeechSettings
from recorder.voice.audio import SAMPLE_RATE_HZ
from recorder.voice.listening import Listening
from recorder.voice.live import Ear
from recorder.voice.transcribe import transcribe
from tests.bench.narrations import Narration
from tests.bench.plant import Condition, in_plant
from tests.bench.scoring import SILENT, Counts, Judged, Outcome, judge
from tests.bench.sound_file import write
from tests.bench.voices import VOICES, Sound, narrate

_CHUNK = 2 * SAMPLE_RATE_HZ // 10


def measure(narrations: Sequence[Narration], where: Condition) -> None:
    """Print both tables of one condition, and what is wrong and clear in either."""
    ear = Ear(SpeechSettings())
    outcomes: dict[str, list[Judged]] = {"as a file": [], "live": []}
    same_ends = 0
    try:
        for number, narration in enumerate(narrations):
            voice = VOICES[number % len(VOICES)]
            sound = in_plant(narrate(narration.lines, voice, narration.name).sound, where, number)
            file, live = _as_file(sound), as_live(sound, ear)
            outcomes["as a file"] += judge(narration, extract(file).readings)
            outcomes["live"] += judge(narration, extract(live).readings)
            same_ends += _ends(file) == _ends(live)
    finally:
        ear.close()
    print(f"\n{where.name}: utterances begin and end alike in {same_ends} of {len(narrations)}")
    for path, judged in outcomes.items():
        counts = Counts.over(judged)
        told = ", ".join(f"{counts.of[outcome]} {outcome}" for outcome in Outcome)
        print(f"{path:10} {told}", flush=True)
        for one in (one for one in judged if one.outcome in SILENT):
            print(f"    {one.line()}")


def _ends(transcript: Transcript) -> list[tuple[float | None, float | None]]:
    return [(one.start_s, one.end_s) for one in transcript.utterances]


def _as_file(sound: Sound) -> Transcript:
    with tempfile.TemporaryDirectory() as folder:
        path, _ = write(Path(folder) / "narration.wav", sound)
        try:
            return transcribe(path, SpeechSettings(), hearing_prompt(()))
        except NoSpeech:
            return Transcript(file=path.name, utterances=())


def as_live(sound: Sound, ear: Ear) -> Transcript:
    """The same sound chunk by chunk, as fast as it is heard."""
    listening = Listening(SAMPLE_RATE_HZ, ear, lambda: hearing_prompt(()))
    pcm = (np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes()
    heard: list[Utterance | None] = []
    for first in range(0, len(pcm), _CHUNK):
        heard += [one.result() for one in listening.feed(pcm[first : first + _CHUNK])]
    heard += [one.result() for one in listening.finish()]
    said = tuple(one for one in heard if one is not None)
    return Transcript(file="narration.wav", utterances=said, model=ear.model)
