"""Six finished jobs for the report: perfect, doubtful, reworked, three splices, no photo, live.

Customers, sites, people and values are invented; the pictures are those of ``tests.report.shots``.
``python -m tests.report.jobs FOLDER`` writes each one as a job folder, so that all pages can be
looked at.
"""

from __future__ import annotations

import argparse
import hashlib
from collections.abc import Callable, Iterable
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

from recorder.archive.disk.home import Home
from recorder.archive.jobs.arriving import fill
from recorder.archive.jobs.changes import began, happened
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.record import dump
from recorder.archive.sharing.history import renamed
from recorder.model.job import Job, MediaFile, MediaKind
from recorder.model.measurement import Limit
from recorder.model.quantity import Quantity
from recorder.model.reading import Note, Reading, Role, Spoken, Standing
from recorder.model.recording import BY_CLOCK, GapReason, Recording
from recorder.model.software import Software, Use
from recorder.model.stages import Stage, StageMark
from recorder.model.transcript import Transcript, Utterance, Word
from recorder.settings import ReportSettings
from tests.report.sample import card, told
from tests.report.shots import GOOD, LIMITS, MESHED, OPEN, Shot

BEGAN = datetime(2026, 3, 4, 7, 15, 0, tzinfo=timezone(timedelta(hours=1)))
NOW = datetime(2026, 3, 4, 11, 40, 5, tzinfo=timezone(timedelta(hours=1)))
METRIC = ReportSettings(
    firm="Quillback Belt Service", address="14 Tannery Row, Larkfield", technician="Imke Dorn"
)
IMPERIAL = ReportSettings(
    firm="Quillback Belt Service",
    address="14 Tannery Row, Larkfield",
    technician="Imke Dorn",
    units={"temperature": "degF", "pressure": "psi", "length": "inch"},
)
MEGAPIXELS = 1.5  # of a photo, unless asked for; a telephone's have 12
CONFIRMED, CLEAR, DOUBTFUL = Standing.CONFIRMED, Standing.CLEAR, Standing.DOUBTFUL
TIGHT = Limit(name="finger_gap", high=0.16, source="job card")

HEARD_WITH = (
    Software(use=Use.HEARING, name="Seamnote", version="0.1.0"),
    Software(use=Use.HEARING, name="Python", version="3.11.9"),
    Software(use=Use.HEARING, name="faster-whisper", version="1.2.0"),
    Software(use=Use.HEARING, name="speech model tiny.en", sha256="1a5a" * 16),
)
MEASURED_WITH = (
    Software(use=Use.MEASURING, name="Seamnote", version="0.1.0"),
    Software(use=Use.MEASURING, name="Python", version="3.11.9"),
    Software(use=Use.MEASURING, name="OpenCV", version="4.11.0.86"),
)

Make = Callable[[Path, float], Job]


