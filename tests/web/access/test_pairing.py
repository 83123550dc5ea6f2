"""Devices: invited once, known by a secret of which only a digest is kept, and revoked."""

from __future__ import annotations

import stat
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from recorder.archive.disk.home import Home
from recorder.archive.sharing.backup import home_files
from recorder.errors import DevicesDamaged, InviteRefused, TooManyDevices, UnknownDevice
from recorder.web.access import access as accesses
from recorder.web.access import secret
from recorder.web.access.access import IDLE, INVITED_FOR, LONGEST, Access
from recorder.web.access.authority import server_certificate
from recorder.web.access.browsers import browser_of
from recorder.web.access.devices import MOST_DEVICES
from recorder.web.access.guesses import MOST, WITHIN_S, Guesses
from recorder.web.access.places import Places
from recorder.web.app import Application
from recorder.web.house import House
from tests.web.conftest import PORT, paired_client, unpaired_client

BEGIN = datetime(2026, 11, 26, 9, 0, tzinfo=UTC)


class Clock:
    def __init__(self) -> None:
        self.now = BEGIN

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def access(home: Home, told: list[str], clock: Clock) -> Access:
    return Access(home, Places(PORT), told.append, clock)


def request_of(access: Access, held: str) -> dict[str, object]:
    """The head of a request that bears this secret in its cookie."""
    cookie = f"other=1; {access.cookie}={held}".encode()
    return {"type": "http", "headers": [(b"host", b"localhost:8750"), (b"cookie", cookie)]}


def test_an_invitation_is_good_for_one_device(access: Access) -> None:
    token = access.invite()
    device, own = access.pair(token, "Tablet", "Chrome on Android")
    assert access.device_of(request_of(access, own)) == device
    with pytest.raises(InviteRefused):
        access.pair(token, "Phone of a neighbour", "Firefox on Android")
    assert [each.name for each in access.devices()] == ["Tablet"]


def test_an_invitation_ends_after_five_minutes(access: Access, clock: Clock) -> None:
    assert timedelta(minutes=5) == INVITED_FOR
    early, late = access.invite(), access.invite()
    clock.now += INVITED_FOR - timedelta(seconds=1)
    access.pair(early, "Tablet", "")
    clock.now += timedelta(seconds=1)
    with pytest.raises(InviteRefused):
        access.pair(late, "Phone", "")


def test_a_clock_that_is_set_back_makes_no_invitation_last(access: Access, clock: Clock) -> None:
    first, second = access.invite(), access.invite()
    clock.now -= timedelta(seconds=40)  # as a time server corrects it
    access.pair(first, "Tablet", "")
    clock.now -= timedelta(hours=3)
    with pytest.raises(InviteRefused):
        access.pair(second, "Phone", "")


@pytest.mark.parametrize("token", ["", "x" * 32, "a" * 10_000, "\0", "ü" * 32])
def test_no_other_code_pairs(access: Access, token: str) -> None:
    access.invite()
    with pytest.raises(InviteRefused):
        access.pair(token, "Tablet", "")
    assert access.devices() == ()


def test_a_code_may_be_typed_in_groups_and_capitals(access: Access) -> None:
    token = access.invite()
    typed = " ".join(token[at : at + 4] for at in range(0, 32, 4)).upper()
    assert access.pair(typed, "Tablet", "")


def test_secrets_are_long_and_each_is_another() -> None:
    made = {secret.new() for _ in range(1000)}
    assert len(made) == 1000
    assert all(
        len(each) == 32 and set(each) <= set("abcdefghijklmnopqrstuvwxyz234567") for each in made
    )
    assert 32 * 5 >= 128  # bits


def test_the_disk_holds_no_secret_and_is_for_its_owner_alone(access: Access, home: Home) -> None:
    waiting = access.invite()
    _, own = access.pair(access.invite(), "Tablet", "")
    folder = home.root / "access"
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    files = [each for each in folder.rglob("*") if each.is_file()]
    assert files
    for each in files:
        assert stat.S_IMODE(each.stat().st_mode) == 0o600
        text = each.read_text()
        assert waiting not in text
        assert own not in text


def test_no_backup_takes_pairing_or_the_authority_along(access: Access, home: Home) -> None:
    access.pair(access.invite(), "Tablet", "")
    server_certificate(home.root, ("10.0.0.1",))
    assert {each.name for each in (home.root / "access").iterdir()} == {
        "devices.json", "authority.pem", "server.pem",
    }  # fmt: skip
    found = home_files(home, (), keys=True)
    assert not any(each.is_relative_to(home.root / "access") for each in found)


