"""The pages of a report as pictures for a screen."""

import io
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pypdfium2
import pytest
from PIL import Image

from recorder.errors import NotAReport
from recorder.report.page import pictures


def written(path: Path, *sizes: tuple[float, float]) -> Path:
    document = pypdfium2.PdfDocument.new()
    for width, height in sizes:
        document.new_page(width, height)
    document.save(path)
    return path


def size_of(content: bytes) -> tuple[int, int]:
    with Image.open(io.BytesIO(content)) as shown:
        assert shown.format == "PNG"
        return shown.size


def test_every_page_is_as_long_as_a_screen_needs(tmp_path: Path) -> None:
    path = written(tmp_path / "a.pdf", (595, 842), (842, 595))
    assert pictures.count(path) == 2
    for number, upright in ((1, True), (2, False)):
        width, height = size_of(pictures.picture(path, number))
        assert max(width, height) == pytest.approx(pictures.LONGEST_PX, abs=1)
        assert (height > width) is upright


def test_a_page_as_large_as_a_hall_has_no_more_pixels(tmp_path: Path) -> None:
    path = written(tmp_path / "a.pdf", (14_400, 14_400))
    assert max(size_of(pictures.picture(path, 1))) <= pictures.LONGEST_PX + 1


@pytest.mark.parametrize("number", [-1, 0, 2])
def test_a_page_that_is_not_there_is_refused(tmp_path: Path, number: int) -> None:
    path = written(tmp_path / "a.pdf", (595, 842))
    with pytest.raises(NotAReport, match=f"it has no page {number}"):
        pictures.picture(path, number)


@pytest.mark.parametrize("content", [b"", b"gone", b"%PDF-1.7\n%%EOF"])
def test_what_is_no_pdf_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "a.pdf"
    path.write_bytes(content)
    with pytest.raises(NotAReport):
        pictures.count(path)


def test_a_book_is_no_report(tmp_path: Path) -> None:
    path = written(tmp_path / "a.pdf", *[(100, 100)] * (pictures.MOST_PAGES + 1))
    with pytest.raises(NotAReport, match="more than"):
        pictures.count(path)


def test_pages_can_be_asked_for_at_once(tmp_path: Path) -> None:
    """As a browser does; the engine itself is not for several threads."""
    path = written(tmp_path / "a.pdf", *[(595, 842)] * 4)
    with ThreadPoolExecutor(4) as pool:
        asked = [pool.submit(pictures.picture, path, 1 + n % 4) for n in range(12)]
        assert len({size_of(each.result()) for each in asked}) == 1
