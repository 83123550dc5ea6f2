"""The chain of events recomputed by a few lines with hashlib, which know the file alone.

Source of the hash: FIPS 180-4 (SHA-256), as Python's hashlib has it. The form of a line is told in
recorder/archive/jobs/events.py; nothing of that module is used to recompute.
"""

import hashlib
import json
import random
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from recorder.archive.disk.home import Home
from recorder.archive.jobs import proof, reports, writing
from recorder.archive.jobs.folder import JobFolder
from recorder.model.job import Job
from tests.archive.sample_jobs import NOW, add_job, reading

OFTEN = settings(
    max_examples=150,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)


def recomputed(content: bytes) -> list[dict[str, object]]:
    """The events, after every hash was made again."""
    previous, events = "0" * 64, []
    for line in content.splitlines():
        told, _, said = line.rpartition(b',"hash":"')
        event = json.loads(line)
        assert event["previous"] == previous
        previous = hashlib.sha256(told).hexdigest()
        assert said == previous.encode() + b'"}'
        events.append(event)
    return events


def tell(folder: JobFolder, press: str) -> Job:
    told = reading("press", press)
    return folder.update(lambda j: j.model_copy(update={"readings": (*j.readings, told)}))


def report(folder: JobFolder) -> None:
    reports.keep_report(
        folder, "4817", b"%PDF-1.7 invented", written_at=NOW, signer="Imke Dorn", signatures=1,
        document_digest="ab" * 32, variant="full",
    )  # fmt: skip


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> JobFolder:
    """A job with a life: made, understood, corrected, reported on, corrected, reported on."""
    place = tmp_path_factory.mktemp("chain")
    home = Home.open(place / "home")
    job = add_job(home, place / "from the camera", readings=(reading("press", "Größe 2"),))
    folder = JobFolder(home.jobs / job.id)
    tell(folder, "P1")
    report(folder)
    tell(folder, "P2")
    report(folder)
    return folder


@pytest.fixture(scope="module")
def content(folder: JobFolder) -> bytes:
    return folder.events.read_bytes()


@pytest.fixture
def other(tmp_path: Path) -> JobFolder:
    home = Home.open(tmp_path / "home")
    return JobFolder(home.jobs / add_job(home, tmp_path / "from the camera").id)


def test_every_hash_comes_out_again(folder: JobFolder, content: bytes) -> None:
    told = recomputed(content)
    kinds = ["began", "heard", "changed", "heard", "reported", "heard", "reported"]
    assert [event["what"] for event in told] == kinds
    assert [event["seq"] for event in told] == list(range(1, len(told) + 1))
    record = hashlib.sha256(folder.record.read_bytes()).hexdigest()
    assert told[-1]["record"] == record
    assert content.endswith(b"\n")
    assert "Größe 2".encode() in content
    assert all(datetime.fromisoformat(str(event["at"])).tzinfo for event in told)


def test_the_record_of_each_saving_is_the_one_that_was_written(other: JobFolder) -> None:
    folder = other
    for number in range(3):
        tell(folder, f"P{number}")
        record = hashlib.sha256(folder.record.read_bytes()).hexdigest()
        assert recomputed(folder.events.read_bytes())[-1]["record"] == record


Found = Callable[[bytes], bool]


def faults(folder: JobFolder, content: bytes) -> tuple[str, ...]:
    folder.events.write_bytes(content)
    return (*folder.record_faults(), *reports.faults(folder))


@pytest.fixture
def found(folder: JobFolder, content: bytes) -> Iterator[Found]:
    """Whether a changed file of events is found; the true one stands there again afterwards.

    Mere beginnings of a line behind the last event are told too: as a saving that was cut off.
    """
    assert faults(folder, content) == ()
    assert not folder.interrupted()
    yield lambda new: new == content or bool(faults(folder, new)) or folder.interrupted()
    folder.events.write_bytes(content)


@OFTEN
@given(st.data())
def test_any_changed_byte_is_found(found: Found, content: bytes, data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(content) - 1))
    other = data.draw(st.integers(0, 255))
    assert found(content[:at] + bytes([other]) + content[at + 1 :])


