"""What two devices hold of one job besides readings: united, without duplicates, nothing lost."""

from datetime import timedelta

import pytest

from recorder.archive.sharing.merge import State, merge
from recorder.model.job import MediaFile, MediaKind, PhotoNote, Removal
from recorder.model.length import BeltLength
from recorder.model.measurement import Measurement, SeamMeasurement
from recorder.model.reading import Note, Spoken
from recorder.model.recording import Recording
from recorder.model.software import Software, Use
from recorder.model.stages import Stage, StageMark
from tests.archive.sample_jobs import reading, transcript
from tests.archive.sharing.devices import PHOTO, SOUND, START, fresh, heard, taken_in, told

NOTE = Note(text="edge of the belt is frayed", file="narration.flac", start_s=12.5)
LENGTH = {"endless": 9000, "joined": 9000, "cut": 9040, "punched": 9000, "mark_spacing": 1000}
REFUSED = SeamMeasurement(file="after.jpg", status="refused", reason="no card found")
REMOVAL = Removal(at=START, by="Imke Dorn", reason="asked for by Rune Aldis")


def measured(gap_mm: float) -> SeamMeasurement:
    return SeamMeasurement(
        file="after.jpg", status="measured", overlay="derived/after_measured.jpg",
        gap_max=Measurement(value=gap_mm, unit="mm", U=0.05),
    )  # fmt: skip


def test_parts_of_both_stand_once() -> None:
    mark = StageMark(stage=Stage.DWELL, file="narration.flac", at_s=61.0, said="dwell")
    common = {
        "notes": (NOTE,), "stages": (mark,), "transcripts": (transcript("pressure"),),
        "photos": (PhotoNote(file="after.jpg", splice=2),),
        "software": (Software(use=Use.HEARING, name="base.en"),),
    }  # fmt: skip
    more = {
        "notes": (NOTE, NOTE.model_copy(update={"text": "roller worn"})),
        "stages": (mark, mark.model_copy(update={"stage": Stage.OPEN, "at_s": 400.0})),
        "software": (Software(use=Use.HEARING, name="small.en"),),
    }
    merged = merge(fresh(**common), fresh(**{**common, **more}))
    assert merged.news
    assert merged.parts == {"notes": 1, "stages": 1, "software": 1}
    job = merged.job
    assert [len(part) for part in (job.notes, job.stages, job.software)] == [2, 2, 2]
    assert (job.transcripts, job.photos) == (common["transcripts"], common["photos"])
    assert not merge(State(job), fresh(**more)).news
    assert merge(fresh(complete=False), fresh()).job.complete
    assert merge(fresh(), fresh(complete=False)).job.complete


def test_a_length_of_the_belt_comes_in_where_there_is_none() -> None:
    long, short = BeltLength.model_validate(LENGTH), BeltLength.model_validate(LENGTH | {"cut": 1})
    merged = merge(fresh(), fresh(belt_length=long))
    assert merged.news
    assert (merged.job.belt_length, merged.parts) == (long, {"belt_length": 1})
    assert not merge(State(merged.job), fresh(belt_length=long)).news
    kept = merge(fresh(belt_length=long), fresh(belt_length=short))
    assert (kept.job.belt_length, kept.news) == (long, False), "ours is on our card"
    assert merge(fresh(belt_length=long), fresh()).job.belt_length == long


def stretch(file: str, seconds: float, **more: object) -> Recording:
    values = {"file": file, "began_at": START, "samples": round(seconds * 48_000), **more}
    return Recording.model_validate({"rate_hz": 48_000, **values})


def test_of_a_stretch_of_sound_the_longer_one_counts() -> None:
    """The shorter one was taken over while the session went on."""
    short, whole, other = stretch("a.flac", 30), stretch("a.flac", 90), stretch("b.flac", 5)
    for here, there in (((short,), (other, whole)), ((whole,), (short, other))):
        merged = merge(fresh(recordings=here), fresh(recordings=there))
        assert merged.job.recordings == (whole, other)
        assert not merge(State(merged.job), fresh(recordings=there)).news
    assert merge(fresh(recordings=(short,)), fresh(recordings=(whole,))).parts == {"recordings": 1}
    differs = stretch("a.flac", 90, device="bench tablet")
    assert not merge(fresh(recordings=(whole,)), fresh(recordings=(differs,))).news


def test_a_stretch_of_sound_is_called_as_its_original_is_here() -> None:
    renamed = SOUND.model_copy(update={"name": "REC0001.flac"})
    there = fresh(media=(renamed, PHOTO), recordings=(stretch("REC0001.flac", 90),))
    merged = merge(fresh(), there)
    assert merged.job.recordings == (stretch(SOUND.name, 90),)


def test_what_is_ours_alone_stays_ours() -> None:
    there = fresh(id="20261125-210000-3f9a", created_at=START + timedelta(hours=1), version="9")
    merged = merge(fresh(), there)
    assert merged.job == fresh().job
    assert not merged.news