def every_field() -> tuple[Reading, ...]:
    """A value of every field, confirmed, and used as asked; one splice."""
    sure: dict[str, Any] = {"standing": CONFIRMED}
    return (
        *_head(
            "5120", "Tinbrook Mill", "Tinbrook, flour silo house", "Silo feed 2", "V-guided TPU"
        ),
        card("belt_serial", "TM-2024-0713"),
        card("supply_voltage", 230.0, "V"),
        card("supply_current", 16.0, "A"),
        card("supply_phases", 1.0),
        card("ambient_temperature", 21.0, "degC"),
        card("arrived_at", "2026-03-04T07:15:00+01:00"),
        *_asked(2.0, 175.0, 171.0, 240.0, 50.0),
        card("preheat_temperature", 110.0, "degC", role=Role.ASKED),
        card("preheat_time", 180.0, "s", role=Role.ASKED),
        told("isolation_confirmed", True, None, "drive is locked out and tagged", 6.0, **sure),
        told(
            "tension_mark_before", 1000.0, "mm", "tension marks one metre apart", 14.0,
            as_said=Quantity(value=1.0, unit="m"), **sure,
        ),
        *_run(30.0, 2.0, 175.0, 171.0, 240.0, 50.0, 780.0, CONFIRMED),
        told("preheat_temperature", 110.0, "degC", "preheat at one ten", 26.0, **sure),
        told(
            "preheat_time", 180.0, "s", "for three minutes", 28.0,
            as_said=Quantity(value=3.0, unit="min"), **sure,
        ),
        told("finger_gap", 0.15, "mm", "gap point one five", 95.0, **sure),
        told("splice_width", 70.0, "mm", "width seventy even", 98.0, **sure),
        told("edge_offset", 0.2, "mm", "edges two tenths apart", 101.0, **sure),
        told("bubbles", False, None, "no bubbles", 104.0, **sure),
        told("outcome", "accepted", None, "splice accepted", 107.0, **sure),
        told("tension_mark_after", 1004.0, "mm", "now one thousand and four", 120.0, **sure),
        card("elongation", 0.4, "percent"),
        told("test_run", "ok", None, "test run okay", 128.0, **sure),
        told("left_at", "2026-03-04T11:20:00+01:00", None, "leaving at eleven twenty", 150.0,
             **sure),
        card("time_on_site", 14700.0, "s"),
        told("materials", "TPU foil 0.3 mm, one sheet; release paper", None,
             "one sheet of TPU foil and release paper", 134.0, **sure),
        told("recommendation", "Clean the tail pulley each week", None,
             "clean the tail pulley each week", 140.0, **sure),
        told("next_check", "After 200 hours of running", None,
             "check again after two hundred hours", 145.0, **sure),
    )  # fmt: skip


def perfect(folder: Path, megapixels: float = MEGAPIXELS) -> Job:
    """Everything told and confirmed, used as asked, every photo within its limits."""
    shots = (
        Shot("meshed.jpg", MESHED, "before", "Fingers meshed in the press, before heating"),
        Shot("finished.jpg", GOOD, "after", "Finished splice, carrying side"),
        Shot("finished_other_light.jpg", GOOD, "after", "The same, with light from the left"),
    )
    notes = _notes((20.0, "both ends are cut square and dry"), (160.0, "customer watched the run"))
    return _job(folder, "20260304-061500-a1f0", every_field(), shots, megapixels, notes)


def doubtful(folder: Path, megapixels: float = MEGAPIXELS) -> Job:
    """A loud plant: doubts, corrections, gaps in the record, and files that were refused."""
    readings = (
        card("customer", "Crann Salt"),
        card("conveyor", "Bagging line 4, discharge"),
        card("belt_width", 70.0, "mm"),
        *_asked(2.2, 172.0, 168.0, 180.0, 55.0),
        told("isolation_confirmed", True, None, "its locked owed I think", 4.0, DOUBTFUL,
             why="it may have been a question"),
        told("belt_material", "polyurethane blue", None, "poly your a thing blue", 9.0, DOUBTFUL,
             why="the hearings differ", candidates=("polyester blue",)),
        told("belt_thickness", 2.5, "mm", "two and a half", 13.0, DOUBTFUL,
             why="no unit was said", candidates=(63.5,)),
        told("splice_type", "finger", None, "finger splice", 17.0),
        told("finger_length", 80.0, "mm", "finger length eighty", 19.0),
        told("finger_length", 30.0, "mm", "no, thirty", 22.0, why="replaces 80 mm"),
        told("template", "T30-10", None, "template tee thirty ten", 24.0),
        told("pressure", 3.0, "bar", "pressure three bar", 30.0),
        told("pressure", 2.2, "bar", "scratch that, two point two", 34.0, why="replaces 3 bar"),
        told("top_temperature", 170.0, "degC", "top one seventy", 40.0),
        told("top_temperature", 172.0, "degC", "correction, one seventy two", 43.0),
        told("bottom_temperature", 160.0, "degC", "bottom one sixty", 46.0, DOUBTFUL,
             why="the two hearings differ", candidates=(116.0, 168.0)),
        told("dwell_time", 180.0, "s", "dwell three minutes", 52.0, DOUBTFUL,
             as_said=Quantity(value=3.0, unit="min"), why="noise over the words",
             candidates=(1800.0,)),
        told("cycle_time", 900.0, "s", "quarter of an hour all in all", 70.0, DOUBTFUL,
             as_said=Quantity(value=15.0, unit="min"), why="noise over the words"),
        told("finger_gap", 0.5, "mm", "gap half a millimetre", 80.0),
        told("outcome", "rework", None, "that wants rework", 84.0),
        told("outcome", "accepted", None, "no wait it is fine, accepted", 90.0, DOUBTFUL,
             why="it replaces 'rework'"),
        told("test_run", "not_ok", None, "test run not okay", 96.0, DOUBTFUL,
             why="'not' was heard in one of four hearings", candidates=("ok",)),
        told("next_check", "tomorrow morning", None, "look at it tomorrow morning", 99.0),
    )  # fmt: skip
    shots = (
        Shot("IMG_0412.jpg", MESHED, "before", "Meshed", limits=None),
        Shot("IMG_0415.jpg", GOOD, "after", "After pressing", limits=(TIGHT, LIMITS[1], LIMITS[2])),
    )
    job = _job(
        folder, "20260304-061500-b2e1", readings, shots, megapixels,
        _notes((60.0, "something about the hose"), (104.0, "compressor is running all the time")),
    )  # fmt: skip
    lost = _file(folder, "memo_2.m4a", MediaKind.AUDIO, b"no sound at all")
    refused = "memo_2.m4a holds no sound that can be decoded (no audio stream); record it again"
    lost = lost.model_copy(update={"refused": refused})
    return job.model_copy(update={"media": (*job.media, lost)})


