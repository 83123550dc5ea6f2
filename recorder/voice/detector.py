"""Where there is speech: the wrapper over the Silero VAD that comes with faster-whisper."""

from __future__ import annotations

from typing import Any

import numpy as np

from recorder.voice.audio import Samples

SHORTEST_S = 0.1
FRAME = 512  # samples that the detector judges at once
# Above the first it is speech; below the second it is none; between them it stays what it was.
SPEECH = 0.5
SILENCE = 0.35
# A speech that does not end is cut at its last silence of at least this length.
BREATH_S = 0.098
_CONTEXT = 64  # samples before a frame that the network sees too


def speech_spans(
    samples: Samples, pause_s: float, pad_s: float, longest_s: float
) -> list[tuple[int, int]]:
    """Stretches of speech as sample positions, ended by at least ``pause_s`` without speech."""
    from faster_whisper.vad import VadOptions, get_speech_timestamps

    options = VadOptions(
        threshold=SPEECH,
        neg_threshold=SILENCE,
        min_silence_duration_ms=int(pause_s * 1000),
        speech_pad_ms=int(pad_s * 1000),
        min_speech_duration_ms=int(SHORTEST_S * 1000),
        max_speech_duration_s=longest_s,
    )
    spans = get_speech_timestamps(np.ascontiguousarray(samples), options)
    return [(span["start"], span["end"]) for span in spans]


class Detector:
    """The same network over sound that comes in piece by piece."""

    def __init__(self) -> None:
        from faster_whisper.vad import get_vad_model

        # The engine's own call begins anew each time; only the network itself is used.
        self._session: Any = get_vad_model().session
        self._h = np.zeros((1, 1, 128), np.float32)
        self._c = np.zeros((1, 1, 128), np.float32)
        self._context = np.zeros(_CONTEXT, np.float32)

    def probabilities(self, samples: Samples) -> Samples:
        """Of speech, 0..1, for each frame. ``samples``: whole frames, shape (n * FRAME,), that
        follow those of the last call.
        """
        frames = samples.reshape(-1, FRAME)
        ends = frames[:, -_CONTEXT:]
        before = np.concatenate([self._context[None, :], ends[:-1]])
        self._context = ends[-1].copy()
        given = np.concatenate([before, frames], axis=1)
        found, self._h, self._c = self._session.run(
            None, {"input": given, "h": self._h, "c": self._c}
        )
        return np.asarray(found, np.float32).reshape(-1)
