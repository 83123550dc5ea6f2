"""From a folder of photos to a kept camera that measures by itself."""

import functools
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from recorder.archive.disk.home import Home
from recorder.errors import BadCamera, CannotCalibrate, FileMissing, InputRefused, UnknownCamera
from recorder.flows import cameras
from recorder.flows.camera import Kept, calibrate_folder
from recorder.flows.process import process
from recorder.model.measurement import SeamMeasurement
from recorder.photo.geometry.optics import optics_of
from recorder.photo.image import picture
from recorder.photo.image.conditions import Conditions
from recorder.settings import PhotoSettings, Settings
from tests.flows.quiet import Quiet
from tests.photo.target_shots import LENS, SIZE, VIEWS, card, shot, write

# EXIF of an invented camera: make, model, focal length, the same for 35 mm film, size.
SAID = {0x010F: "Quillback", 0x0110: "Q7", 0x920A: 5.1, 0xA405: 26, 0xA002: 1000, 0xA003: 750}
CHOSEN = (0, 1, 2, 5, 6, 7, 8)


@functools.cache
def drawn(number: int) -> np.ndarray:
    return shot(card("M"), VIEWS[number])


def photos(folder: Path, numbers: tuple[int, ...] = CHOSEN) -> Path:
    folder.mkdir(exist_ok=True)
    for number in numbers:
        write(folder / f"p{number}.jpg", drawn(number), SAID | {0x0112: 1})
    return folder


def calibrated(home: Home, folder: Path, name: str | None = None) -> Kept:
    return calibrate_folder(home, folder, name, PhotoSettings(), Quiet())


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> tuple[Home, Kept]:
    """The camera of eight good photos among others that cannot be used."""
    root = tmp_path_factory.mktemp("camera")
    home, folder = Home.open(root / "home"), photos(root / "photos")
    (folder / "notes.txt").write_text("no picture")
    (folder / "torn.jpg").write_bytes((folder / "p0.jpg").read_bytes()[:300])
    write(folder / "blank.jpg", np.full((750, 1000), 90, np.uint8), SAID)
    write(folder / "cut.jpg", drawn(1)[:, 100:900], SAID)
    # A program turned this one; its EXIF says nothing of that.
    turned = SAID | {0xA002: 750, 0xA003: 1000}
    write(folder / "turned.jpg", np.rot90(drawn(3)), turned)
    # The camera was held upright, and says so: it counts, as it was stored.
    upright = write(folder / "upright.jpg", drawn(3), SAID | {0x0112: 6})
    assert picture.load(upright).size_px == (750, 1000)
    return home, calibrated(home, folder)


def test_the_lens_of_the_photos_is_kept(kept: tuple[Home, Kept]) -> None:
    home, found = kept
    camera = found.camera
    assert (camera.make, camera.model, camera.focal_mm) == ("Quillback", "Q7", 5.1)
    assert camera.size_px == SIZE
    assert camera.target == "Seamnote card M"
    assert camera.focal_px == pytest.approx(LENS.focal_px, rel=0.003)
    assert camera.centre_px == pytest.approx(LENS.centre_px, abs=2.5)
    assert camera.rms_px < 0.2
    assert 0 < camera.held_out < 0.002
    assert found.file == home.root / "cameras" / "quillback-q7-5.1-mm-1000x750.toml"
    assert cameras.read(found.file) == camera
    assert cameras.all_kept(home) == (camera,)


def test_what_was_left_out_is_named_with_its_reason(kept: tuple[Home, Kept]) -> None:
    reasons = dict(kept[1].left_out)
    assert reasons.keys() == {"torn.jpg", "blank.jpg", "cut.jpg", "turned.jpg"}
    assert "not a whole picture" in reasons["torn.jpg"]
    assert reasons["blank.jpg"] == "the Seamnote card M is not found in it"
    assert reasons["cut.jpg"] == "it was cropped"
    assert "turned" in reasons["turned.jpg"]
    assert "upright.jpg" in kept[1].used


def test_a_photo_by_that_camera_is_seen_through_its_lens(
    kept: tuple[Home, Kept], tmp_path: Path
) -> None:
    conditions = Conditions(cameras=cameras.all_kept(kept[0]))
    mine = picture.load(write(tmp_path / "mine.jpg", drawn(0), SAID | {0x0112: 1}))
    assert optics_of(mine, conditions).lens.said == f"calibrated as {kept[1].camera.name}"
    other = picture.load(write(tmp_path / "other.jpg", drawn(0), SAID | {0x0110: "Q8"}))
    assert optics_of(other, conditions).held_out is None


