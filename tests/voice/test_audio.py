from pathlib import Path

import av
import numpy as np
import pytest

from recorder.errors import FileEmpty, FileMissing, InputRefused, NotAudio
from recorder.voice.audio import AUDIO_SUFFIXES, SAMPLE_RATE_HZ, decode
from tests.voice.sound import CODECS, tone, write


def test_every_promised_suffix_is_tested() -> None:
    assert set(CODECS) == AUDIO_SUFFIXES


@pytest.mark.parametrize("suffix", sorted(CODECS))
@pytest.mark.parametrize(("rate_hz", "channels"), [(48_000, 2), (16_000, 1)])
def test_a_tone_comes_back_at_its_length_and_pitch(
    tmp_path: Path, suffix: str, rate_hz: int, channels: int
) -> None:
    path = write(tmp_path / f"tone{suffix}", tone(440.0, 2.0, rate_hz), rate_hz, channels)
    samples = decode(path)
    assert samples.dtype == np.float32
    assert samples.size / SAMPLE_RATE_HZ == pytest.approx(2.0, abs=0.15)
    spectrum = np.abs(np.fft.rfft(samples))
    peak_hz = np.argmax(spectrum) * SAMPLE_RATE_HZ / samples.size
    assert peak_hz == pytest.approx(440.0, abs=1.0)
    assert 0.2 < np.abs(samples[4000:-4000]).max() < 0.8


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(InputRefused, match="is a folder"):
        decode(tmp_path)
    with pytest.raises(FileMissing, match=r"nowhere\.wav does not exist"):
        decode(tmp_path / "nowhere.wav")


def test_an_empty_file_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "empty.wav"
    path.touch()
    with pytest.raises(FileEmpty):
        decode(path)


@pytest.mark.parametrize("content", [b"just some text\n", b"RIFF", b"\x00" * 5000, b"{" * 99])
def test_what_is_not_sound_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "note.wav"
    path.write_bytes(content)
    with pytest.raises(NotAudio, match=r"note\.wav"):
        decode(path)


def test_a_recording_cut_off_in_the_middle_keeps_what_is_there(tmp_path: Path) -> None:
    whole = write(tmp_path / "whole.flac", tone(300.0, 4.0, 16_000), 16_000)
    cut = tmp_path / "cut.flac"
    cut.write_bytes(whole.read_bytes()[: whole.stat().st_size // 2])
    assert 1.0 < decode(cut).size / SAMPLE_RATE_HZ < 3.5


def test_a_wav_with_a_header_and_no_samples_is_refused(tmp_path: Path) -> None:
    path = write(tmp_path / "short.wav", tone(300.0, 1.0, 16_000), 16_000)
    path.write_bytes(path.read_bytes()[:44])
    with pytest.raises(NotAudio):
        decode(path)


PLAY_LISTS = {
    "ffconcat": "ffconcat version 1.0\nfile other.flac\n",
    "m3u8": "#EXTM3U\n#EXT-X-TARGETDURATION:10\n#EXTINF:10,\nother.flac\n#EXT-X-ENDLIST\n",
    "sdp": "v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nc=IN IP4 127.0.0.1\nt=0 0\nm=audio 9 RTP/AVP 0\n",
}


@pytest.mark.parametrize("suffix", sorted(AUDIO_SUFFIXES))
@pytest.mark.parametrize("kind", PLAY_LISTS)
def test_a_play_list_never_reaches_another_file(tmp_path: Path, kind: str, suffix: str) -> None:
    write(tmp_path / "other.flac", tone(300.0, 1.0, 16_000), 16_000)
    path = tmp_path / f"list{suffix}"
    path.write_text(PLAY_LISTS[kind])
    with pytest.raises(NotAudio, match="list"):
        decode(path)


def test_a_play_list_would_be_followed_without_the_wall(tmp_path: Path) -> None:
    """That the test above proves something: the library alone opens the other file."""
    write(tmp_path / "other.flac", tone(300.0, 1.0, 16_000), 16_000)
    path = tmp_path / "list.wav"
    path.write_text(PLAY_LISTS["ffconcat"])
    with av.open(str(path)) as container:
        assert container.format.name == "concat"
        assert sum(frame.samples for frame in container.decode(audio=0)) > 10_000
