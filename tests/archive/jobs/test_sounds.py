"""The sound of a session on the disk: a prefix of what was fed, and all that was acknowledged."""

import os
import signal
import struct
import subprocess
import sys
import zlib
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from recorder.archive.jobs import sound, sounds
from recorder.archive.jobs.sound import Head, Sound
from recorder.archive.jobs.sounds import Sounds, sound_of
from recorder.errors import BadJobFolder, OutputUnwritable, SoundRefused
from recorder.model.recording import GapReason

BEGAN = datetime(2026, 11, 25, 20, 45, 30, tzinfo=UTC)
NAME = "ab" * 16
# Hypothesis runs one test often in one folder; each run makes a folder of its own in it.
IN_ONE_FOLDER = settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=60
)


@dataclass(frozen=True)
class Chunk:
    number: int
    first: int
    samples: bytes


def head(name: str = NAME, rate_hz: int = 48_000) -> Head:
    return Head(name=name, rate_hz=rate_hz, began_at=BEGAN, device="phone", after=GapReason.FIRST)


def chunks(sizes: list[int]) -> list[Chunk]:
    """Chunks of so many samples, each sample another."""
    found, first = [], 0
    for number, size in enumerate(sizes):
        values = (((first + at) * 7919) % 65_536 - 32_768 for at in range(size))
        found.append(Chunk(number, first, struct.pack(f"<{size}h", *values)))
        first += size
    return found


def whole(fed: list[Chunk]) -> bytes:
    return b"".join(chunk.samples for chunk in fed)


def on_disk(found: Sound) -> bytes:
    return found.read(0, found.samples)


def test_a_stretch_keeps_what_it_is_given_and_tells_its_recording(tmp_path: Path) -> None:
    there = Sounds(tmp_path)
    made = there.begin(head())
    fed = chunks([4800] * 5)
    assert made.append(fed[:2])
    assert made.append(fed[2:])
    assert (made.next, made.samples, there.seconds) == (5, 24_000, 0.5)
    assert (tmp_path / "live" / "recording_1.pcm").read_bytes() == whole(fed)
    told = made.recording
    assert (told.file, told.samples, told.rate_hz) == ("recording_1.flac", 24_000, 48_000)
    assert (told.began_at, told.device, told.after) == (BEGAN, "phone", GapReason.FIRST)
    again = Sounds(tmp_path)
    assert again.named(NAME).next == 5
    assert on_disk(again.named(NAME)) == whole(fed)
    assert again.recordings() == there.recordings()


def test_a_stretch_is_opened_once_and_numbered_by_us(tmp_path: Path) -> None:
    there = Sounds(tmp_path)
    first = there.begin(head())
    assert there.begin(head()) is first
    assert there.begin(head("cd" * 16)).path.name == "recording_2.pcm"
    with pytest.raises(SoundRefused):
        there.named("ef" * 16)
    assert [each.path.name for each in Sounds(tmp_path).all()] == [
        "recording_1.pcm", "recording_2.pcm",
    ]  # fmt: skip


def test_many_stretches_stay_in_order(tmp_path: Path) -> None:
    there = Sounds(tmp_path)
    for number in range(11):
        there.begin(head(f"{number:032x}"))
    names = [each.head.name for each in Sounds(tmp_path).all()]
    assert names == [f"{number:032x}" for number in range(11)]


def test_a_page_cannot_open_stretches_without_end(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sounds, "MOST_STRETCHES", 2)
    there = Sounds(tmp_path)
    there.begin(head("00" * 16))
    there.begin(head("11" * 16))
    with pytest.raises(SoundRefused, match="at most 2"):
        there.begin(head("22" * 16))


def test_a_chunk_that_does_not_begin_where_the_one_before_ends_is_refused(tmp_path: Path) -> None:
    made = Sounds(tmp_path).begin(head())
    one, two = chunks([10, 10])
    made.append([one])
    with pytest.raises(SoundRefused, match="chunk 1"):
        made.append([Chunk(1, 11, two.samples)])
    assert made.append([two])


@IN_ONE_FOLDER
@given(
    sizes=st.lists(st.integers(1, 40), min_size=1, max_size=12),
    sent=st.lists(st.lists(st.integers(0, 13), max_size=6), max_size=12),
)
def test_in_whatever_order_chunks_come_the_disk_holds_a_beginning_of_them(
    tmp_path: Path, sizes: list[int], sent: list[list[int]]
) -> None:
    fed = chunks(sizes)
    place = tmp_path / os.urandom(8).hex()
    place.mkdir()
    made = Sounds(place).begin(head())
    wanted = 0
    for numbers in sent:
        batch = [fed[number] for number in numbers if number < len(fed)]
        took_all = made.append(batch)
        for chunk in batch:
            if chunk.number > wanted:
                assert not took_all
                break
            wanted = max(wanted, chunk.number + 1)
        else:
            assert took_all
        assert made.next == wanted
        assert on_disk(made) == whole(fed[:wanted])
    assert on_disk(Sound.open(made.path)) == whole(fed[:wanted])


