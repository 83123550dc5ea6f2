"""Photos on a page: made anew, small, and without what the camera wrote beside them."""

import io
from datetime import UTC, datetime
from pathlib import Path

import pytest
from PIL import ExifTags, Image
from starlette.testclient import TestClient

from recorder.archive.jobs.folder import JobFolder
from recorder.model.job import MediaKind
from recorder.web.jobs.evidence import LONGEST_PX
from tests.web.jobs.places import Made

WHERE = "Secret Hollow 7"
NORTH = (51.0, 13.0, 37.5)


def photo_of_a_place(path: Path) -> None:
    """A telephone's photo, stored on its side, with the place in every entry that has one."""
    image = Image.effect_noise((2600, 1300), 60).convert("RGB")
    exif = image.getexif()
    exif[ExifTags.Base.Orientation] = 6
    exif[ExifTags.Base.ImageDescription] = WHERE
    exif[ExifTags.Base.Artist] = WHERE
    gps = exif.get_ifd(ExifTags.IFD.GPSInfo)
    gps[ExifTags.GPS.GPSLatitudeRef] = "N"
    gps[ExifTags.GPS.GPSLatitude] = NORTH
    gps[ExifTags.GPS.GPSAreaInformation] = WHERE.encode()
    image.save(path, exif=exif, comment=WHERE.encode())


@pytest.fixture
def folder(made: Made, tmp_path: Path) -> JobFolder:
    path = tmp_path / "IMG_1.jpg"
    photo_of_a_place(path)
    now = datetime(2026, 11, 25, 9, 45, tzinfo=UTC)
    folder, _ = JobFolder.create(made.home, [path], [MediaKind.PHOTO], now)
    folder.update(lambda job: job.model_copy(update={"complete": True}))
    return folder


def test_a_photo_is_shown_upright_and_small(client: TestClient, folder: JobFolder) -> None:
    answer = client.get(f"/jobs/{folder.id}/picture/1/photo")
    assert (answer.status_code, answer.headers["content-type"]) == (200, "image/jpeg")
    with Image.open(io.BytesIO(answer.content)) as shown:
        assert shown.size == (LONGEST_PX // 2, LONGEST_PX)
        assert not dict(shown.getexif())
        assert set(shown.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


def test_the_place_of_a_photo_leaves_by_no_route(client: TestClient, folder: JobFolder) -> None:
    original = folder.path_of(folder.load().media[0].path).read_bytes()
    assert WHERE.encode() in original
    assert client.post(f"/jobs/{folder.id}/report").status_code == 303
    pages = client.get(f"/jobs/{folder.id}/report").text
    addresses = [
        "", "/report", "/report.pdf", "/sign/technician", "/sign/customer", "/picture/1/photo",
        *(f"/report/page/{n}" for n in range(1, pages.count("/report/page/") // 2 + 1)),
    ]  # fmt: skip
    assert len(addresses) > 7
    for address in addresses:
        answer = client.get(f"/jobs/{folder.id}{address}")
        assert answer.status_code == 200, address
        assert WHERE.encode() not in answer.content, address
        assert b"Exif" not in answer.content, address
    for address in ("/", "/archive", "/archive?q=img", "/devices"):
        assert WHERE not in client.get(address).text


def test_measured_photos_have_overlay_and_plot(client: TestClient, made: Made) -> None:
    job = made.jobs["doubtful"].id
    page = client.get(f"/jobs/{job}").text
    assert f"/jobs/{job}/picture/2/overlay" in page
    assert "No numbers from this photo: no reference card found" in page
    for kind in ("photo", "overlay", "plot"):
        answer = client.get(f"/jobs/{job}/picture/2/{kind}")
        assert answer.content.startswith(b"\xff\xd8\xff"), kind


@pytest.mark.parametrize(
    "address",
    ["0/photo", "9/photo", "1/original", "1/..", "1/path", "-1/photo", "1/status", "1/__class__"],
)
def test_no_other_file_of_a_job_is_given(client: TestClient, made: Made, address: str) -> None:
    answer = client.get(f"/jobs/{made.jobs['doubtful'].id}/picture/{address}")
    assert answer.status_code in (400, 404)


def test_a_photo_that_is_gone_is_a_failure_in_words(client: TestClient, folder: JobFolder) -> None:
    folder.path_of(folder.load().media[0].path).unlink()
    answer = client.get(f"/jobs/{folder.id}/picture/1/photo")
    assert answer.status_code == 422
    assert "does not exist" in answer.text