def reworked(folder: Path, megapixels: float = MEGAPIXELS) -> Job:
    """Splice 1 rejected and cut out; splice 2 pressed twice before it was accepted."""
    second: dict[str, Any] = {"splice": 2}
    readings = (
        *_head("4931", "Larkfield Bakery", "Larkfield, packing hall 2", "Oven outfeed 3", "TPU"),
        *_asked(2.2, 172.0, 168.0, 180.0, 55.0),
        told("isolation_confirmed", True, None, "conveyor is locked out", 3.0, CONFIRMED),
        *_run(20.0, 1.2, 158.0, 150.0, 90.0, 55.0, 540.0, CLEAR),
        told("finger_gap", 0.9, "mm", "gap nearly a millimetre", 62.0),
        told("bubbles", True, None, "bubbles along the left edge", 65.0),
        told("outcome", "rejected", None, "this one is rejected", 68.0, CONFIRMED),
        *_run(100.0, 2.2, 170.0, 166.0, 120.0, 60.0, 600.0, CLEAR, splice=2),
        told("bubbles", True, None, "a few bubbles in the middle", 143.0, **second),
        told("outcome", "rework", None, "press it again, rework", 146.0, **second),
        *_run(160.0, 2.2, 172.0, 168.0, 180.0, 55.0, 660.0, CONFIRMED, splice=2, run=2),
        told("finger_gap", 0.15, "mm", "gap is point one five", 202.0, CONFIRMED, **second),
        told("bubbles", False, None, "no bubbles any more", 205.0, CONFIRMED, **second),
        told("outcome", "accepted", None, "splice accepted", 208.0, CONFIRMED, **second),
        told("test_run", "ok", None, "test run okay", 215.0),
        told("materials", "TPU foil 0.3 mm, three sheets", None, "three sheets of foil", 220.0),
        told("next_check", "after one week", None, "look again after one week", 226.0),
    )
    shots = (
        Shot("splice_1.jpg", OPEN, "after", "First splice after pressing: fingers stand open"),
        Shot("splice_2_meshed.jpg", MESHED, "before", "Second splice, meshed", 2),
        Shot("splice_2_first_pressing.jpg", MESHED, "after", "After the first pressing", 2, 1),
        Shot("splice_2_second_pressing.jpg", GOOD, "after", "After the second pressing", 2, 2),
    )
    notes = _notes(
        (72.0, "lower platen was cold on the left, loose plug"),
        (80.0, "cutting the splice out and punching new ends"),
        (150.0, "not fully fused in the middle"),
    )
    job = _job(folder, "20260304-061500-c3d2", readings, shots, megapixels, notes)
    running = _file(folder, "press_run.flac", MediaKind.AUDIO, b"sound of the last press run" * 999)
    marks = (
        (Stage.HEATING, 4.0, "heat is on"),
        (Stage.DWELL, 251.0, "at temperature, dwell starts"),
        (Stage.COOLING, 431.0, "dwell is over, cooling"),
        (Stage.OPEN, 660.0, "fifty five, opening"),
    )
    stages = tuple(
        StageMark(stage=stage, file=running.name, at_s=at, said=said, splice=2, run=2)
        for stage, at, said in marks
    )
    return job.model_copy(update={"media": (*job.media, running), "stages": stages})