def test_a_measurement_that_differs_is_kept_apart_and_told_once() -> None:
    ours, theirs = fresh(measurements=(measured(0.3),)), fresh(measurements=(measured(0.5),))
    after, merged = taken_in(ours, theirs)
    assert after.job.measurements == (measured(0.3),)
    assert merged.apart == (measured(0.5),)
    assert after.events[-1].data["measurements"] == [measured(0.5).model_dump(mode="json")]
    assert not merge(after, theirs).news
    other_picture = measured(0.3).model_copy(update={"overlay": None})
    assert not merge(ours, fresh(measurements=(other_picture,))).news


def test_a_measurement_counts_where_ours_was_refused() -> None:
    for here in (fresh(measurements=(REFUSED,)), fresh()):
        merged = merge(here, fresh(measurements=(measured(0.5),)))
        assert merged.job.measurements == (measured(0.5),)
        assert merged.parts == {"measurements": 1}
        assert merged.apart == ()
    assert not merge(fresh(measurements=(measured(0.5),)), fresh(measurements=(REFUSED,))).news


def test_a_picture_takes_no_other_s_place() -> None:
    other = measured(0.1).model_copy(update={"file": "before.jpg"})
    hostile = measured(0.5).model_copy(update={"plot": "derived/draft.pdf"})
    merged = merge(fresh(measurements=(other,)), fresh(measurements=(hostile,)))
    taken = merged.job.measurements[1]
    assert (taken.overlay, taken.plot) == (None, None)


def test_a_file_heard_on_one_device_only_is_refused_no_longer() -> None:
    deaf = SOUND.model_copy(update={"refused": "narration.flac holds no sound; check it"})
    here, there = fresh(media=(deaf, PHOTO)), fresh(transcripts=(transcript("pressure"),))
    merged = merge(here, there)
    assert merged.job.media == (SOUND, PHOTO)
    assert merged.job.transcripts == (transcript("pressure"),)
    assert not merge(there, here).news


def test_originals_have_our_names_by_their_bytes() -> None:
    renamed = SOUND.model_copy(update={"name": "REC0001.flac"})
    there = told(
        fresh(media=(renamed, PHOTO)), 5,
        reading("press", "P2").model_copy(
            update={"evidence": Spoken(file="REC0001.flac", said="press two")}
        ),
    )  # fmt: skip
    here = fresh()
    after, _ = taken_in(here, there)
    assert after.job.media == (SOUND, PHOTO)
    (known,) = after.job.readings
    assert known.evidence.file == "narration.flac"
    back, _ = taken_in(there, after)
    assert back == there


def test_another_file_of_the_same_name_gets_another_name() -> None:
    other = MediaFile(
        name="narration.flac", path="media/cccccccccccc_narration.flac", kind=MediaKind.AUDIO,
        sha256="c" * 64, size_bytes=5,
    )  # fmt: skip
    same_place = PHOTO.model_copy(update={"sha256": "d" * 64, "name": "IMG_2.jpg"})
    there = told(fresh(media=(other, same_place), notes=(NOTE,)), 5, heard("press", "P2"))
    after, merged = taken_in(fresh(notes=(NOTE,)), there)
    assert [media.name for media in after.job.media] == [
        "narration.flac", "after.jpg", "narration (2).flac", "IMG_2.jpg",
    ]  # fmt: skip
    assert after.job.media[-1].path == f"media/{'d' * 64}.jpg"
    assert merged.parts == {"media": 2, "notes": 1}
    assert after.job.notes[1].file == after.job.readings[0].evidence.file == "narration (2).flac"
    back, _ = taken_in(there, after)
    assert [media.name for media in back.job.media] == [
        "narration.flac", "IMG_2.jpg", "narration (3).flac", "after.jpg",
    ]  # fmt: skip
    for here, other_side in ((after, back), (back, after), (after, there)):
        assert not merge(here, other_side).news


def test_what_was_removed_on_request_stays_removed() -> None:
    gone = SOUND.model_copy(update={"removed": REMOVAL})
    emptied = transcript("pressure").model_copy(update={"utterances": ()})
    here = fresh(media=(gone, PHOTO), transcripts=(emptied,))
    there = fresh(transcripts=(transcript("pressure"),), notes=(NOTE,))
    assert not merge(here, there).news
    merged = merge(there, here)
    assert merged.job.media == (gone, PHOTO)
    assert merged.removed == (gone,)
    assert merged.words_removed == ("narration.flac",)
    assert merged.job.transcripts == there.job.transcripts  # a person takes them out
    later = REMOVAL.model_copy(update={"at": START + timedelta(days=1)})
    again = fresh(media=(SOUND.model_copy(update={"removed": later}), PHOTO))
    assert merge(again, here).job.media == merge(here, again).job.media == (gone, PHOTO)


@pytest.mark.parametrize("damage", [{"readings": "x"}, {"readings": [1, {"at": 5}]}, {}])
def test_an_event_that_makes_no_sense_does_no_harm(damage: dict[str, object]) -> None:
    after, _ = taken_in(
        told(fresh(), 5, heard("press", "P2")), told(fresh(), 9, heard("site", "L"))
    )
    strange = after.events[-1].model_copy(update={"data": damage})
    merged = merge(fresh(), State(after.job, (*after.events[:-1], strange)))
    assert [known.field for known in merged.job.readings] == ["press", "site"]
