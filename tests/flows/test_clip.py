"""Which seconds of sound stand behind a reading."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.errors import FileMissing
from recorder.flows import clip
from recorder.model.job import Job, MediaFile, MediaKind, Removal
from recorder.model.reading import Reading, Spoken, Standing, Typed

FILE = "narration.flac"


def heard(start_s: float | None, end_s: float | None) -> Reading:
    return Reading(
        field="pressure", value=2.0, unit="bar", standing=Standing.CLEAR,
        evidence=Spoken(file=FILE, said="two bar", start_s=start_s, end_s=end_s),
    )  # fmt: skip


TYPED = Reading(
    field="pressure", value=2.0, unit="bar", standing=Standing.CONFIRMED, evidence=Typed()
)


@pytest.mark.parametrize(
    ("start_s", "end_s", "span"),
    [
        (10.0, 11.0, (9.0, 12.0)),  # the words in the middle of three seconds
        (0.5, 1.0, (0.0, 3.0)),  # at the beginning of a recording
        (10.0, 15.0, (9.7, 15.3)),  # longer words, whole
        (10.0, 60.0, (9.7, 21.7)),  # a speech is cut
        (10.0, None, (8.5, 11.5)),
    ],
)
def test_the_words_and_what_is_around_them(
    start_s: float, end_s: float | None, span: tuple[float, float]
) -> None:
    assert clip.span_s(heard(start_s, end_s)) == pytest.approx(span)


def test_behind_what_was_typed_or_read_there_is_no_sound() -> None:
    assert clip.span_s(TYPED) is None
    assert clip.span_s(heard(None, None)) is None


def job_with(*media: MediaFile) -> Job:
    return Job(id="a", created_at=datetime(2026, 1, 1, tzinfo=UTC), version="1", media=media)


def original(removed: Removal | None = None) -> MediaFile:
    return MediaFile(
        name=FILE, path=f"media/{FILE}", kind=MediaKind.AUDIO, sha256="0" * 64, size_bytes=1,
        removed=removed,
    )  # fmt: skip


def test_a_recording_that_was_removed_is_offered_to_nobody(tmp_path: Path) -> None:
    gone = Removal(at=datetime(2026, 1, 2, tzinfo=UTC), by="Imke Dorn", reason="asked to")
    folder = JobFolder(Home(tmp_path).jobs / "a")
    assert clip.heard(job_with(original()), heard(1.0, 2.0))
    for job in (job_with(original(gone)), job_with()):
        assert not clip.heard(job, heard(1.0, 2.0))
        with pytest.raises(FileMissing, match=r"the recording narration\.flac"):
            clip.sound(folder, job, heard(1.0, 2.0))
    with pytest.raises(FileMissing):
        clip.sound(folder, job_with(original()), TYPED)
