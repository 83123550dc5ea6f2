"""Photos of a session: kept first, measured aside, spoken of; none is lost on the way."""

import threading
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.errors import (
    FileTooLarge,
    InputRefused,
    NotAPicture,
    OutputUnwritable,
    PictureTooHard,
)
from recorder.model.job import MediaKind
from recorder.model.measurement import SeamMeasurement
from recorder.notes.requests.request import Ask, Request
from recorder.photo.image.conditions import Conditions
from tests.flows.live.scripted import (
    LIMIT_S,
    SILENT,
    Page,
    Script,
    asked_to_finish,
    picture,
    sessions,
)


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home.open(tmp_path / "home")


class Measuring:
    """A stand-in for the measuring of photos, which can be held up, and can fail."""

    def __init__(self) -> None:
        self.going = threading.Event()
        self.going.set()
        self.fails: list[Exception] = []
        self.asked: list[str] = []

    def __call__(
        self, path: Path, conditions: Conditions, overlay: Path, *, plot: Path, name: str
    ) -> SeamMeasurement:
        self.asked.append(name)
        self.going.wait()
        if self.fails:
            raise self.fails.pop(0)
        overlay.write_bytes(path.read_bytes())
        return SeamMeasurement(
            file=name, status="refused", reason="the card is not seen; show all of it",
            overlay="overlay",
        )  # fmt: skip


def test_a_photo_is_an_original_before_it_is_measured(home: Home, tmp_path: Path) -> None:
    measuring = Measuring()
    measuring.going.clear()
    with sessions(home, Script(), measure=measuring) as live:
        page = Page(live.begin())
        page.session.photo(picture(tmp_path / "upload.tmp"), "IMG 0001.JPEG")
        (media,) = page.job.media
        assert (media.name, media.kind) == ("photo_1.jpeg", MediaKind.PHOTO)
        assert page.folder.path_of(media.path).read_bytes() == picture(tmp_path / "x").read_bytes()
        (note,) = page.job.photos
        assert (note.file, note.splice, note.run) == ("photo_1.jpeg", 1, 1)
        (shot,) = page.session.view().shots
        assert (shot.number, shot.measuring) == (1, True)
        page.session.photo(picture(tmp_path / "upload.tmp"), "../../etc/passwd")
        measuring.going.set()
        page.wait(lambda: len(page.job.measurements) == 2)
        assert [m.name for m in page.job.media] == ["photo_1.jpeg", "photo_2.jpg"]
        page.wait(lambda: not any(shot.measuring for shot in page.session.view().shots))
        said = [told.text for told in page.session._keeper.now.told]
        page.wait(lambda: page.session.view().shots[-1].fresh, "the photo that is spoken of")
        for _ in range(2):
            page.session.ask(Request(ask=Ask.MISSING, said=""))
        assert not page.session.view().shots[-1].fresh
    assert any("card" in text or "Show all of it" in text for text in said), said
    assert sorted(path.name for path in page.folder.path.iterdir() if path.is_dir()) == [
        "derived", "live", "media", "reports",
    ]  # fmt: skip


def test_sound_waits_for_no_photo(home: Home, tmp_path: Path) -> None:
    looking, going = threading.Event(), threading.Event()

    def admit(path: Path, name: str) -> None:
        looking.set()
        assert going.wait(LIMIT_S)

    with sessions(home, Script(), admit=admit) as live:
        page = Page(live.begin())
        page.open()
        upload = (picture(tmp_path / "upload"), "a.jpg")
        sending = threading.Thread(target=page.session.photo, args=upload)
        sending.start()
        assert looking.wait(LIMIT_S)
        page.feed([1])  # returns when it is on the disk
        assert page.job.media == ()
        going.set()
        sending.join()
        assert [media.name for media in page.job.media] == ["photo_1.jpg"]


