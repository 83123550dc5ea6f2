"""The recorder's voice: what is spoken is said well and loud, and no text is a command."""

import io
import stat
import sys
import wave
from pathlib import Path

import numpy as np
import pytest

from recorder.errors import EngineMissing
from recorder.settings import SpeakingSettings, SpeechSettings
from recorder.voice import speak, whisper
from recorder.voice.audio import decode
from recorder.voice.speak import LONGEST_TEXT, describe, sayable, speech

OWN = SpeakingSettings()


def samples_of(sound: bytes) -> tuple[np.ndarray, int]:
    with wave.open(io.BytesIO(sound)) as file:
        assert (file.getnchannels(), file.getsampwidth()) == (1, 2)
        pcm = file.readframes(file.getnframes())
        assert len(pcm) == 2 * file.getnframes()  # the head tells the true length
        return np.frombuffer(pcm, "<i2") / 32768, file.getframerate()


def test_a_sentence_is_understood_by_the_recogniser(tmp_path: Path) -> None:
    path = tmp_path / "said.wav"
    path.write_bytes(speech("The pressure is two point two bar.", OWN))
    first = next(iter(whisper.load(SpeechSettings()).listen(decode(path), "")))
    text = " ".join(word.text for word in first.words).lower()
    assert "pressure" in text
    assert "2.2" in text


@pytest.mark.parametrize("text", ["Yes.", "Dwell four minutes.", "Bitte den Druck noch einmal."])
def test_every_sentence_is_as_loud(text: str) -> None:
    samples, rate_hz = samples_of(speech(text, OWN, "de" if "Druck" in text else "en"))
    assert rate_hz >= 16_000
    assert samples.size > 0.3 * rate_hz
    assert 0.12 < np.sqrt(np.mean(samples**2)) < 0.25
    assert np.abs(samples).max() < 0.97


def test_a_slower_voice_takes_longer() -> None:
    slow = speech("Dwell four minutes.", SpeakingSettings(words_per_minute=100))
    assert len(slow) > 1.2 * len(speech("Dwell four minutes.", OWN))


@pytest.mark.parametrize("text", ["", "  \n", "\0\x1b", "[[]]"])
def test_nothing_to_say_is_no_sound(text: str) -> None:
    assert speech(text, OWN) == b""


def test_words_of_the_trade_are_said_as_people_say_them() -> None:
    assert speech("Top Platen, 30 psi.", OWN) == speech("Top platten, 30 P S I.", OWN)
    assert speech("Platena.", OWN) != speech("Plattena.", OWN)


def test_only_words_are_left_of_a_text() -> None:
    assert sayable("two\0bar\n\x1b[31m now") == "two bar 31m now"
    assert sayable("[[h@'loU]] <break time='9h'/> a & b | c") == "h@'loU break time='9h'/ a b c"
    assert sayable("2,2 bar – 172 °C, größer") == "2,2 bar – 172 °C, größer"
    long = sayable("word " * 1_000)
    assert len(long) <= LONGEST_TEXT
    assert long.endswith("word")


@pytest.mark.parametrize("text", ["-v en --help", "--path=/etc", "$(touch x)", "; touch x", "`id`"])
def test_no_text_is_an_option_or_a_command(
    text: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    samples, _ = samples_of(speech(text, OWN))
    assert samples.any()
    assert list(tmp_path.iterdir()) == []


def test_what_was_made_is_kept_for_the_next_time(monkeypatch: pytest.MonkeyPatch) -> None:
    first = speech("Cool down to fifty five degrees.", OWN)

    def never(*_: object, **__: object) -> None:
        raise AssertionError("it was made again")

    monkeypatch.setattr(speak.subprocess, "run", never)
    assert speech("Cool down\nto fifty five degrees.", OWN) == first


def program(folder: Path, body: str) -> str:
    """A speech program that does what ``body`` says, in Python."""
    path = folder / "voice"
    path.write_text(f"#!{sys.executable}\nimport sys, time\n{body}\n")
    path.chmod(path.stat().st_mode | stat.S_IXUSR)
    return str(path)


WRONG = {
    "it fails": ("sys.exit('no such voice')", "no such voice"),
    "fails without a word": ("sys.exit(7)", "exit 7"),
    "gives no sound": ("print('hello')", "no sound"),
    "gives nothing": ("pass", "no sound"),
}


@pytest.mark.parametrize("case", WRONG)
def test_a_program_that_fails_is_one_line(case: str, tmp_path: Path) -> None:
    body, told = WRONG[case]
    settings = SpeakingSettings(program=program(tmp_path, body))
    with pytest.raises(EngineMissing, match=told) as error:
        speech("Two bar.", settings)
    assert "[speaking]" in error.value.remedy_text
    assert "\n" not in str(error.value)


def test_a_program_that_hangs_is_left(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(speak, "_LIMIT_S", 0.2)
    settings = SpeakingSettings(program=program(tmp_path, "time.sleep(600)"))
    with pytest.raises(EngineMissing, match="did not answer"):
        speech("Two bar.", settings)


def test_a_failure_is_not_kept(tmp_path: Path) -> None:
    settings = SpeakingSettings(program=program(tmp_path, "sys.exit('not yet')"))
    with pytest.raises(EngineMissing):
        speech("Two bar.", settings)
    sound = tmp_path / "sound.wav"
    sound.write_bytes(speech("Two bar.", OWN))
    program(tmp_path, f"sys.stdout.buffer.write(open({str(sound)!r}, 'rb').read())")
    assert samples_of(speech("Two bar.", settings))[0].any()


def test_a_missing_program_tells_how_to_get_it(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(EngineMissing, match="espeak-ng") as error:
        speech("A sentence that nobody said before.", OWN)
    assert "install" in error.value.remedy_text
    with pytest.raises(EngineMissing, match=r"speaking\.program"):
        speech("Two bar.", SpeakingSettings(program="/nowhere/espeak-ng"))


def test_piper_speaks_with_the_users_own_program(tmp_path: Path) -> None:
    voice = tmp_path / "joe.onnx"
    settings = SpeakingSettings(engine="piper", voice=str(voice))
    with pytest.raises(EngineMissing, match=r"there is no program piper|there is no file"):
        speech("Two bar.", settings)
    sound = tmp_path / "sound.wav"
    sound.write_bytes(speech("Two bar.", OWN))
    body = (
        "assert sys.stdin.read() == 'Two bar.\\n'\n"
        f"assert sys.argv[1:3] == ['--model', {str(voice)!r}]\n"
        "out = sys.argv[sys.argv.index('--output_file') + 1]\n"
        f"open(out, 'wb').write(open({str(sound)!r}, 'rb').read())"
    )
    own = settings.model_copy(update={"program": program(tmp_path, body)})
    with pytest.raises(EngineMissing, match=r"speaking\.voice"):
        speech("Two bar.", own)
    voice.touch()
    assert samples_of(speech("Two bar.", own))[0].any()


def test_no_voice_is_told_as_such() -> None:
    with pytest.raises(EngineMissing, match="want none"):
        speech("Two bar.", SpeakingSettings(engine="none"))
    assert describe(SpeakingSettings(engine="none")).startswith("none")
    assert "eSpeak NG" in describe(OWN)
