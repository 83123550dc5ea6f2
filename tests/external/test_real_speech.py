"""Real people's speech, from Debian's package pocketsphinx-testdata, with its own transcripts.

Sources: pocketsphinx's test data (read speech from LibriVox, public domain; playing cards; one
TIDIGITS-style file whose name spells its digits). Measured on the first hearing and
on the one without digits alike: 4.2 % and 14.3 % of the words; ``pytest -s`` prints them. The
bounds leave room for another build of the engine.
"""

import re
from pathlib import Path

import jiwer
import numpy as np
import pytest
from num2words import num2words

from recorder.settings import SpeechSettings
from recorder.voice import whisper
from recorder.voice.audio import Samples, decode

DATA = Path("/usr/share/pocketsphinx/test/data")


def plain(text: str) -> str:
    """Lower case, numbers as words, no punctuation, one spelling of 'mister'."""
    text = re.sub(r"\d+", lambda m: f" {num2words(int(m[0]))} ", text.lower())
    text = re.sub(r"\bmr\b\.?", "mister", text)
    return " ".join(re.sub(r"[^a-z' ]", " ", text).split())


def transcripts(path: Path) -> dict[str, str]:
    lines = re.findall(r"<s>\s*(.*?)\s*</s>\s*\((\S+)\)", path.read_text())
    return {name: text for text, name in lines}


def hear(samples: Samples) -> tuple[str, str]:
    hearings = whisper.load(SpeechSettings()).hear(samples, "")
    first, second = (" ".join(word.text for word in hearing.words) for hearing in hearings)
    return first, second


@pytest.mark.parametrize(("folder", "list_name", "bounds"), [
    ("librivox", "transcription", (0.08, 0.08)),
    ("cards", "cards.transcription", (0.20, 0.20)),
])  # fmt: skip
def test_word_error_rate(folder: str, list_name: str, bounds: tuple[float, float]) -> None:
    wanted = transcripts(DATA / folder / list_name)
    assert len(wanted) == 5
    heard = {name: hear(decode(DATA / folder / f"{name}.wav")) for name in wanted}
    for which, bound in enumerate(bounds):
        rate = jiwer.wer(
            [plain(wanted[name]) for name in wanted], [plain(heard[name][which]) for name in wanted]
        )
        hearing = ("free", "without digits")[which]
        print(f"{folder}, {hearing}: word error rate {rate:.1%} on {len(wanted)} recordings")
        assert rate <= bound, hearing


def raw(name: str) -> Samples:
    samples: Samples = np.fromfile(DATA / name, dtype="<i2").astype(np.float32) / 32768
    return samples


def test_a_real_digit_string() -> None:
    """dhd.2934z: two nine three four zero, by the naming rule of TIDIGITS."""
    first, second = hear(raw("tidigits/dhd.2934z.raw"))
    assert re.sub(r"\D", "", first) == "29340"
    assert plain(second) == "two nine three four zero"


def test_a_real_number_with_its_unit() -> None:
    """goforward.raw: 'go forward ten meters', as pocketsphinx's own tests expect."""
    first, second = hear(raw("goforward.raw"))
    assert plain(first) == plain(second) == "go forward ten meters"
