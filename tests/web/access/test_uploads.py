"""Files that a device sends: on the disk under our names, within limits, and gone when refused."""

from __future__ import annotations

import os
import stat
import struct
import zlib
from collections.abc import Iterator

import pytest
from starlette.requests import Request
from starlette.testclient import TestClient

from recorder.archive.disk.home import Home
from recorder.errors import OutputUnwritable
from recorder.flows.looking import looking
from recorder.web.access import uploads
from recorder.web.access.limits import largest
from recorder.web.house import House


def png(width: int, height: int) -> bytes:
    """A whole picture of one grey, of a bit for each pixel: small, whatever its size."""

    def chunk(kind: bytes, held: bytes) -> bytes:
        proof = zlib.crc32(kind + held)
        return struct.pack(">I", len(held)) + kind + held + struct.pack(">I", proof)

    head = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    packer = zlib.compressobj(9)
    row = b"\0" * (1 + (width + 7) // 8)
    rows = b"".join(packer.compress(row) for _ in range(height)) + packer.flush()
    magic = b"\x89PNG\r\n\x1a\n"
    return magic + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


@pytest.fixture(scope="module", autouse=True)
def looked() -> Iterator[None]:
    yield
    looking.close()


@pytest.fixture
def job(house: House) -> str:
    return house.sessions.begin().job_id


def left(home: Home) -> list[str]:
    """Names of what was kept of pictures, in the job and on the way to it."""
    places = [home.root / "access" / "incoming", *home.jobs.glob("*/media")]
    return [each.name for place in places for each in place.glob("*") if place.is_dir()]


def test_a_picture_of_145_megapixels_is_refused_unopened(
    device: TestClient, home: Home, job: str
) -> None:
    bomb = png(12_042, 12_042)
    assert len(bomb) < 100_000
    answer = device.post(f"/live/{job}/photo", content=bomb, headers={"accept": "*/*"})
    assert answer.status_code in {413, 422}
    assert set(answer.json()) == {"error", "remedy"}
    assert left(home) == []


@pytest.mark.parametrize(
    "content",
    [
        b"", b"GIF89a" + b"\0" * 100, b"%PDF-1.7\n" + b"x" * 100, b"MZ" + b"\0" * 500,
        b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>", b"<html>\xff\xd8\xff</html>",
        b"PK\x03\x04" + b"\0" * 60, b"\xff\xd8\xff\xe0" + b"\0" * 100,
        b"\0\0\0\x18ftypheic" + b"\0" * 100,
    ],
    ids=["nothing", "gif", "pdf", "program", "svg", "html", "zip", "jpeg?", "heif?"],
)  # fmt: skip
def test_what_is_no_picture_is_refused(
    device: TestClient, home: Home, job: str, content: bytes
) -> None:
    kind = {"content-type": "image/jpeg", "accept": "*/*"}  # of which nothing is believed
    answer = device.post(f"/live/{job}/photo", content=content, headers=kind)
    assert answer.status_code in {413, 422}
    assert set(answer.json()) == {"error", "remedy"}
    assert str(home.root) not in answer.text
    assert left(home) == []


def test_a_body_beyond_the_limit_leaves_nothing(device: TestClient, home: Home, job: str) -> None:
    path = f"/live/{job}/photo"
    pieces = (b"\xff\xd8\xff" + b"x" * 1_000_000 for _ in range(largest(path) // 1_000_000 + 2))
    assert device.post(path, content=pieces).status_code == 413
    assert left(home) == []


class Sent:
    """A request whose body comes in these pieces."""

    def __init__(self, *pieces: bytes) -> None:
        self.pieces = list(pieces)

    @property
    def request(self) -> Request:
        async def receive() -> dict[str, object]:
            piece = self.pieces.pop(0)
            return {"type": "http.request", "body": piece, "more_body": bool(self.pieces)}

        return Request({"type": "http", "headers": [], "method": "POST"}, receive)


@pytest.mark.anyio
async def test_an_upload_is_for_its_owner_alone_and_gone_afterwards(home: Home) -> None:
    async with uploads.received(Sent(b"a" * 10, b"b" * 2_000_000, b"c").request, home) as path:
        assert path.read_bytes() == b"a" * 10 + b"b" * 2_000_000 + b"c"
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
        assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700
        assert path.is_relative_to(home.root / "access")
    assert left(home) == []


@pytest.mark.anyio
async def test_a_failure_meanwhile_leaves_nothing(home: Home) -> None:
    with pytest.raises(ZeroDivisionError):
        async with uploads.received(Sent(b"a").request, home):
            raise ZeroDivisionError
    assert left(home) == []


@pytest.mark.anyio
async def test_a_disk_that_takes_nothing_is_told(home: Home) -> None:
    (home.root / "access").write_text("a file where the folder should be")
    with pytest.raises(OutputUnwritable):
        async with uploads.received(Sent(b"a").request, home):
            pytest.fail("nothing was kept")


def test_what_a_killed_server_left_is_swept(home: Home) -> None:
    folder = home.root / "access" / "incoming"
    folder.mkdir(parents=True)
    for name in ("left", "coming"):
        (folder / name).write_bytes(b"x")
    os.utime(folder / "left", (0, 0))
    uploads.sweep(home)
    assert [each.name for each in folder.iterdir()] == ["coming"]


@pytest.fixture
def anyio_backend() -> str:
    return "asyncio"