def test_what_is_no_picture_is_refused_and_not_kept(home: Home, tmp_path: Path) -> None:
    def admit(path: Path, name: str) -> None:
        raise FileTooLarge(path=name, size="145 megapixels", limit="64 megapixels")

    with sessions(home, Script(), admit=admit) as live:
        page = Page(live.begin())
        with pytest.raises(InputRefused, match="145"):
            page.session.photo(picture(tmp_path / "upload"), "bomb.png")
        assert page.job.media == ()
        live_files = {path.name for path in (page.folder.path / "live").iterdir()}
        assert live_files <= {"talk.json"}


@pytest.mark.parametrize(
    "error",
    [
        NotAPicture(path="x", detail="it ends early"),
        PictureTooHard(path="x", detail="it took too long"),
    ],
)
def test_a_photo_that_cannot_be_measured_says_why_and_stays(
    home: Home, tmp_path: Path, error: InputRefused
) -> None:
    measuring = Measuring()
    measuring.fails = [error]
    with sessions(home, Script(), measure=measuring) as live:
        page = Page(live.begin())
        page.session.photo(picture(tmp_path / "upload"), "a.jpg")
        page.wait(lambda: page.job.media[0].refused)
        (shot,) = page.session.view().shots
        assert str(error.data["detail"]) in shot.text
        page.wait(lambda: len(page.session._keeper.now.told) > 0)
        assert page.job.measurements == ()
        assert page.session.view().trouble == ""


def test_a_program_that_fails_at_a_photo_goes_on(home: Home, tmp_path: Path) -> None:
    measuring = Measuring()
    measuring.fails = [RuntimeError("broken")]
    with sessions(home, Script(), measure=measuring) as live:
        page = Page(live.begin())
        page.session.photo(picture(tmp_path / "upload"), "a.jpg")
        page.wait(lambda: "photo_1.jpg" in page.session.view().trouble)
        page.session.photo(picture(tmp_path / "upload"), "b.jpg")
        page.wait(lambda: page.job.measurements)
        assert page.session.view().trouble == ""


def test_what_a_killed_server_had_not_kept_or_measured_is_taken_up(
    home: Home, tmp_path: Path
) -> None:
    measuring = Measuring()
    measuring.fails = [RuntimeError("killed")]
    with sessions(home, Script(), measure=measuring) as live:
        page = Page(live.begin())
        page.session.photo(picture(tmp_path / "upload"), "a.jpg")
        page.wait(lambda: page.session.view().trouble)
    picture(page.folder.path / "live" / "photo_2.png")
    again = Measuring()
    with sessions(home, Script(), measure=again) as live:
        page = Page(live.open(page.session.job_id))
        page.wait(lambda: len(page.job.measurements) == 2)
    assert sorted(again.asked) == ["photo_1.jpg", "photo_2.png"]
    assert [media.name for media in page.job.media] == ["photo_1.jpg", "photo_2.png"]


def test_the_finish_waits_for_photos(home: Home, tmp_path: Path) -> None:
    measuring = Measuring()
    measuring.going.clear()
    with sessions(home, Script(), measure=measuring) as live:
        page = Page(live.begin())
        page.session.photo(picture(tmp_path / "upload"), "a.jpg")
        page.session._keeper.change(asked_to_finish)
        page.session._hearing.poke()
        assert not page.session.finished
        measuring.going.set()
        page.wait(lambda: page.finished)
        assert len(page.job.measurements) == 1
    assert SILENT.speaking.engine == "none"


def test_a_place_that_cannot_be_written_keeps_no_job_from_its_end(
    home: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("recorder.flows.live.photos._AGAIN_S", 0.02)
    measuring = Measuring()
    full = OutputUnwritable(path="derived", detail="No space left on device")
    measuring.fails = [full, full, full, full]
    with sessions(home, Script(), measure=measuring) as live:
        page = Page(live.begin())
        page.session.photo(picture(tmp_path / "upload"), "a.jpg")
        page.wait(lambda: page.job.media[0].refused)
        page.session._keeper.change(asked_to_finish)
        page.wait(lambda: page.finished)
    assert measuring.asked == ["photo_1.jpg"] * 3
    assert "No space left" in page.job.media[0].refused
