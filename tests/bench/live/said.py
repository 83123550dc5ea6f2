"""Whether the recorder's own voice reads values back so that they are understood."""

from __future__ import annotations

import tempfile
from pathlib import Path

from recorder.errors import NoSpeech
from recorder.live.saying.sentences import told
from recorder.model.transcript import Transcript
from recorder.notes.extract import extract
from recorder.notes.words.vocabulary import hearing_prompt
from recorder.notes.written import from_text
from recorder.settings import SpeakingSettings, SpeechSettings
from recorder.voice.speak import speech
from recorder.voice.transcribe import transcribe

TOLD = (
    "Pressure two point two bar.",
    "Dwell time four minutes.",
    "Top platen one hundred and seventy two degrees Celsius.",
    "Bottom platen one hundred and sixty eight degrees Celsius.",
    "Cool down to fifty five degrees.",
    "Finger gap zero point three one millimetres.",
    "Belt width six hundred millimetres.",
    "Pressure thirty two psi.",
    "Top platen three hundred and fifty five degrees Fahrenheit.",
    "Cycle time eleven minutes twenty seconds.",
    "Preheat time ninety seconds.",
    "Job number four eight one seven.",
    "No bubbles.",
    "Splice is accepted.",
)


def measure() -> None:
    """Print what is read back of each, what was heard of that, and whether it is the same."""
    right = 0
    for line in TOLD:
        for reading in extract(from_text(line, "told")).readings:
            sentence = told(reading)
            heard = _heard(sentence)
            same = (reading.field, reading.value) in _values(heard)
            right += same
            text = " ".join(utterance.text for utterance in heard.utterances)
            print(f"{'same' if same else 'OTHER':9} {sentence}  →  {text}")
    print(f"{right} of {len(TOLD)} values are heard as they were told")


def _heard(sentence: str) -> Transcript:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "said.wav"
        path.write_bytes(speech(sentence, SpeakingSettings()))
        try:
            return transcribe(path, SpeechSettings(), hearing_prompt(()))
        except NoSpeech:
            return Transcript(file=path.name, utterances=())


def _values(transcript: Transcript) -> set[tuple[str, bool | float | str]]:
    return {(reading.field, reading.value) for reading in extract(transcript).readings}
