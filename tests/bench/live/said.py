"""Whether the recorder's own voice says numbers and units so that they are understood."""

from __future__ import annotations

import tempfile
from pathlib import Path

from recorder.errors import NoSpeech
from recorder.notes.extract import extract
from recorder.notes.written import from_text
from recorder.settings import SpeakingSettings, SpeechSettings
from recorder.voice.speak import speech
from recorder.voice.transcribe import transcribe

SENTENCES = (
    "Pressure two point two bar.",
    "Dwell time four minutes.",
    "Top platen one seventy-two degrees.",
    "Bottom platen one hundred and sixty-eight degrees Celsius.",
    "Cool down to fifty-five degrees.",
    "Finger gap zero point three one millimetres.",
    "Belt width six hundred millimetres.",
    "Pressure thirty-two P S I.",
    "Top temperature three hundred and fifty-five degrees Fahrenheit.",
    "Cycle time eleven minutes.",
    "Preheat ninety seconds.",
    "Supply voltage four hundred volts.",
)


def measure() -> None:
    """Print each sentence, what was heard of it, and whether the readings are the same."""
    right = 0
    with tempfile.TemporaryDirectory() as folder:
        for number, sentence in enumerate(SENTENCES):
            path = Path(folder) / f"{number}.wav"
            path.write_bytes(speech(sentence, SpeakingSettings()))
            try:
                heard = transcribe(path, SpeechSettings())
            except NoSpeech:
                print(f"NOTHING   {sentence}")
                continue
            told, meant = (
                {r.field: r.value for r in extract(transcript).readings}
                for transcript in (heard, from_text(sentence, "said"))
            )
            right += told == meant
            text = " ".join(utterance.text for utterance in heard.utterances)
            print(f"{'same' if told == meant else 'OTHER':9} {sentence}  →  {text}")
    print(f"{right} of {len(SENTENCES)} sentences give the readings that were said")