@OFTEN
@given(st.data())
def test_any_missing_or_added_bytes_are_found(
    found: Found, content: bytes, data: st.DataObject
) -> None:
    start = data.draw(st.integers(0, len(content)))
    stop = data.draw(st.integers(start, len(content)))
    assert found(content[:start] + data.draw(st.binary(max_size=3)) + content[stop:])


@OFTEN
@given(st.permutations(range(7)), st.integers(0, 7))
def test_lines_that_are_moved_or_missing_are_found(
    found: Found, content: bytes, order: list[int], kept: int
) -> None:
    lines = content.splitlines(keepends=True)
    assert found(b"".join(lines[number] for number in order))
    assert found(b"".join(lines[number] for number in sorted(order[:kept])))


def test_lines_that_are_doubled_or_made_up_are_found(found: Found, content: bytes) -> None:
    lines = content.splitlines(keepends=True)
    for at in range(len(lines) + 1):
        for line in lines:
            assert found(b"".join([*lines[:at], line, *lines[at:]]))
        told = lines[max(at - 1, 0)].rpartition(b',"hash":"')[0].replace(b"P1", b"P9")
        forged = told + b',"hash":"' + hashlib.sha256(told).hexdigest().encode() + b'"}\n'
        assert found(b"".join([*lines[:at], forged, *lines[at:]]))
        if at < len(lines) and forged not in lines:
            assert found(b"".join([*lines[:at], forged, *lines[at + 1 :]]))


def made_anew(content: bytes) -> bytes:
    """The events of a chain with all hashes made anew, as a forger would."""
    previous, made = "0" * 64, []
    for line in content.splitlines():
        event = json.loads(line) | {"previous": previous}
        del event["hash"]
        told = json.dumps(event, separators=(",", ":"), ensure_ascii=False).encode()[:-1]
        previous = hashlib.sha256(told).hexdigest()
        made.append(told + b',"hash":"' + previous.encode() + b'"}\n')
    return b"".join(made)


def test_a_chain_made_anew_with_another_value_does_not_tell_of_the_record(
    folder: JobFolder, content: bytes
) -> None:
    assert faults(folder, made_anew(content)) == ()
    told = faults(folder, made_anew(content.replace(b'"P1"', b'"P9"')))
    assert [line.partition(" holds ")[2] for line in told] == ["1 reading of which no event tells"]
    folder.events.write_bytes(content)


def test_a_chain_that_was_made_anew_from_a_changed_event_on_is_not_the_one_that_reports_name(
    folder: JobFolder, content: bytes
) -> None:
    """Whoever makes all hashes anew gets a whole chain, but no report names its hashes."""
    _, named = folder.proven()
    assert proof.holds(folder.path, named)
    forged = made_anew(content.replace(b'"device":"', b'"device":"another-'))
    assert forged != content
    assert faults(folder, forged) == ()
    assert not proof.holds(folder.path, named)
    folder.events.write_bytes(content)


def test_a_clock_that_goes_back_is_kept_as_it_was_and_harms_nothing(
    other: JobFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = other
    dice = random.Random(4817)
    times = [NOW + timedelta(seconds=dice.randrange(-(10**8), 10**8)) for _ in range(8)]

    class Clock(datetime):
        @classmethod
        def now(cls, tz: object = None) -> datetime:  # type: ignore[override]
            return times[len(folder.load().readings) % len(times)]

    monkeypatch.setattr(writing, "datetime", Clock)
    known = len(folder.load().readings)
    for number in range(len(times)):
        tell(folder, f"P{number}")
    told = recomputed(folder.events.read_bytes())[-len(times) :]
    wanted = [times[(known + number) % len(times)] for number in range(len(times))]
    assert [datetime.fromisoformat(str(event["at"])) for event in told] == wanted
    assert [r.value for r in folder.load().readings[known:]] == [f"P{n}" for n in range(8)]
    assert folder.record_faults() == ()
