"""Pictures from a page: what is refused, by whom, and that a hostile one costs only itself."""

import io
import os
import resource
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image

from recorder.errors import (
    FileEmpty,
    FileMissing,
    FileTooLarge,
    InputRefused,
    NotADrawing,
    NotAPicture,
    PictureTooHard,
)
from recorder.flows.looking import limits, looking
from recorder.flows.looking.messages import Message, receive, send
from recorder.flows.looking.seat import Ended, Seat, Taken
from recorder.photo.image.conditions import Conditions
from tests.flows.looking import hostile
from tests.report.signing.drawings import as_bytes, scribble

PHOTO = Path(__file__).parents[3] / "demo_media" / "job" / "photo_3_accepted.jpg"
ASIDE = {"do": "preview", "photo_px": 0}


@pytest.fixture
def seat() -> Iterator[Seat]:
    made = Seat(memory_bytes=300_000_000, cpu_s=20, wall_s=60, patience_s=60)
    yield made
    made.close()


def small() -> bytes:
    return hostile.jpeg(hostile.noise(64, 48))


def frame(longest_px: int = 960) -> bytes:
    with Image.open(PHOTO) as photo:
        photo.thumbnail((longest_px, longest_px), Image.Resampling.BOX)
        return hostile.jpeg(photo, quality=80)


def measured(path: Path, folder: Path, name: str = "shot.jpg"):
    return looking.measure_aside(
        path, Conditions(), folder / "overlay.jpg", folder / "gap.png", name
    )


def pid_of(seat: Seat) -> int:
    assert seat._process is not None
    return seat._process.pid


def used_s(pid: int) -> float:
    """Of the processor, by the process (proc(5): utime and stime)."""
    ticks = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[11:13]
    return sum(map(int, ticks)) / os.sysconf("SC_CLK_TCK")


def test_a_photo_is_measured_aside_as_it_is_in_the_program(tmp_path: Path) -> None:
    from recorder.photo.measure import measure

    assert looking.admit(PHOTO, "shot.jpg") == (2200, 2800)
    aside = measured(PHOTO, tmp_path)
    assert (tmp_path / "overlay.jpg").is_file()
    assert (tmp_path / "gap.png").is_file()
    within = measure(PHOTO, Conditions(), tmp_path / "o" / "overlay.jpg", "shot.jpg",
                     plot=tmp_path / "o" / "gap.png")  # fmt: skip
    assert aside == within