@IN_ONE_FOLDER
@given(data=st.data(), sizes=st.lists(st.integers(1, 30), min_size=2, max_size=8))
def test_killed_at_any_byte_nothing_acknowledged_is_lost_and_nothing_else_is_believed(
    tmp_path: Path, data: st.DataObject, sizes: list[int]
) -> None:
    """The samples are written before the line that vouches for them, so a kill leaves the first,
    or a part of the second."""
    fed = chunks(sizes)
    place = tmp_path / os.urandom(8).hex()
    place.mkdir()
    made = Sounds(place).begin(head())
    made.append(fed[:-1])
    pcm, log = made.path, made.path.with_suffix(".jsonl")
    before = (pcm.stat().st_size, log.stat().st_size)
    made.append(fed[-1:])
    after = (pcm.stat().st_size, log.stat().st_size)
    kept_pcm = data.draw(st.integers(before[0], after[0]))
    kept_log = data.draw(st.integers(before[1], after[1])) if kept_pcm == after[0] else before[1]
    os.truncate(pcm, kept_pcm)
    os.truncate(log, kept_log)
    again = Sound.open(pcm)
    told = len(fed) if kept_log == after[1] else len(fed) - 1
    assert again.next == told
    assert on_disk(again) == whole(fed[:told])
    assert pcm.stat().st_size == len(whole(fed[:told]))
    assert again.append(fed[told:])
    assert on_disk(Sound.open(pcm)) == whole(fed)
    assert sounds.faults(place) == ()


@IN_ONE_FOLDER
@given(lost=st.integers(0, 200), sizes=st.lists(st.integers(1, 30), min_size=2, max_size=8))
def test_a_power_cut_that_lost_samples_and_not_their_lines_leaves_a_beginning(
    tmp_path: Path, lost: int, sizes: list[int]
) -> None:
    fed = chunks(sizes)
    place = tmp_path / os.urandom(8).hex()
    place.mkdir()
    made = Sounds(place).begin(head())
    for chunk in fed:
        made.append([chunk])
    size = made.path.stat().st_size
    os.truncate(made.path, max(0, size - lost))
    again = Sound.open(made.path)
    assert on_disk(again) == whole(fed[: again.next])
    assert again.append(fed)
    assert on_disk(again) == whole(fed)


def test_what_the_disk_zeroed_at_the_end_is_not_believed(tmp_path: Path) -> None:
    made = Sounds(tmp_path).begin(head())
    fed = chunks([50, 50])
    made.append(fed[:1])
    made.append(fed[1:])
    with made.path.open("r+b") as file:
        file.seek(100)
        file.write(bytes(100))
    assert Sound.open(made.path).next == 1


def test_damage_in_the_middle_is_told_and_takes_nothing_behind_it(tmp_path: Path) -> None:
    made = Sounds(tmp_path).begin(head())
    fed = chunks([50, 50, 50])
    for chunk in fed:
        made.append([chunk])
    with made.path.open("r+b") as file:
        file.seek(120)
        file.write(b"\x55\x55")
    (fault,) = sounds.faults(tmp_path)
    assert "samples 50 to 100" in fault
    assert Sound.open(made.path).next == 3


def test_a_log_that_is_none_is_a_fault_and_no_traceback(tmp_path: Path) -> None:
    made = Sounds(tmp_path).begin(head())
    made.path.with_suffix(".jsonl").write_bytes(b"{}\n")
    with pytest.raises(BadJobFolder, match="no log"):
        Sounds(tmp_path)
    assert len(sounds.faults(tmp_path)) == 1


@pytest.mark.parametrize("failing", ["pcm", "jsonl"])
def test_on_a_full_disk_nothing_is_acknowledged_and_the_next_try_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, failing: str
) -> None:
    made = Sounds(tmp_path).begin(head())
    fed = chunks([50, 50, 50])
    made.append(fed[:1])
    put = sound._put

    def full(path: Path, place: int, content: bytes) -> None:
        if path.suffix == f".{failing}":
            put(path, place, content[: len(content) // 2])
            raise OSError(28, "No space left on device")
        put(path, place, content)

    with monkeypatch.context() as patch:
        patch.setattr(sound, "_put", full)
        with pytest.raises(OutputUnwritable, match="No space left"):
            made.append(fed[1:])
        assert (made.next, made.samples) == (1, 50)
    assert on_disk(Sound.open(made.path)) == whole(fed[:1])
    assert made.append(fed[1:])
    assert on_disk(Sound.open(made.path)) == whole(fed)


def test_a_part_is_read_while_another_appends_and_nothing_is_cut(tmp_path: Path) -> None:
    made = Sounds(tmp_path).begin(head(rate_hz=8000))
    made.append(chunks([8000, 8000]))
    with made.path.open("ab") as file:
        file.write(b"\x01\x02")  # half of what is being appended
    part, rate_hz = sound_of(tmp_path, "recording_1.flac", 0.5, 1.25)
    assert (part, rate_hz) == (whole(chunks([8000, 8000]))[8000:20_000], 8000)
    assert made.path.stat().st_size == 32_002
    assert sound_of(tmp_path, "recording_1.flac", 5.0, 6.0) == (b"", 8000)
    assert sound_of(tmp_path, "../recording_1.flac", 0.0, 1.0) == (b"", 0)


CHILD = """
import sys
from pathlib import Path
from recorder.archive.jobs.sounds import Sounds
from tests.archive.jobs.test_sounds import chunks, head
made = Sounds(Path(sys.argv[1])).begin(head())
for chunk in chunks([480] * 4000)[made.next:]:
    made.append([chunk])
    print(made.next, flush=True)
"""


def test_killed_while_it_writes_the_disk_holds_what_was_acknowledged(tmp_path: Path) -> None:
    fed = chunks([480] * 4000)
    for turns in (3, 40, 11):
        child = subprocess.Popen(
            [sys.executable, "-c", CHILD, tmp_path], stdout=subprocess.PIPE, text=True
        )
        assert child.stdout
        told = [int(child.stdout.readline()) for _ in range(turns)]
        child.send_signal(signal.SIGKILL)
        told += [int(line) for line in child.stdout.read().split("\n")[:-1]]
        child.wait()
        found = Sounds(tmp_path).named(NAME)
        assert found.next >= told[-1]
        assert on_disk(found) == whole(fed[: found.next])
        assert zlib.crc32(found.path.read_bytes()) == zlib.crc32(whole(fed[: found.next]))
    assert found.next >= 54
