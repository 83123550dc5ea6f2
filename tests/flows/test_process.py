"""The main path beside the demo: order, interruption, a second time, what a card cannot say."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.folders import job_folders
from recorder.archive.jobs.reports import reports
from recorder.errors import InputRefused
from recorder.flows import process as flow
from recorder.flows import report
from recorder.flows.draft import DRAFT
from recorder.model.job import in_force
from recorder.model.measurement import Limit, SeamMeasurement
from recorder.model.reading import Standing, Typed
from recorder.model.transcript import Transcript
from recorder.notes.typed import typed_reading
from recorder.notes.written import from_text
from recorder.photo.image.conditions import Conditions
from recorder.report.identity import identity
from recorder.settings import BeltLimits, PhotoSettings, Settings
from tests.flows.quiet import Quiet


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home.open(tmp_path / "home")


@pytest.fixture
def engines(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Scripted stand-ins for the two slow engines: a file's text is what is said in it; a photo
    whose bytes are 'blurred' is refused. Returns the names in the order of use.
    """
    used: list[str] = []

    def transcribe(path: Path, *rest: object) -> Transcript:
        used.append(path.name.partition("_")[2])
        text = path.read_text()
        if text == "KILL":
            raise KeyboardInterrupt
        return from_text(text, path.name)

    def measure(
        path: Path, conditions: Conditions, overlay: Path, name: str | None = None,
        plot: Path | None = None,
    ) -> SeamMeasurement:  # fmt: skip
        used.append(name or path.name)
        if path.read_text() == "needs thickness" and conditions.belt_thickness_mm is None:
            return SeamMeasurement(file=name or "", status="refused", reason="say the thickness")
        return SeamMeasurement(file=name or "", status="measured", limits=conditions.limits)

    monkeypatch.setattr(flow, "transcribe", transcribe)
    monkeypatch.setattr(flow, "measure", measure)
    return used


def folder_of(tmp_path: Path, **files: str) -> Path:
    folder = tmp_path / "source"
    folder.mkdir(exist_ok=True)
    for name, text in files.items():
        (folder / name.replace("_", " ").replace(" dot ", ".")).write_text(text)
    return folder


def run(home: Home, source: Path) -> flow.Processed:
    return flow.process(home, source, Settings(), Quiet())


def test_recordings_come_first_and_in_the_order_of_their_numbers(
    tmp_path: Path, home: Home, engines: list[str]
) -> None:
    source = folder_of(
        tmp_path, IMG_1_dot_jpg="photo", Recording_10_dot_wav="Pressure 3 bar.",
        Recording_2_dot_wav="Pressure 2 bar.",
    )  # fmt: skip
    done = run(home, source)
    assert engines == ["Recording_2.wav", "Recording_10.wav", "IMG 1.jpg"]
    pressures = [r.value for r in done.job.readings if r.field == "pressure"]
    assert pressures == [2.0, 3.0]