def three_splices(folder: Path, megapixels: float = MEGAPIXELS) -> Job:
    """A long day: three splices, five press runs, twenty photos, half an hour of talk."""
    readings: list[Reading] = [
        *_head("6003", "Osterholm Parcel", "Osterholm, sorting hall B", "Outbound 1 to 3", "TPU"),
        *_asked(2.1, 174.0, 170.0, 200.0, 52.0),
        told("isolation_confirmed", True, None, "all three lines locked out", 5.0, CONFIRMED),
    ]
    runs = ((1, 1), (2, 1), (2, 2), (3, 1), (3, 2))
    for number, (splice, run) in enumerate(runs):
        at = 60.0 + 300.0 * number
        last = (splice, run + 1) not in runs
        readings += _run(
            at, 2.1 + 0.05 * number, 170.0 + number, 166.0 + number, 180.0 + 10 * number,
            52.0 + number, 640.0 + 20 * number, CLEAR if number % 2 else CONFIRMED, splice, run,
        )  # fmt: skip
        place: dict[str, Any] = {"splice": splice}
        readings += (
            told("bubbles", not last, None, "no bubbles" if last else "bubbles", at + 60, **place),
            told("finger_gap", 0.15 + number / 100, "mm", "gap as told", at + 64, **place),
            told("outcome", "accepted" if last else "rework", None,
                 "accepted" if last else "once more", at + 70, CONFIRMED, **place),
        )  # fmt: skip
    shots = [
        Shot(
            f"hall_b_{splice}_{run}_{n}.jpg",
            MESHED if n == 1 else GOOD,
            "before" if n == 1 else "after",
            f"Line {splice}, press run {run}, photo {n}",
            splice,
            run,
        )
        for splice, run in runs
        for n in (1, 2, 3, 4)
    ]
    talk = (
        "marks are set and the belt is slack", "ends are punched and clean",
        "template sits flat, pins are in", "heating up", "cooling with water",
        "release paper comes off clean", "edges look level from both sides",
    )  # fmt: skip
    notes = _notes(*((20.0 + 26.0 * n, talk[n % len(talk)]) for n in range(60)))
    return _job(folder, "20260304-061500-d4c3", tuple(readings), shots, megapixels, notes)


def no_photo(folder: Path, megapixels: float = MEGAPIXELS) -> Job:
    """An overlap splice told in a few words, without a camera."""
    del megapixels
    readings = (
        card("job_number", "0077"),
        card("customer", "Veldt Sugar"),
        card("site", "Veldt, crystal store"),
        card("belt_width", 600.0, "mm"),
        card("belt_thickness", 3.0, "mm"),
        told("isolation_confirmed", True, None, "isolated and locked", 2.0),
        told("splice_type", "overlap", None, "overlap splice", 6.0),
        *_run(12.0, 1.8, 165.0, 165.0, 300.0, 60.0, 900.0, CLEAR),
        told("bubbles", False, None, "no bubbles", 55.0),
        told("outcome", "accepted", None, "accepted", 58.0, CONFIRMED),
    )
    return _job(folder, "20260304-061500-e5b4", readings, (), 0, _notes((64.0, "phone is empty")))


