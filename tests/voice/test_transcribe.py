"""The real engine on the demo's narration and on sound without speech."""

from pathlib import Path

import jiwer
import numpy as np
import pytest

from recorder.errors import EngineMissing, NoSpeech
from recorder.model.transcript import Transcript
from recorder.resources import shipped
from recorder.settings import SpeechSettings
from recorder.voice.audio import SAMPLE_RATE_HZ, decode
from recorder.voice.transcribe import transcribe
from recorder.voice.whisper import WAYS, load
from tests.voice.sound import CODECS, tone, write

NARRATION = shipped("demo_media") / "job" / "narration.flac"


@pytest.fixture(scope="module")
def heard_with_progress() -> tuple[Transcript, list[float]]:
    shares: list[float] = []
    prompt = "Pressure, bar, top platen, dwell, minutes."
    return transcribe(NARRATION, SpeechSettings(), prompt, shares.append), shares


@pytest.fixture(scope="module")
def heard(heard_with_progress: tuple[Transcript, list[float]]) -> Transcript:
    return heard_with_progress[0]


def test_the_demo_narration_is_long_enough_and_heard_in_order(heard: Transcript) -> None:
    assert heard.duration_s is not None
    assert heard.duration_s >= 90
    assert heard.model == "tiny.en"
    starts = [u.start_s for u in heard.utterances if u.start_s is not None]
    assert len(starts) == len(heard.utterances) >= 12
    assert starts == sorted(starts)


def test_words_lie_inside_their_utterance(heard: Transcript) -> None:
    for utterance in heard.utterances:
        assert utterance.start_s is not None
        assert utterance.end_s is not None
        for word in [*utterance.words, *(w for other in utterance.others for w in other.words)]:
            assert word.start_s is not None
            assert word.end_s is not None
            assert word.probability is not None
            assert utterance.start_s <= word.start_s <= word.end_s <= utterance.end_s + 0.3
            assert 0 <= word.probability <= 1


def test_hearings_without_digits_spell_numbers_in_words(heard: Transcript) -> None:
    others = [other for u in heard.utterances for other in u.others]
    told = {way.name: " ".join(o.text for o in others if o.way == way.name) for way in WAYS[1:]}
    told[WAYS[0].name] = " ".join(u.text for u in heard.utterances)
    for way in WAYS:
        assert any(char.isdigit() for char in told[way.name]) is way.digits


def test_progress_rises_to_the_end(heard_with_progress: tuple[Transcript, list[float]]) -> None:
    _, shares = heard_with_progress
    assert shares == sorted(shares)
    assert shares[-1] > 0.9


@pytest.mark.parametrize("suffix", sorted(CODECS))
def test_the_same_words_from_every_format(tmp_path: Path, suffix: str) -> None:
    start = decode(NARRATION)[: int(9.5 * SAMPLE_RATE_HZ)]
    path = write(tmp_path / f"start{suffix}", start, SAMPLE_RATE_HZ)
    text = " ".join(u.text for u in transcribe(path, SpeechSettings()).utterances).lower()
    wanted = "job number 4817 for larkfield bakery. isolation confirmed. the drive is locked out."
    assert jiwer.cer(wanted, text) < 0.15


def test_ways_decoded_side_by_side_are_those_of_one_thread() -> None:
    said = decode(NARRATION)[: 5 * SAMPLE_RATE_HZ]
    prompt = "Pressure, bar, top platen, dwell, minutes."
    alone = load.__wrapped__(SpeechSettings(threads=1)).hear(said, prompt)
    together = load(SpeechSettings(threads=2)).hear(said, prompt)
    assert together == alone
    assert [hearing.way for hearing in alone] == [way.name for way in WAYS]


@pytest.mark.parametrize("kind", ["silence", "hiss", "hum"])
def test_sound_without_speech_is_refused(tmp_path: Path, kind: str) -> None:
    rate_hz = SAMPLE_RATE_HZ
    samples = {
        "silence": np.zeros(5 * rate_hz),
        "hiss": 0.1 * np.random.default_rng(7).standard_normal(5 * rate_hz),
        "hum": tone(50.0, 5.0, rate_hz),
    }[kind]
    path = write(tmp_path / f"{kind}.wav", samples, rate_hz)
    with pytest.raises(NoSpeech, match=r"holds no speech \(5\.0 s of sound\)"):
        transcribe(path, SpeechSettings())


def test_the_bundled_model_refuses_another_language() -> None:
    with pytest.raises(EngineMissing, match="understands English alone"):
        transcribe(NARRATION, SpeechSettings(language="de"))
