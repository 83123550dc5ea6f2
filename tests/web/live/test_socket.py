"""The socket and its stand-in: what it takes, what it answers, and what it refuses."""

from __future__ import annotations

import asyncio
import json
import os
import struct
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from starlette.testclient import TestClient, WebSocketTestSession
from starlette.websockets import WebSocketDisconnect

from recorder.archive.disk import atomic
from recorder.errors import OutputUnwritable
from recorder.flows.live.session import LiveSession
from recorder.live.chunks import Chunk, write
from recorder.web.house import House
from recorder.web.live.hub import Hub
from recorder.web.live.taking import Taker
from tests.web.conftest import PLACE
from tests.web.live.loop import run

KEY, STRETCH = "0" * 32, "ab" * 16
SOUND = os.urandom(960)
OPEN = {"do": "stretch", "name": STRETCH, "rate_hz": 48_000, "began_ms": 1e12, "after": "first"}


def chunk(number: int) -> bytes:
    return write(Chunk(STRETCH, number, 480 * number, SOUND))


@pytest.fixture
def job(house: House) -> str:
    return house.sessions.begin().job_id


def linked(device: TestClient, job: str, key: str = KEY) -> WebSocketTestSession:
    address = f"ws://{PLACE.partition('//')[2]}/live/{job}/socket?page={key}"
    return device.websocket_connect(address)


def heard(socket: WebSocketTestSession, do: str) -> dict[str, object]:
    while True:
        message = socket.receive_json()
        if message["do"] == do:
            return dict(message)


def body(*frames: bytes | str) -> bytes:
    encoded = [each.encode() if isinstance(each, str) else each for each in frames]
    return b"".join(struct.pack("<I", len(each)) + each for each in encoded)


async def shown_of(session: LiveSession, root: str) -> str:
    hub = Hub(session, root)
    try:
        return str(await hub.parts())
    finally:
        hub.close()


def pcm(house: House, job: str) -> bytes:
    return (house.home.jobs / job / "live" / "recording_1.pcm").read_bytes()


def test_what_is_acknowledged_is_on_the_disk_once_and_in_order(
    device: TestClient, house: House, job: str
) -> None:
    with linked(device, job) as socket:
        socket.send_json(OPEN)
        assert heard(socket, "ack")["next"] == 0
        for number in (0, 1, 1, 0, 2):
            socket.send_bytes(chunk(number))
        while heard(socket, "ack")["next"] != 3:
            pass
        assert pcm(house, job) == 3 * SOUND


def test_sound_waits_for_nothing_else_that_pages_ask_for(house: House, job: str) -> None:
    """Hints, speech and pages share threads, and all of them may be at work."""
    busy = threading.Event()

    async def waiting() -> None:
        loop = asyncio.get_running_loop()
        loop.set_default_executor(ThreadPoolExecutor(1))
        at_work = loop.run_in_executor(None, busy.wait)
        hub = Hub(house.sessions.open(job))
        page = hub.enter(KEY, "", by_socket=True)
        try:
            taking = Taker(hub, page).take([json.dumps(OPEN), chunk(0)])
            await asyncio.wait_for(taking, timeout=60)
            assert page.wanted == {STRETCH: 1}
        finally:
            busy.set()
            await at_work
            hub.close()

    run(waiting())
    assert pcm(house, job) == SOUND


