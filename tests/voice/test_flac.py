"""A stretch becomes a FLAC file with every sample of it, or it is told that it did not."""

from pathlib import Path

import av
import numpy as np
import pytest

from recorder.errors import OutputUnwritable
from recorder.voice import flac


def raw(path: Path, count: int) -> Path:
    """Noise with the loudest and the quietest samples that there are."""
    samples = (3000 * np.random.default_rng(count).standard_normal(count)).astype("<i2")
    samples[:3], samples[3:6] = 32767, -32768
    path.write_bytes(samples.tobytes())
    return path


@pytest.mark.parametrize("rate_hz", [8_000, 11_025, 44_100, 48_000, 96_000, 192_000, 384_000])
def test_every_sample_comes_back(tmp_path: Path, rate_hz: int) -> None:
    pcm, out = raw(tmp_path / "a.pcm", 3 * rate_hz + 123), tmp_path / "a.flac"
    flac.write(pcm, rate_hz, out)
    assert flac.same(pcm, out)
    with av.open(str(out)) as container:
        stream = container.streams.audio[0]
        assert (stream.rate, stream.codec_context.layout.name) == (rate_hz, "mono")
        decoded = np.concatenate([f.to_ndarray().reshape(-1) for f in container.decode(stream)])
    assert decoded.astype("<i2").tobytes() == pcm.read_bytes()


@pytest.mark.parametrize("count", [0, 1, 7])
def test_a_stretch_that_hardly_began(tmp_path: Path, count: int) -> None:
    pcm, out = raw(tmp_path / "a.pcm", count), tmp_path / "a.flac"
    flac.write(pcm, 48_000, out)
    assert flac.same(pcm, out)


def test_half_a_sample_at_the_end_is_left_out(tmp_path: Path) -> None:
    pcm, out = raw(tmp_path / "a.pcm", 5000), tmp_path / "a.flac"
    with pcm.open("ab") as file:
        file.write(b"\x01")
    flac.write(pcm, 48_000, out)
    assert flac.same(pcm, out)


@pytest.mark.parametrize("change", ["one sample", "shorter", "longer", "damaged", "no file"])
def test_a_difference_is_told(tmp_path: Path, change: str) -> None:
    pcm, out = raw(tmp_path / "a.pcm", 50_000), tmp_path / "a.flac"
    flac.write(pcm, 48_000, out)
    samples = bytearray(pcm.read_bytes())
    if change == "one sample":
        samples[80_000] ^= 1
    elif change == "shorter":
        del samples[-2:]
    elif change == "longer":
        samples += b"\0\0"
    elif change == "damaged":
        out.write_bytes(out.read_bytes()[:3000])
    else:
        out.unlink()
    pcm.write_bytes(bytes(samples))
    assert not flac.same(pcm, out)


def test_a_place_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    pcm = raw(tmp_path / "a.pcm", 100)
    with pytest.raises(OutputUnwritable, match="choose another place"):
        flac.write(pcm, 48_000, tmp_path / "nowhere" / "a.flac")
    with pytest.raises(OutputUnwritable):
        flac.write(tmp_path / "missing.pcm", 48_000, tmp_path / "a.flac")


def test_another_format_under_that_name_is_not_the_same(tmp_path: Path) -> None:
    pcm = raw(tmp_path / "a.pcm", 100)
    (tmp_path / "a.flac").write_bytes(b"RIFF" + pcm.read_bytes())
    assert not flac.same(pcm, tmp_path / "a.flac")
