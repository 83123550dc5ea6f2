"""One recording to a transcript: decode, find the utterances, hear each of them twice."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from recorder.errors import NoSpeech
from recorder.model.transcript import Transcript, Utterance, Word
from recorder.settings import SpeechSettings
from recorder.voice import whisper
from recorder.voice.audio import SAMPLE_RATE_HZ, decode

# A pause of 250 ms cuts numbers in two ("one hundred ... and seventy"); 600 ms does not.
PAUSE_S = 0.6
_PAD_S = 0.2

Progress = Callable[[float], None]


def transcribe(
    path: Path, settings: SpeechSettings, prompt: str = "", progress: Progress | None = None
) -> Transcript:
    """Transcript of one recording.

    ``prompt`` holds words that are likely to be said, without digits. ``Utterance.second`` is the
    hearing in which digits were forbidden. ``progress`` gets the share that is done, 0..1.
    Raises FileMissing, FileEmpty, NotAudio, NoSpeech, EngineMissing, ModelDamaged.
    """
    samples = decode(path)
    recogniser = whisper.load(settings)
    utterances: list[Utterance] = []
    for start, end in whisper.speech_spans(samples, PAUSE_S, _PAD_S):
        first, second = recogniser.hear(samples[start:end], prompt)
        offset_s = start / SAMPLE_RATE_HZ
        if first.words:
            utterances.append(
                Utterance(
                    words=_shift(first.words, offset_s),
                    second=_shift(second.words, offset_s),
                    start_s=round(offset_s, 2),
                    end_s=round(end / SAMPLE_RATE_HZ, 2),
                    no_speech=round(first.no_speech, 4),
                )
            )
        if progress:
            progress(end / samples.size)
    duration_s = samples.size / SAMPLE_RATE_HZ
    if not utterances:
        raise NoSpeech(path=path, seconds=duration_s)
    return Transcript(
        file=path.name,
        utterances=tuple(utterances),
        duration_s=round(duration_s, 2),
        model=recogniser.name,
    )


def _shift(words: tuple[Word, ...], offset_s: float) -> tuple[Word, ...]:
    return tuple(
        word.model_copy(
            update={
                "start_s": round((word.start_s or 0.0) + offset_s, 2),
                "end_s": round((word.end_s or 0.0) + offset_s, 2),
            }
        )
        for word in words
    )