def test_an_interruption_costs_only_the_file_that_was_being_heard(
    tmp_path: Path, home: Home, engines: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    source = folder_of(tmp_path, a_dot_wav="Dwell 3 minutes.", b_dot_wav="KILL")
    with pytest.raises(KeyboardInterrupt):
        run(home, source)
    (folder,) = job_folders(home)
    confirmed = typed_reading("pressure", "2.2 bar", Typed(at=datetime.now(UTC)))
    folder.update(lambda job: job.model_copy(update={"readings": (*job.readings, confirmed)}))

    def hear(path: Path, *rest: object) -> Transcript:
        engines.append("again " + path.name.partition("_")[2])
        return from_text("Top platen 172 degrees Celsius.", path.name)

    monkeypatch.setattr(flow, "transcribe", hear)
    job = run(home, source).job
    assert engines == ["a.wav", "b.wav", "again b.wav"]
    held = in_force(job.readings)
    assert {"dwell_time", "pressure", "top_temperature"} <= held.keys()
    assert len(job_folders(home)) == 1


def test_a_second_time_does_nothing_anew_but_brings_a_lost_draft_back(
    tmp_path: Path, home: Home, engines: list[str]
) -> None:
    source = folder_of(tmp_path, a_dot_wav="Dwell 3 minutes.")
    first = run(home, source)
    assert not first.again
    (first.folder / DRAFT).unlink()
    second = run(home, source)
    assert second.again
    assert second.job == first.job
    assert engines == ["a.wav"]
    assert (first.folder / DRAFT).is_file()


def test_a_doubtful_thickness_is_not_used_and_a_confirmed_one_is(
    tmp_path: Path, home: Home, engines: list[str]
) -> None:
    source = folder_of(
        tmp_path, a_dot_wav="The belt is 20 or 2 millimetres thick.", p_dot_jpg="needs thickness"
    )
    first = run(home, source)
    thickness = in_force(first.job.readings).get("belt_thickness")
    assert thickness is None or thickness.standing is Standing.DOUBTFUL
    assert [m.status for m in first.job.measurements] == ["refused"]
    sure = typed_reading("belt_thickness", "2 mm", Typed(at=datetime.now(UTC)))
    JobFolder(first.folder).update(
        lambda job: job.model_copy(update={"readings": (*job.readings, sure)})
    )
    second = run(home, source)
    assert [m.status for m in second.job.measurements] == ["measured"]
    assert engines.count("a.wav") == 1


def test_what_the_recordings_say_of_the_belt_selects_its_limits(
    tmp_path: Path, home: Home, engines: list[str]
) -> None:
    thin = BeltLimits(
        name="thin",
        belt_thickness_mm=(1, 3),
        limits=(Limit(name="splice_width", tolerance=0.5), Limit(name="bow", high=0.2)),
    )
    source = folder_of(
        tmp_path,
        a_dot_wav="Belt thickness 2 millimetres. Belt width 70 millimetres.",
        p_dot_jpg="photo",
        job_dot_toml='[[limit]]\nname = "bow"\nhigh = "0.4 mm"\n',
    )
    settings = Settings(photo=PhotoSettings(belt_limits=(thin,)))
    done = flow.process(home, source, settings, Quiet())
    (seam,) = done.job.measurements
    assert [(limit.name, limit.shown(), limit.source) for limit in seam.limits] == [
        ("finger_gap", "at most 0.5 mm", "house default, common practice, set your own"),
        (
            "splice_width",
            "69.5 to 70.5 mm",
            "belt type thin, ± 0.5 mm of the belt width told (70 mm)",
        ),
        ("edge_offset", "at most 1 mm", "house default, common practice, set your own"),
        ("bow", "at most 0.4 mm", "job card"),
    ]


def test_a_folder_that_cannot_be_one_is_refused(tmp_path: Path, home: Home) -> None:
    (tmp_path / "talk.wav").write_text("x")
    with pytest.raises(InputRefused, match="it is a file; give the folder"):
        run(home, tmp_path / "talk.wav")


def test_two_reports_in_one_second_are_both_kept(
    tmp_path: Path, home: Home, engines: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    done = run(home, folder_of(tmp_path, a_dot_wav="Job number 4817."))
    key = identity.create(home.identity / "signer.p12", "secret", "Imke Dorn", "Quillback")
    now = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)

    class Clock(datetime):
        @classmethod
        def now(cls, tz: object = None) -> datetime:  # type: ignore[override]
            return now

    monkeypatch.setattr(report, "datetime", Clock)
    folder = JobFolder(done.folder)
    paths = {report.write(home, folder, Settings(), key, Quiet()).path for _ in range(2)}
    assert len(paths) == 2
    written = reports(folder)
    assert {folder.path_of(record.path) for record in written} == paths
    assert len({record.sha256 for record in written}) == 2


def test_what_heard_and_measured_is_noted_once(
    tmp_path: Path, home: Home, engines: list[str]
) -> None:
    source = folder_of(tmp_path, a_dot_wav="Job number 4817.", b_dot_wav="Pressure two bar.")
    heard = run(home, source).job.software
    assert [(s.use, s.name) for s in heard] == [
        ("hearing", "Seamnote"), ("hearing", "Python"), ("hearing", "faster-whisper"),
        ("hearing", "speech model tiny.en"),
    ]  # fmt: skip
    assert all(s.version for s in heard[:3])
    assert len(heard[3].sha256) == 64
    source = folder_of(tmp_path, c_dot_jpg="a photo")
    done = run(home, source)
    assert done.job.software[:4] == heard
    assert [(s.use, s.name) for s in done.job.software[4:]] == [
        ("measuring", "Seamnote"), ("measuring", "Python"), ("measuring", "OpenCV"),
    ]  # fmt: skip
    assert JobFolder(done.folder).load().software == done.job.software