def live(folder: Path, megapixels: float = MEGAPIXELS) -> Job:
    """Told to a page in three stretches of sound, with a gap before and one in the press run; the
    cycle time is that of the clock.
    """
    clock = f"{BY_CLOCK}, from 07:17:00 to 07:31:10; confirmed: “yes”"
    made = no_photo(folder, megapixels)
    readings = tuple(
        each.model_copy(update={"why": clock, "value": 850.0, "standing": CONFIRMED})
        if each.field == "cycle_time"
        else each
        for each in made.readings
    )
    stretches = (
        ("sound-1.flac", 0, 90, GapReason.FIRST, "Imke's phone"),
        ("sound-2.flac", 110, 400, GapReason.HIDDEN, "Imke's phone"),
        ("sound-3.flac", 700, 500, GapReason.TAKEN_OVER, "bench tablet"),
    )
    marks = (
        (Stage.HEATING, "sound-2.flac", 10.0), (Stage.DWELL, "sound-2.flac", 300.0),
        (Stage.COOLING, "sound-3.flac", 10.0), (Stage.OPEN, "sound-3.flac", 270.0),
    )  # fmt: skip
    names = {"narration.flac": "sound-2.flac"}
    media = [_file(folder, name, MediaKind.AUDIO, name.encode() * 999) for name, *_ in stretches]
    return made.model_copy(
        update={
            "id": "20260304-061500-f6a5",
            "media": (*media, made.media[-1]),
            "readings": tuple(renamed(each, names) for each in readings),
            "notes": tuple(n.model_copy(update={"file": "sound-2.flac"}) for n in made.notes),
            "transcripts": tuple(
                t.model_copy(update={"file": "sound-2.flac"}) for t in made.transcripts
            ),
            "stages": tuple(
                StageMark(stage=stage, file=file, at_s=at_s, said=stage.value)
                for stage, file, at_s in marks
            ),
            "recordings": tuple(
                Recording(
                    file=file, began_at=BEGAN + timedelta(seconds=after_s), rate_hz=48_000,
                    samples=48_000 * length_s, device=device, after=reason,
                )
                for file, after_s, length_s, reason, device in stretches
            ),
        }
    )  # fmt: skip


JOBS: dict[str, Make] = {
    "perfect": perfect,
    "doubtful": doubtful,
    "reworked": reworked,
    "three_splices": three_splices,
    "no_photo": no_photo,
    "live": live,
}


def into_home(home: Home, make: Make, megapixels: float = MEGAPIXELS) -> JobFolder:
    """One of the jobs as a folder of a home."""
    arriving = home.jobs / ".sample"
    (arriving / "reports").mkdir(parents=True)
    (arriving / "derived").mkdir()
    job = make(arriving, megapixels)
    before = job.model_copy(update={"readings": ()})
    fill(arriving, dump(job), [began(job), *happened(before, job)], job.created_at)
    return JobFolder(arriving.rename(home.jobs / job.id))


def _head(number: str, customer: str, site: str, conveyor: str, material: str) -> Iterable[Reading]:
    return (
        card("job_number", number),
        card("customer", customer),
        card("site", site),
        card("conveyor", conveyor),
        card("technician", "Imke Dorn"),
        card("belt_material", material),
        card("belt_width", 70.0, "mm"),
        card("belt_thickness", 2.0, "mm"),
        card("guide_profile", "v_guided" if "V-" in material else "flat"),
        card("splice_type", "finger"),
        card("finger_length", 30.0, "mm"),
        card("finger_pitch", 10.0, "mm"),
        card("template", "T30-10"),
        card("press", "P2"),
    )


def _asked(bar: float, top: float, bottom: float, dwell_s: float, cool: float) -> Iterable[Reading]:
    asked: dict[str, Any] = {"role": Role.ASKED}
    return (
        card("pressure", bar, "bar", **asked),
        card("top_temperature", top, "degC", **asked),
        card("bottom_temperature", bottom, "degC", **asked),
        card("dwell_time", dwell_s, "s", **asked),
        card("cool_down_temperature", cool, "degC", **asked),
    )