HOSTILE = {
    "145 megapixels": (hostile.png(12_000, 12_100, bits=1), FileTooLarge, "megapixels"),
    "more pixels than any decoder takes": (
        hostile.png(60_000, 60_000, bits=1, whole=False), FileTooLarge, "pixels",
    ),
    "a heic of 400 megapixels": (hostile.huge_heic(20_000, 20_000), InputRefused, "shot"),
    "a comment of 200 MB": (hostile.text_bomb(), NotAPicture, "whole picture"),
    "cut off": (small()[: len(small()) // 2], NotAPicture, "whole picture"),
    "a png cut off": (as_bytes(hostile.noise(99, 99))[:9_000], NotAPicture, "whole picture"),
    "a page with a jpg's name": (b"<html><script>", NotAPicture, "does not begin as"),
    "a gif": (as_bytes(scribble(), "GIF"), NotAPicture, "does not begin as"),
    "a tiff": (as_bytes(scribble(), "TIFF"), NotAPicture, "does not begin as"),
    "first bytes alone": (b"\xff\xd8\xff\xe0", NotAPicture, "whole picture"),
    "first bytes of a heic alone": (b"\0\0\0\x18ftypheic", NotAPicture, "whole picture"),
    "nothing": (b"", FileEmpty, "is empty"),
}  # fmt: skip


@pytest.mark.parametrize("which", HOSTILE)
def test_a_hostile_picture_is_refused_in_one_line(which: str, tmp_path: Path) -> None:
    content, kind, words = HOSTILE[which]
    path = tmp_path / "stored.jpg"
    path.write_bytes(content)
    for attempt in (
        lambda: measured(path, tmp_path),
        lambda: looking.redraw(path, "shot.jpg", 500),
    ):
        with pytest.raises(kind, match=words) as refused:
            attempt()
        assert "shot.jpg" in str(refused.value)
        assert str(tmp_path) not in str(refused.value), "no path of the disk is told"
        assert "\n" not in str(refused.value)
    assert not looking.preview(content).ready
    assert [each.name for each in tmp_path.iterdir()] == ["stored.jpg"]


@pytest.mark.parametrize("which", ["145 megapixels", "a page with a jpg's name", "nothing"])
def test_an_upload_is_refused_by_its_header(which: str, tmp_path: Path) -> None:
    content, kind, _ = HOSTILE[which]
    path = tmp_path / "upload"
    path.write_bytes(content)
    with pytest.raises(kind, match=r"shot\.jpg"):
        looking.admit(path, "shot.jpg")


def test_no_pipe_and_no_folder_is_opened(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    for path in (tmp_path / "pipe", tmp_path):
        with pytest.raises(InputRefused):
            looking.admit(path, "shot.jpg")
    with pytest.raises(FileMissing):
        looking.admit(tmp_path / "nowhere", "shot.jpg")


def test_what_a_page_is_shown_is_pixels_alone(tmp_path: Path) -> None:
    """No place, no thumbnail, nothing behind the picture, and upright."""
    exif = Image.Exif()
    exif[0x0112] = 6
    exif[0x0110] = "Quillback Q7"
    exif.get_ifd(0x8825)[2] = (52.0, 30.0, 0.0)
    image = Image.new("RGB", (60, 40), (0, 0, 250))
    path = tmp_path / "there.jpg"
    image.save(path, exif=exif, comment=b"behind the oven")
    path.write_bytes(path.read_bytes() + b"PK\x03\x04 and a zip file behind it")
    shown = looking.redraw(path, "shot.jpg", 30)
    for secret in (b"Exif", b"Quillback", b"behind", b"PK\x03\x04"):
        assert secret not in shown
    with Image.open(io.BytesIO(shown)) as picture:
        assert picture.size == (20, 30)
        assert not picture.getexif()
        assert "comment" not in picture.info


def test_a_drawing_comes_back_as_grey_lines() -> None:
    with Image.open(io.BytesIO(looking.drawing(as_bytes(scribble())))) as drawn:
        assert (drawn.format, drawn.mode) == ("PNG", "L")
    black = as_bytes(Image.new("L", (90, 30)))
    for content in (b"", b"<svg/>", black, bytes(11_000_000), hostile.png(12_000, 12_100, 1)):
        with pytest.raises(NotADrawing):
            looking.drawing(content)


def test_memory_beyond_the_limit_costs_one_picture(seat: Seat, tmp_path: Path) -> None:
    path = tmp_path / "wide.png"
    path.write_bytes(hostile.png(7_900, 8_000, colour=6))  # 63 megapixels: 253 MB, and more to turn
    try:
        told = seat.ask(Message({"do": "redraw", "path": str(path), "longest_px": 500}))
    except Ended:
        pass
    else:
        assert told.head["error"] in ("MemoryError", "NotAPicture")
    assert seat.ask(Message(ASIDE, small())).head["hint"]


def test_a_looker_has_its_limits_and_no_passphrase(
    seat: Seat, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SEAMNOTE_PASSPHRASE", "plum cake")
    seat.ask(Message(ASIDE, small()))
    here = Path(f"/proc/{pid_of(seat)}")
    assert b"plum cake" not in (here / "environ").read_bytes()
    soft = {
        line[:25].strip(): line[26:].split()[0]
        for line in (here / "limits").read_text().splitlines()
    }
    assert soft["Max core file size"] == "0"
    assert int(soft["Max open files"]) <= 64
    assert int(soft["Max cpu time"]) <= 60
    assert int(soft["Max address space"]) < 1_500_000_000
    assert int(soft["Max file size"]) <= 64_000_000


def test_time_of_the_processor_is_limited(seat: Seat) -> None:
    picture = frame()
    while seat.ask(Message(ASIDE, picture)) and used_s(pid_of(seat)) < 1.1:
        pass  # a limit is in whole seconds, and the least is one
    first = pid_of(seat)
    seat._cpu_s = -1
    with pytest.raises(Ended) as ended:
        seat.ask(Message(ASIDE, picture))
    assert not ended.value.late
    seat._cpu_s = 20
    assert seat.ask(Message(ASIDE, small())).head["hint"]
    assert pid_of(seat) != first


@pytest.mark.parametrize("size", [10, 4_000_000])  # the second is more than a pipe holds
def test_one_that_hangs_is_ended_and_made_anew(seat: Seat, size: int) -> None:
    seat.ask(Message(ASIDE, small()))
    first = pid_of(seat)
    os.kill(first, signal.SIGSTOP)
    seat.wall_s = 0.3
    with pytest.raises(Ended) as ended:
        seat.ask(Message(ASIDE, bytes(size)))
    assert ended.value.late
    seat.wall_s = 60
    assert seat.ask(Message(ASIDE, small())).head["hint"]
    assert pid_of(seat) != first


def test_one_that_dies_is_made_anew(seat: Seat) -> None:
    for _ in range(2):
        assert seat.ask(Message(ASIDE, small())).head["hint"]
        os.kill(pid_of(seat), signal.SIGKILL)
        os.waitid(os.P_PID, pid_of(seat), os.WEXITED | os.WNOWAIT)


def test_a_caller_does_not_wait_for_ever(seat: Seat) -> None:
    seat._patience_s = 0.05
    with seat._turn, pytest.raises(Taken):
        seat.ask(Message(ASIDE, small()))


def test_a_frame_is_answered_while_a_photo_is_measured(tmp_path: Path) -> None:
    done: list[str] = []

    def shoot() -> None:
        measured(PHOTO, tmp_path)
        done.append("photo")

    looking.warm()
    looking.preview(frame())
    photo = threading.Thread(target=shoot)
    photo.start()
    assert looking.preview(frame(), 2800).ready
    done.append("frame")
    photo.join()
    assert done == ["frame", "photo"]


PARENT = """
import threading, time
from pathlib import Path
from recorder.flows.looking import looking
from recorder.photo.image.conditions import Conditions
looking.preview(b"")
looking.warm()
threading.Thread(target=looking.measure_aside, args=(
    Path({photo!r}), Conditions(), Path({folder!r}) / "o.jpg", Path({folder!r}) / "p.png", "x",
)).start()
print(looking._PHOTOS._process.pid, looking._FRAMES._process.pid, flush=True)
time.sleep(600)
"""


def test_no_looker_outlives_the_program_that_started_it(tmp_path: Path) -> None:
    script = PARENT.format(photo=str(PHOTO), folder=str(tmp_path))
    with subprocess.Popen([sys.executable, "-c", script], stdout=subprocess.PIPE) as parent:
        assert parent.stdout is not None
        pids = [int(pid) for pid in parent.stdout.readline().split()]
        parent.kill()
    for _ in range(600):
        if not any(_runs(pid) for pid in pids):
            return
        time.sleep(0.05)
    pytest.fail("a looker was left behind")


def _runs(pid: int) -> bool:
    try:
        return "looker" in Path(f"/proc/{pid}/cmdline").read_text()
    except OSError:
        return False


def test_a_system_without_such_limits_is_not_asked_for_them(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(limits, "resource", None)
    before = resource.getrlimit(resource.RLIMIT_AS)
    limits.settle(1)
    limits.allow(1)
    assert resource.getrlimit(resource.RLIMIT_AS) == before


@pytest.mark.parametrize("content", [
    b"", b"\0", b"\xff\xff\xff\xff\0\0\0\0", b"\x02\0\0\0\0\0\0\0[]", b"\x04\0\0\0\0\0\0\0nope",
    b"\x02\0\0\0\x05\0\0\0{}abc",
])  # fmt: skip
def test_an_answer_that_is_none_is_no_answer(content: bytes) -> None:
    with pytest.raises((EOFError, ValueError)):
        receive(io.BytesIO(content))


def test_a_message_arrives_as_it_was_sent() -> None:
    pipe = io.BytesIO()
    send(Message({"do": "preview"}, b"\0\1"), pipe)
    pipe.seek(0)
    assert receive(pipe) == Message({"do": "preview"}, b"\0\1")


@pytest.mark.parametrize("head", [
    {"error": "SystemExit"}, {"error": "FileTooLarge", "data": {}}, {"error": "x", "data": [1]},
    {"error": "BadValue", "data": {"value": "x", "field": "x", "hint": "x"}}, {}, {"seam": 1},
])  # fmt: skip
def test_a_looker_that_lies_makes_nothing_but_a_refusal(
    head: dict, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(looking._PHOTOS, "ask", lambda *_: Message(head))
    with pytest.raises(PictureTooHard, match=r"shot\.jpg"):
        measured(PHOTO, tmp_path)
