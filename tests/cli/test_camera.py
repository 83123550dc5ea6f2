"""seamnote camera, and measure with what it kept."""

from datetime import UTC, datetime
from pathlib import Path

import pytest
from PIL import Image

from recorder.flows.cameras import as_toml
from recorder.model.camera import Camera
from recorder.resources import shipped
from tests.cli.command import seamnote
from tests.flows.test_camera import photos

PHOTO = shipped("demo_media") / "job" / "photo_3_accepted.jpg"  # 2200 x 2800, no EXIF of a camera
STRAIGHT = Camera(
    name="bench",
    size_px=(2800, 2200),
    focal_px=(2900.0, 2900.0),
    centre_px=(1399.5, 1099.5),
    rms_px=0.1,
    held_out=0.0002,
    photos=12,
    target="chessboard",
    calibrated_at=datetime(2026, 11, 26, tzinfo=UTC),
)


def test_a_folder_becomes_a_camera(tmp_path: Path) -> None:
    photos(tmp_path / "photos")
    (tmp_path / "photos" / "torn.jpg").write_bytes(b"\xff\xd8")
    ran = seamnote("camera", "photos", "--name", "My phone", "--json", cwd=tmp_path)
    assert ran.code == 0, ran.err
    (found,) = ran.objects
    assert found["camera"]["name"] == "my-phone"
    assert found["file"] == str(tmp_path / "home" / "cameras" / "my-phone.toml")
    assert found["left_out"][0]["file"] == "torn.jpg"
    assert len(found["used"]) == found["camera"]["photos"] == 7
    assert 0.3 < found["covered"] <= 1


def keep(home: Path, camera: Camera) -> None:
    (home / "cameras").mkdir(parents=True, exist_ok=True)
    (home / "cameras" / f"{camera.name}.toml").write_text(as_toml(camera))


def by_a_camera(folder: Path) -> Path:
    """The photo with the EXIF of an invented camera; it was held upright."""
    folder.mkdir()
    exif = Image.Exif()
    exif[0x010F], exif[0x0110], exif[0x0112] = "Quillback", "Q7", 6
    shot = exif.get_ifd(0x8769)
    shot[0x920A], shot[0xA002], shot[0xA003] = 5.1, 2800, 2200
    with Image.open(PHOTO) as upright:
        stored = upright.transpose(Image.Transpose.ROTATE_90)
        stored.save(folder / "photo.jpg", quality=95, exif=exif)
    return folder / "photo.jpg"


def test_the_kept_camera_of_a_photo_is_used_by_itself(tmp_path: Path) -> None:
    said = {"make": "Quillback", "model": "Q7", "focal_mm": 5.1}
    keep(tmp_path / "home", STRAIGHT.model_copy(update=said))
    photo = by_a_camera(tmp_path / "job")
    (found,) = seamnote("measure", photo, "--json", cwd=tmp_path).objects
    assert (found["status"], found["lens"]) == ("measured", "calibrated as bench")
    assert not any("calibrat" in warning for warning in found["warnings"])


def test_a_named_camera_that_does_not_fit_is_told(tmp_path: Path) -> None:
    bent = STRAIGHT.model_copy(update={"name": "bent", "distortion": (0.1, 0.0, 0.0, 0.0, 0.0)})
    keep(tmp_path / "home", bent)
    (found,) = seamnote("measure", PHOTO, "--camera", "bent", "--json", cwd=tmp_path).objects
    assert any("calibrated as bent does not fit this photo" in w for w in found["warnings"])
    assert found["lens"] == "found from the card in the photo"
    assert found["status"] == "measured"


@pytest.mark.parametrize(("arguments", "code", "said"), [
    (("camera", "nowhere"), 3, "nowhere does not exist"),
    (("camera", "empty"), 3, "holds no photo"),
    (("camera", "empty", "--name", "!?"), 2, "cannot be the name of a camera"),
    (("camera",), 2, "FOLDER"),
    (("measure", PHOTO, "--camera", "nobody"), 2, "calibrate one with 'seamnote camera FOLDER'"),
    (("measure", PHOTO, "--camera", "nowhere.toml"), 3, "nowhere.toml does not exist"),
    (("measure", PHOTO, "--camera", "bad.toml"), 3, "bad.toml is not a calibrated camera"),
    (("measure", PHOTO, "--camera", PHOTO), 3, "is not a calibrated camera"),
])  # fmt: skip
def test_what_cannot_work_is_one_line(
    tmp_path: Path, arguments: tuple[str, ...], code: int, said: str
) -> None:
    (tmp_path / "empty").mkdir()
    (tmp_path / "bad.toml").write_text('name = "bad"\nsize_px = "large"\n')
    ran = seamnote(*arguments, cwd=tmp_path)
    assert ran.code == code
    assert said in ran.complains_once()
    assert ran.out == ""


def test_a_damaged_camera_of_the_home_is_named(tmp_path: Path) -> None:
    kept = tmp_path / "home" / "cameras"
    kept.mkdir(parents=True)
    (kept / "old.toml").write_text("size_px = 3\n")
    ran = seamnote("measure", PHOTO, cwd=tmp_path)
    assert ran.code == 3
    assert "old.toml is not a calibrated camera" in ran.complains_once()
