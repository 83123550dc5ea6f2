"""One recording to a transcript: decode, find the utterances, hear them in several ways."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from recorder.errors import NoSpeech
from recorder.model.transcript import Hearing, Transcript, Utterance
from recorder.settings import SpeechSettings
from recorder.voice import whisper
from recorder.voice.audio import SAMPLE_RATE_HZ, decode
from recorder.voice.detector import speech_spans
from recorder.voice.level import audible
from recorder.voice.windows import Window, windows

# A pause of 250 ms cuts numbers in two ("one hundred ... and seventy"); 600 ms does not.
PAUSE_S = 0.6
PAD_S = 0.2
LONGEST_S = whisper.WINDOW_S - 2 * PAD_S  # of one utterance

Progress = Callable[[float], None]


def transcribe(
    path: Path, settings: SpeechSettings, prompt: str = "", progress: Progress | None = None
) -> Transcript:
    """Transcript of one recording.

    ``prompt`` holds words that are likely to be said, without digits. ``Utterance.others`` are the
    hearings of ``whisper.WAYS`` after the first. ``progress`` gets the share that is done, 0..1.
    Raises FileMissing, FileEmpty, NotAudio, NoSpeech, EngineMissing, ModelDamaged.
    """
    samples = audible(decode(path))
    recogniser = whisper.load(settings)
    spans = speech_spans(samples, PAUSE_S, PAD_S, LONGEST_S)
    utterances: list[Utterance] = []
    for window in windows(samples, spans, PAD_S, whisper.WINDOW_S):
        heard = utterances_of(window, recogniser.hear(window.samples, prompt))
        utterances += [utterance for utterance in heard if utterance]
        if progress:
            progress(window.spans[-1][1] / samples.size)
    duration_s = samples.size / SAMPLE_RATE_HZ
    if not utterances:
        raise NoSpeech(path=path, seconds=duration_s)
    return Transcript(
        file=path.name,
        utterances=tuple(utterances),
        duration_s=round(duration_s, 2),
        model=recogniser.name,
    )


def utterances_of(window: Window, hearings: Sequence[whisper.Decoding]) -> list[Utterance | None]:
    """Each utterance of a window as it was heard; None for one without a word."""
    parts = [window.cut(hearing.words) for hearing in hearings]
    return [
        Utterance(
            words=words[0],
            others=tuple(
                Hearing(way=hearing.way, words=said)
                for hearing, said in zip(hearings[1:], words[1:], strict=True)
            ),
            start_s=round(start / SAMPLE_RATE_HZ, 2),
            end_s=round(end / SAMPLE_RATE_HZ, 2),
            no_speech=round(hearings[0].no_speech, 4),
        )
        if any(words)
        else None
        for (start, end), words in zip(window.spans, zip(*parts, strict=True), strict=True)
    ]