def test_a_device_is_forgotten_when_it_was_not_used_and_at_the_latest(
    access: Access, clock: Clock
) -> None:
    _, own = access.pair(access.invite(), "Tablet", "")
    asked = request_of(access, own)
    for _ in range(LONGEST // (IDLE - timedelta(days=1))):
        clock.now += IDLE - timedelta(days=1)
        assert access.device_of(asked)
    clock.now = BEGIN + LONGEST
    assert access.device_of(asked)
    clock.now += timedelta(seconds=1)
    assert access.device_of(asked) is None
    _, second = access.pair(access.invite(), "Phone", "")
    clock.now += IDLE + timedelta(seconds=1)
    assert access.device_of(request_of(access, second)) is None
    assert access.devices() == ()


def test_a_device_that_pairs_itself_anew_is_replaced(access: Access) -> None:
    first, own = access.pair(access.invite(), "Tablet", "")
    second, other = access.pair(access.invite(), "Tablet", "", held=own)
    assert access.device_of(request_of(access, own)) is None
    assert access.device_of(request_of(access, other)) == second
    assert second.number > first.number


def test_a_number_is_never_given_twice(access: Access) -> None:
    first, _ = access.pair(access.invite(), "Tablet", "")
    access.revoke(first.number)
    second, _ = access.pair(access.invite(), "Tablet", "")
    assert second.number == first.number + 1


def test_a_revoked_device_is_out_also_for_another_process(
    access: Access, home: Home, told: list[str]
) -> None:
    device, own = access.pair(access.invite(), "Tablet", "")
    assert access.still(device)
    Access(home, Places(PORT)).revoke(device.number)
    assert access.device_of(request_of(access, own)) is None
    assert not access.still(device)
    with pytest.raises(UnknownDevice):
        access.revoke(device.number)


def test_a_pairing_outlives_the_server_that_made_it(access: Access, home: Home) -> None:
    device, own = access.pair(access.invite(), "Tablet", "")
    token = access.invite()
    again = Access(home, Places(PORT), now=lambda: BEGIN)
    assert again.device_of(request_of(again, own)) == device
    assert again.pair(token, "Phone", "")
    with pytest.raises(InviteRefused):
        access.pair(token, "Other", "")


def test_two_at_once_with_one_code_are_one_device(access: Access) -> None:
    token = access.invite()

    def attempt(name: str) -> bool:
        try:
            access.pair(token, name, "")
        except InviteRefused:
            return False
        return True

    with ThreadPoolExecutor(8) as pool:
        assert sum(pool.map(attempt, map(str, range(8)))) == 1
    assert len(access.devices()) == 1


def test_there_is_an_end_to_devices_and_invitations(
    access: Access, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(accesses, "MOST_DEVICES", 2)
    tokens = [access.invite() for _ in range(25)]
    assert len(access.store.book().invites) == 20
    access.pair(tokens[-1], "One", "")
    access.pair(tokens[-2], "Two", "")
    with pytest.raises(TooManyDevices):
        access.pair(tokens[-3], "Three", "")
    assert MOST_DEVICES == 50


def test_a_name_is_one_short_line_that_can_be_seen(access: Access) -> None:
    device, _ = access.pair(access.invite(), "  Van\n\u202etablet\0 " + "x" * 500, "")
    assert device.name.startswith("Van tablet xxx")
    assert len(device.name) <= 60
    nameless, _ = access.pair(access.invite(), "\n", "")
    assert nameless.name == "device"


def test_a_damaged_list_lets_nobody_in(access: Access, home: Home) -> None:
    device, own = access.pair(access.invite(), "Tablet", "")
    path = home.root / "access" / "devices.json"
    path.write_text(path.read_text()[:-20])
    with pytest.raises(DevicesDamaged):
        access.device_of(request_of(access, own))
    assert not access.still(device)


def test_a_full_disk_shuts_nobody_out(
    access: Access, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    from recorder.errors import OutputUnwritable

    device, own = access.pair(access.invite(), "Tablet", "")
    clock.now += timedelta(hours=2)

    def full(*_: object, **__: object) -> None:
        raise OutputUnwritable(path=Path("devices.json"), detail="no space left")

    monkeypatch.setattr(access.store, "change", full)
    assert access.device_of(request_of(access, own)) == device


@pytest.mark.parametrize(
    "cookie",
    ["", "=", ";;;", "a" * 5000, '__Host-seamnote-8750="', "__Host-seamnote-8750", "\x80\xff"],
)
def test_a_cookie_that_is_none_lets_nobody_in(access: Access, cookie: str) -> None:
    access.pair(access.invite(), "Tablet", "")
    scope = {"type": "http", "headers": [(b"cookie", cookie.encode("latin-1"))]}
    assert access.device_of(scope) is None


@pytest.mark.parametrize(
    "other",
    ['a={"k":1}', "no pair", "=", "é=1", 'a="open', "a b=c", '"=1', "x=1; Expires=Thu, 1 Jan 2032"],
)
def test_what_other_programs_of_the_machine_keep_in_cookies_shuts_nobody_out(
    access: Access, other: str
) -> None:
    """A cookie goes to all ports of a name, also one that holds JSON or is none by the standard."""
    device, own = access.pair(access.invite(), "Tablet", "")
    ours = f"{access.cookie}={own}"
    for cookie in (f"{other}; {ours}", f"{ours}; {other}", f"{other};{ours};{other}"):
        scope = {"type": "http", "headers": [(b"cookie", cookie.encode("latin-1"))]}
        assert access.device_of(scope) == device


def test_guesses_are_counted_by_address_and_the_count_ends() -> None:
    now_s = [0.0]
    guesses = Guesses(lambda: now_s[0])
    assert all(guesses.allowed("10.0.0.9") for _ in range(MOST))
    assert not guesses.allowed("10.0.0.9")
    assert guesses.allowed("10.0.0.8")
    for each in range(1000):
        guesses.allowed(f"fd00::{each:x}")
    assert len(guesses._tries) <= 256
    now_s[0] = WITHIN_S + 1
    assert guesses.allowed("10.0.0.9")


def test_pairing_by_the_page(
    app: Application, house: House, stranger: TestClient, told: list[str]
) -> None:
    token = house.access.invite()
    answer = stranger.post("/pair", data={"code": token, "name": "Van tablet"})
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    name, _, rest = answer.headers["set-cookie"].partition("=")
    own, *marks = rest.split("; ")
    assert name == "__Host-seamnote-8750"
    assert set(marks) == {"Path=/", "Max-Age=15552000", "Secure", "HttpOnly", "SameSite=Strict"}
    stranger.headers["cookie"] = f"{name}={own}"
    assert "Van tablet" in stranger.get("/devices").text
    second = unpaired_client(app).post("/pair", data={"code": token, "name": "Other"})
    assert second.status_code == 403
    assert "set-cookie" not in second.headers
    assert told == ["paired device 1", "refused a pairing code that is not valid"]
    assert token not in second.text + str(told)


def test_a_code_is_not_guessed_by_trying(app: Application, house: House) -> None:
    house.access.invite()
    guesser = unpaired_client(app, "192.168.0.66")
    answers = [guesser.post("/pair", data={"code": f"{n:032}", "name": "x"}) for n in range(15)]
    assert [each.status_code for each in answers] == [403] * 10 + [429] * 5
    assert answers[-1].headers["retry-after"] == "60"
    honest = unpaired_client(app, "192.168.0.7")
    answer = honest.post("/pair", data={"code": house.access.invite(), "name": "Tablet"})
    assert answer.status_code == 303


def test_one_more_device_is_invited_and_revoked_by_the_page(
    app: Application, house: House, device: TestClient
) -> None:
    page = device.post("/devices/invite").text
    token = page.partition("/pair#")[2][:32]
    other = unpaired_client(app)
    cookie = other.post("/pair", data={"code": token, "name": "Phone"}).headers["set-cookie"]
    other.headers["cookie"] = cookie.partition(";")[0]
    assert other.get("/devices").status_code == 200
    number = next(each.number for each in house.access.devices() if each.name == "Phone")
    assert device.post(f"/devices/{number}/revoke").headers["location"] == "/devices"
    assert other.get("/devices").status_code == 401
    assert device.post(f"/devices/{number}/revoke").status_code == 422


def test_a_device_can_go_by_itself(device: TestClient, house: House) -> None:
    answer = device.post(f"/devices/{house.access.devices()[0].number}/revoke")
    assert answer.headers["location"] == "/pair"
    assert "Max-Age=0" in answer.headers["set-cookie"]
    assert device.get("/devices").status_code == 401


def test_hostile_names_are_text(app: Application, house: House, device: TestClient) -> None:
    paired_client(app, house.access, "<script>alert(1)</script>")
    page = device.get("/devices").text
    assert "<script>alert" not in page
    assert "&lt;script&gt;" in page


@pytest.mark.parametrize(
    ("header", "told"),
    [
        ("Mozilla/5.0 (Linux; Android 15) AppleWebKit/537.36 Chrome/131.0 Safari/537.36",
         "Chrome on Android"),
        ("Mozilla/5.0 (iPhone; CPU iPhone OS 18_1) AppleWebKit/605 Version/18.1 Safari/604.1",
         "Safari on iPhone"),
        ("curl/8", "unknown browser"),
        ("<b>" * 1000, "unknown browser"),
    ],
)  # fmt: skip
def test_what_kind_of_browser_it_is(header: str, told: str) -> None:
    assert browser_of(header) == told