def _run(
    at: float, bar: float, top: float, bottom: float, dwell_s: float, cool: float, cycle_s: float,
    standing: Standing, splice: int = 1, run: int = 1,
) -> Iterable[Reading]:  # fmt: skip
    """What is told of one press run, from ``at`` seconds on."""
    rows = (
        ("pressure", bar, "bar", f"pressure {bar:g} bar"),
        ("top_temperature", top, "degC", f"top platen {top:g}"),
        ("bottom_temperature", bottom, "degC", f"bottom platen {bottom:g}"),
        ("dwell_time", dwell_s, "s", f"dwell {dwell_s:g} seconds"),
        ("cool_down_temperature", cool, "degC", f"cooled down to {cool:g}"),
        ("cycle_time", cycle_s, "s", f"{cycle_s:g} seconds all in all"),
    )
    return tuple(
        told(field, value, unit, said, at + 6.0 * n, standing, splice=splice, run=run)
        for n, (field, value, unit, said) in enumerate(rows)
    )


def _notes(*told_at: tuple[float, str]) -> tuple[Note, ...]:
    return tuple(Note(text=text, file="narration.flac", start_s=at) for at, text in told_at)


def _job(
    folder: Path,
    job_id: str,
    readings: tuple[Reading, ...],
    shots: Iterable[Shot],
    megapixels: float,
    notes: tuple[Note, ...],
) -> Job:
    media = [_file(folder, "narration.flac", MediaKind.AUDIO, f"sound of {job_id}".encode() * 999)]
    taken = [shot.take(folder, megapixels) for shot in shots]
    media += [_entry(folder, path, MediaKind.PHOTO) for path, _ in taken]
    media.append(_file(folder, "job.toml", MediaKind.CARD, f"# card of {job_id}\n".encode()))
    return Job(
        id=job_id,
        created_at=BEGAN,
        version="0.1.0",
        complete=True,
        media=tuple(media),
        transcripts=(transcript(readings, notes),),
        readings=readings,
        notes=notes,
        photos=tuple(shot.note() for shot in shots),
        measurements=tuple(seam for _, seam in taken),
        software=(*HEARD_WITH, *(MEASURED_WITH if taken else ())),
    )


def transcript(readings: Iterable[Reading], notes: Iterable[Note]) -> Transcript:
    """The words of all readings and notes at their times."""
    lines = [
        (reading.evidence.start_s or 0.0, reading.evidence.said, 0.93)
        for reading in readings
        if isinstance(reading.evidence, Spoken)
    ]
    lines += [(note.start_s or 0.0, note.text, 0.81) for note in notes]
    return Transcript(
        file="narration.flac",
        utterances=tuple(_utterance(*line) for line in sorted(lines)),
        duration_s=max(at for at, *_ in lines) + 12.0,
        model="tiny.en",
    )


def _utterance(at: float, said: str, probability: float) -> Utterance:
    words = tuple(
        Word(text=text, start_s=at + 0.3 * n, end_s=at + 0.3 * n + 0.25, probability=probability)
        for n, text in enumerate(said.split())
    )
    return Utterance(words=words, start_s=at, end_s=words[-1].end_s, no_speech=0.02)


def _file(folder: Path, name: str, kind: MediaKind, content: bytes) -> MediaFile:
    path = folder / "media" / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    return _entry(folder, path, kind)


def _entry(folder: Path, path: Path, kind: MediaKind) -> MediaFile:
    content = path.read_bytes()
    return MediaFile(
        name=path.name,
        path=path.relative_to(folder).as_posix(),
        kind=kind,
        sha256=hashlib.sha256(content).hexdigest(),
        size_bytes=len(content),
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    home = Home.open(parser.parse_args().folder)
    for name, make in JOBS.items():
        print(f"{name:14} {into_home(home, make).path}")


if __name__ == "__main__":
    main()
