"""A report of a live session holds pixels of its originals and opens none of them itself."""

from pathlib import Path

import pytest
from PIL import Image

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.flows.looking import harmless, looking
from recorder.model.job import Job
from recorder.report.content.pictures import PictureTray
from tests.flows.looking import hostile
from tests.report import jobs

SIZE_MM = (60.0, 45.0)


@pytest.fixture
def folder(tmp_path: Path) -> JobFolder:
    return jobs.into_home(Home.open(tmp_path / "home"), jobs.live)


def with_picture(folder: JobFolder, content: bytes) -> Job:
    """The job with one more original, whose path is returned by its name."""
    path = folder.path / "media" / "shot.jpg"
    path.write_bytes(content)
    job = folder.load()
    shot = job.media[0].model_copy(
        update={"name": "shot.jpg", "path": "media/shot.jpg", "kind": "photo"}
    )
    return job.model_copy(update={"media": (*job.media, shot)})


def test_a_photo_is_drawn_anew_before_the_page_opens_it(
    folder: JobFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    good = hostile.jpeg(Image.new("RGB", (300, 200), (200, 30, 30)), comment=b"behind the oven")
    job = with_picture(folder, good)
    asked: list[str] = []
    really = looking.redraw

    def redraw(path: Path, name: str, longest_px: int) -> bytes:
        asked.append(name)
        return really(path, name, longest_px)

    monkeypatch.setattr(looking, "redraw", redraw)
    with harmless.pictures(job, folder) as media:
        tray = PictureTray(media)
        shown = tray.files[tray.add("media/shot.jpg", SIZE_MM)]
    assert asked == ["shot.jpg"]
    assert shown.startswith(b"\xff\xd8\xff")
    assert b"behind" not in shown


@pytest.mark.parametrize("content", [hostile.png(12_000, 12_100, bits=1), b"<html>", b""])
def test_one_that_cannot_be_looked_at_is_told_as_damaged(folder: JobFolder, content: bytes) -> None:
    job, told = with_picture(folder, content), "its file is damaged"
    with harmless.pictures(job, folder) as media, pytest.raises(ValueError, match=told):
        PictureTray(media).add("media/shot.jpg", SIZE_MM)


def test_no_path_leads_out_of_the_folder(folder: JobFolder) -> None:
    job = folder.load()
    with harmless.pictures(job, folder) as media, pytest.raises(ValueError, match="damaged"):
        PictureTray(media).add("../../elsewhere.jpg", SIZE_MM)


def test_of_a_job_of_files_nothing_is_drawn_anew(tmp_path: Path) -> None:
    folder = jobs.into_home(Home.open(tmp_path / "home"), jobs.no_photo)
    with harmless.pictures(folder.load(), folder) as media:
        assert media == folder.path
