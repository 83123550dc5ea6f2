"""The typesetting engine behind its wall."""

import http.server
import io
import re
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pypdf
import pytest
from PIL import Image

from recorder.errors import PageFailed
from recorder.report.page import weasy
from recorder.resources import shipped

ID = b"0123456789abcdef"

# Makes Pango unfindable for the dynamic loader of one process, as on a machine without it.
WITHOUT_PANGO = """
import cffi
find = cffi.FFI.dlopen
def dlopen(self, name, flags=0):
    if name and "pango" in name:
        raise OSError(f"cannot load library {name!r}")
    return find(self, name, flags)
cffi.FFI.dlopen = dlopen
from recorder.errors import EngineMissing
from recorder.report.page import weasy
try:
    weasy.pdf("<p>x</p>", {}, b"0" * 16)
except EngineMissing as error:
    print("MISSING", error.exit_code, error)
"""


@pytest.fixture
def server() -> Iterator[tuple[str, list[str]]]:
    """A web server of this test, and the paths that were asked of it."""
    asked: list[str] = []

    class Handler(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            self.send_error(404)

        def log_message(self, format: str, *args: object) -> None:
            return

    with http.server.HTTPServer(("127.0.0.1", 0), Handler) as running:
        thread = threading.Thread(target=running.serve_forever, daemon=True)
        thread.start()
        yield f"http://127.0.0.1:{running.server_port}", asked
        running.shutdown()


def test_nothing_is_fetched_from_network_or_disk(
    server: tuple[str, list[str]], tmp_path: Path
) -> None:
    address, asked = server
    secret = tmp_path / "secret.css"
    secret.write_text("p::after { content: 'SECRET' }")
    pieces = "".join(
        f"<link rel=stylesheet href='{url}'><img src='{url}'><object data='{url}'></object>"
        f"<style>@import url('{url}'); p {{ background: url('{url}') }}"
        f"@font-face {{ font-family: x; src: url('{url}') }}</style>"
        f"<svg><image href='{url}'/></svg>"
        for url in (f"{address}/a.css", secret.as_uri(), "ftp://127.0.0.1/x", "seamnote:unknown")
    )
    pdf = weasy.pdf(f"<link rel=stylesheet href='{secret}'><p>{pieces}hello", {}, ID)
    (tmp_path / "page.pdf").write_bytes(pdf)
    text = subprocess.run(
        ["pdftotext", tmp_path / "page.pdf", "-"], capture_output=True, text=True, check=True
    ).stdout
    assert asked == []
    assert "hello" in text
    assert "SECRET" not in text


def test_what_is_passed_is_fetched() -> None:
    style = {"seamnote:a.css": b"@page { size: 100mm 50mm }"}
    html = "<link rel=stylesheet href='seamnote:a.css'><p>x</p>"
    assert width_mm(weasy.pdf(html, style, ID)) == pytest.approx(100, abs=0.1)
    assert width_mm(weasy.pdf(html, {}, ID)) == pytest.approx(210, abs=0.1)


def width_mm(pdf: bytes) -> float:
    return float(pypdf.PdfReader(io.BytesIO(pdf)).pages[0].mediabox.width) / 72 * 25.4


def test_the_same_page_has_the_same_bytes() -> None:
    assert weasy.pdf("<p>x</p>", {}, ID) == weasy.pdf("<p>x</p>", {}, ID)


@pytest.mark.parametrize("fault", [AssertionError(), IndexError("list index out of range")])
def test_a_fault_inside_the_engine_is_one_line(
    monkeypatch: pytest.MonkeyPatch, fault: Exception
) -> None:
    import weasyprint

    def broken(*args: object, **kwargs: object) -> bytes:
        raise fault

    monkeypatch.setattr(weasyprint.HTML, "write_pdf", broken)
    with pytest.raises(PageFailed, match=type(fault).__name__) as caught:
        weasy.pdf("<p>x</p>", {}, ID)
    assert caught.value.exit_code == 3
    assert "the job is kept" in str(caught.value)


def test_no_page_is_laid_out_by_what_breaks_over_pages() -> None:
    """WeasyPrint 70 fails on grids, and cuts flex boxes, that go over a page."""
    for path in shipped("report_templates").glob("*.[hc]*"):
        assert not re.search(r"display\s*:\s*(inline-)?(grid|flex)", path.read_text("utf-8")), path


def test_a_machine_without_pango_is_told_what_to_install() -> None:
    done = subprocess.run(
        [sys.executable, "-c", WITHOUT_PANGO], capture_output=True, text=True, check=True
    )
    (line,) = done.stdout.splitlines()
    assert line.startswith("MISSING 3 WeasyPrint with Pango is not usable")
    assert line.endswith(weasy.INSTALL)
    assert done.stderr == ""


def test_a_cut_off_picture_stays_an_error_in_the_whole_process(tmp_path: Path) -> None:
    weasy.pdf("<p>x</p>", {}, ID)
    path = tmp_path / "cut.jpg"
    Image.effect_noise((200, 200), 80).save(path)
    path.write_bytes(path.read_bytes()[:4000])
    with Image.open(path) as image, pytest.raises(OSError, match="truncated"):
        image.load()


def test_the_engine_tells_its_version() -> None:
    assert weasy.version()[0].isdigit()