def test_a_job_is_measured_with_the_cameras_of_its_home(
    kept: tuple[Home, Kept], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []

    def instead(
        path: Path, conditions: Conditions, *_: Any, name: str, **__: Any
    ) -> SeamMeasurement:
        asked.append(conditions.cameras)
        return SeamMeasurement(file=name, status="refused", reason="not looked at")

    monkeypatch.setattr("recorder.flows.process.measure", instead)
    process(kept[0], photos(tmp_path / "job", CHOSEN[:1]), Settings(), Quiet())
    assert asked == [(kept[1].camera,)]


def test_a_second_calibration_puts_the_first_aside(kept: tuple[Home, Kept]) -> None:
    home, found = kept
    again = found.camera.model_copy(update={"photos": 99})
    file, before = cameras.keep(home, again)
    assert (file, before) == (found.file, found.file.with_name(f"{found.file.name}.before"))
    assert cameras.read(before) == found.camera
    assert cameras.all_kept(home) == (again,), "the one before is not used"
    cameras.keep(home, found.camera)


def test_a_camera_goes_by_its_name_or_its_file(kept: tuple[Home, Kept], tmp_path: Path) -> None:
    home, found = kept
    assert cameras.named(home, "Quillback Q7 5.1 mm 1000x750") == found.camera
    assert cameras.named(home, str(found.file)) == found.camera
    with pytest.raises(UnknownCamera, match=r"use one of quillback-q7"):
        cameras.named(home, "Q9")
    with pytest.raises(UnknownCamera, match="seamnote camera FOLDER"):
        cameras.named(Home.open(tmp_path / "new"), "Q9")
    with pytest.raises(FileMissing):
        cameras.named(home, "nowhere.toml")


@pytest.mark.parametrize(("change", "place"), [
    (("focal_px = [", "focal_px = [0, "), "focal_px"),
    (("size_px = [1000", "size_px = [-1000"), "size_px"),
    (("rms_px = ", "rms_px = nan #"), "rms_px"),
    (("name = ", "nome = "), "name"),
    (("make = ", "make "), "Expected"),
])  # fmt: skip
def test_a_damaged_file_is_named(
    kept: tuple[Home, Kept], tmp_path: Path, change: tuple[str, str], place: str
) -> None:
    damaged = tmp_path / "damaged.toml"
    damaged.write_text(cameras.as_toml(kept[1].camera).replace(*change, 1))
    with pytest.raises(BadCamera, match=place):
        cameras.read(damaged)


def test_photos_that_say_nothing_are_kept_by_the_folders_name(tmp_path: Path) -> None:
    folder = tmp_path / "Shop phone"
    folder.mkdir()
    for number in CHOSEN:
        write(folder / f"p{number}.jpg", drawn(number))
    home = Home.open(tmp_path / "home")
    found = calibrated(home, folder)
    assert found.camera.name == "shop-phone-1000x750"
    assert not found.by_itself


def test_mixed_cameras_are_named_and_refused(tmp_path: Path) -> None:
    folder = photos(tmp_path / "mixed", CHOSEN[:2])
    write(folder / "other.jpg", drawn(0), SAID | {0x0110: "Q8"})
    write(folder / "zoomed.jpg", drawn(0), SAID | {0xA404: 2.0})
    with pytest.raises(CannotCalibrate) as refused:
        calibrated(Home.open(tmp_path / "home"), folder)
    text = str(refused.value)
    assert "2 of Quillback Q7, 5.1 mm, 1000 x 750 px" in text
    assert "1 of Quillback Q8, 5.1 mm" in text
    assert "1 of Quillback Q7, 5.1 mm, zoom 2" in text
    assert "keep those of one camera" in text


def test_too_little_is_refused_with_what_was_left_out(tmp_path: Path) -> None:
    home = Home.open(tmp_path / "home")
    folder = photos(tmp_path / "few", CHOSEN[:3])
    write(folder / "blank.jpg", np.full((750, 1000), 90, np.uint8), SAID | {0x0112: 1})
    with pytest.raises(CannotCalibrate, match=r"only 3 photos .*blank\.jpg: the Seamnote card M"):
        calibrated(home, folder)
    assert cameras.all_kept(home) == ()
    (tmp_path / "empty").mkdir()
    with pytest.raises(CannotCalibrate, match="holds no photo"):
        calibrated(home, tmp_path / "empty")
    with pytest.raises(FileMissing):
        calibrated(home, tmp_path / "nowhere")
    with pytest.raises(InputRefused, match="give the folder"):
        calibrated(home, folder / "blank.jpg")