def test_a_disk_that_is_full_is_told_and_not_where_it_lies(
    device: TestClient, house: House, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(path: Path, *_: object) -> None:
        raise OutputUnwritable(path=path, detail="No space left on device")

    with linked(device, job) as socket:
        socket.send_json(OPEN)
        assert heard(socket, "ack")["next"] == 0
        monkeypatch.setattr(atomic, "write", full)
        socket.send_json({**OPEN, "name": "cd" * 16})
        told = str(heard(socket, "trouble")["text"])
        act = device.post(f"/live/{job}/act", json={"do": "ask", "ask": "note", "text": "x"})
    monkeypatch.undo()
    session = house.sessions.open(job)
    root = str(house.home.root)
    monkeypatch.setattr(session, "_trouble", f"{root}/jobs/x cannot be written")
    shown = run(shown_of(session, root))
    assert "obs/x cannot be written" in shown
    for text in (told, act.text):
        assert "No space left on device" in text
        assert "the machine that runs Seamnote" in text
    for text in (told, act.text, shown):
        assert root not in text


def test_a_chunk_before_its_turn_or_damaged_is_wanted_again(
    device: TestClient, house: House, job: str
) -> None:
    with linked(device, job) as socket:
        socket.send_json(OPEN)
        heard(socket, "ack")
        socket.send_bytes(chunk(0))
        heard(socket, "ack")
        socket.send_bytes(chunk(2))
        assert heard(socket, "again")["next"] == 1
        socket.send_bytes(chunk(1)[:-1] + b"\0")
        assert heard(socket, "again")["next"] == 1
        assert pcm(house, job) == SOUND


def test_a_chunk_of_a_stretch_that_was_not_opened_is_not_kept(device: TestClient, job: str) -> None:
    with linked(device, job) as socket:
        socket.send_bytes(chunk(0))
        assert heard(socket, "again")["next"] == 0


@pytest.mark.parametrize(
    "send",
    [
        lambda socket: socket.send_text("not json"),
        lambda socket: socket.send_json({"do": "everything"}),
        lambda socket: socket.send_json(OPEN | {"name": "../../etc"}),
        lambda socket: socket.send_json(OPEN | {"rate_hz": 1}),
        lambda socket: socket.send_json(OPEN | {"more": 1}),
        lambda socket: socket.send_bytes(b"sea2" + b"\0" * 100),
    ],
    ids=["no json", "unknown", "path as name", "rate", "more", "no chunk"],
)
def test_what_no_page_sends_ends_the_socket(
    device: TestClient, job: str, send: Callable[[WebSocketTestSession], None]
) -> None:
    with linked(device, job) as socket:
        heard(socket, "ready")
        send(socket)
        with pytest.raises(WebSocketDisconnect) as ended:
            heard(socket, "never")
        assert ended.value.code == 1008


def test_a_page_without_a_name_of_its_own_gets_no_socket(device: TestClient, job: str) -> None:
    for key in ("", "x" * 32, "0" * 31, "../" * 10):
        with pytest.raises(WebSocketDisconnect), linked(device, job, key):
            pass


def test_frames_by_post_are_answered_as_on_a_socket(
    device: TestClient, house: House, job: str
) -> None:
    opening = '{"do": "stretch", "name": "%s", "rate_hz": 48000, "began_ms": 1, "after": "first"}'
    address = f"/live/{job}/sound?page={KEY}"
    first = device.post(address + "&anew", content=body(opening % STRETCH, chunk(0), chunk(1)))
    told = first.json()
    assert [each["do"] for each in told][:1] == ["ready"]
    assert [each["next"] for each in told if each["do"] == "ack"] == [0, 2]
    assert any(each["do"] == "show" and "readings" in each["parts"] for each in told)
    assert device.post(address, content=body(chunk(2))).json()[0]["next"] == 3
    assert pcm(house, job) == 3 * SOUND


@pytest.mark.parametrize(
    "content",
    [b"\1", struct.pack("<I", 9) + b"short", struct.pack("<I", 2**31), body("{}")],
    ids=["cut length", "cut frame", "huge length", "no message"],
)
def test_a_body_that_is_no_frames_is_refused(device: TestClient, job: str, content: bytes) -> None:
    answer = device.post(f"/live/{job}/sound?page={KEY}", content=content)
    assert answer.status_code == 400


def test_a_second_device_is_told_and_may_take_over(device: TestClient, job: str) -> None:
    other = "f" * 32
    with linked(device, job) as first, linked(device, job, other) as second:
        first.send_json({"do": "microphone", "take": False})
        assert heard(first, "microphone")["yours"] is True
        second.send_json({"do": "microphone", "take": False})
        assert heard(second, "microphone")["yours"] is False
        second.send_json({"do": "microphone", "take": True})
        assert heard(second, "microphone")["yours"] is True
        assert heard(first, "microphone")["yours"] is False


def test_a_touch_shows_on_every_page(device: TestClient, job: str) -> None:
    with linked(device, job) as socket:
        heard(socket, "show")
        act = {"do": "enter", "field": "pressure", "text": "2 bar"}
        assert device.post(f"/live/{job}/act", json=act).status_code == 200
        ends_s = time.monotonic() + 30
        while "2 bar" not in str(heard(socket, "show")):
            assert time.monotonic() < ends_s


def test_an_act_that_no_page_sends_changes_nothing(
    device: TestClient, house: House, job: str
) -> None:
    record = house.home.jobs / job / "job.json"
    before = record.read_bytes()
    for act in ({}, {"do": "confirm", "place": -1}, {"do": "ask", "ask": "explode"}, [1]):
        assert device.post(f"/live/{job}/act", json=act).status_code == 400
    assert device.post(f"/live/{job}/act", json={"do": "confirm", "place": 99}).status_code == 422
    assert record.read_bytes() == before


def test_what_is_no_picture_is_not_kept(device: TestClient, house: House, job: str) -> None:
    media = house.home.jobs / job / "media"

    def kept(folder: Path) -> list[str]:
        return sorted(each.name for each in folder.glob("*"))

    before = kept(media)
    answer = device.post(f"/live/{job}/photo", content=b"%PDF-1.7 a belt")
    assert answer.status_code == 422
    assert kept(media) == before
    assert kept(house.home.root / "access" / "incoming") == []
