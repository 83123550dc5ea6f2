"""What the firm owns on a page: due checks first, a check by one touch, lists taken whole."""

import re
from datetime import date

import pytest
from httpx2 import Response
from starlette.testclient import TestClient

from recorder.archive.disk.home import Home
from recorder.flows.knowhow import firm
from recorder.web.access import limits
from recorder.web.knowhow.files import LARGEST_BYTES
from tests.web.knowhow.places import CONVEYORS, INVENTORY


def text_of(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", html))


def taken(client: TestClient, name: str, content: bytes | str, what: str = "inventory") -> Response:
    files = {"file": (name, content, "application/octet-stream")}
    return client.post("/inventory/take", data={"what": what}, files=files)


def test_empty_lists_lead_to_a_file(device: TestClient) -> None:
    text = text_of(device.get("/inventory").text)
    assert "No press is entered yet." in text
    assert "Take a file" in text


def test_what_is_overdue_stands_out_by_sign_and_word(client: TestClient, worked: Home) -> None:
    page = client.get("/inventory").text
    text = text_of(page)
    assert "✗ 1 check overdue" in text
    assert "overdue for its check since 2025-10-01" in text
    assert "finger, fingers 80 mm, pitch 20 mm, for flat, 60 to 650 mm wide" in text
    assert "T80-20 &lt;b&gt;" in page
    assert "pulleys 250 and 200 mm, 4200 mm apart; with Press P2" in text
    assert "from_conveyor=Larkfield%20Bakery%20/%20Packing%20hall%202%20/%20Oven" in page


def test_a_check_is_noted_by_one_touch(client: TestClient, worked: Home) -> None:
    sent = {"kind": "press", "name": "Press P2"}
    answer = client.post("/inventory/checked", data=sent)
    assert (answer.status_code, answer.headers["location"]) == (303, "/inventory#press")
    assert firm.inventory(worked).presses[0].last_check == date.today()
    assert "overdue" not in client.get("/inventory").text


@pytest.mark.parametrize("kind", ["press", "template", "spanner"])
def test_what_is_not_there_is_not_checked(client: TestClient, worked: Home, kind: str) -> None:
    page = client.post("/inventory/checked", data={"kind": kind, "name": "Press P9"})
    assert page.status_code == 404
    assert 'role="alert"' in page.text
    assert not worked.checks.exists()


def test_a_file_is_taken_whole(client: TestClient, worked: Home) -> None:
    page = taken(client, "stock.toml", INVENTORY)
    assert page.status_code == 200
    assert "stock.toml was taken: 1 press and 1 template." in text_of(page.text)
    page = taken(client, "belts.toml", CONVEYORS, "conveyors")
    assert "belts.toml was taken: 1 conveyor." in text_of(page.text)
    assert firm.conveyors(worked)[0].name == "Oven outfeed 3"


def test_a_table_is_taken_too(client: TestClient, worked: Home) -> None:
    table = "kind,name,splice_type,finger_length\ntemplate,T9,finger,80 mm\n"
    assert taken(client, "Stock.CSV", table).status_code == 200
    assert firm.inventory(worked).templates[0].finger_length == 80.0


def test_recipes_and_windows_are_taken_too(client: TestClient, worked: Home) -> None:
    recipe = '[[recipe]]\nname = "Oven"\nbelt_material = "PU"\n[recipe.settings]\n'
    window = '[[window]]\nname = "PU"\nbelt_material = "PU"\nsource = "sheet"\n[window.settings]\n'
    lists = (("recipes", recipe, "2 bar"), ("windows", window, "..2 bar"))
    for what, text, pressure in lists:
        page = taken(client, "x.toml", f'{text}pressure = "{pressure}"\n', what)
        assert f"x.toml was taken: 1 {what[:-1]}." in text_of(page.text)
        page = taken(client, "x.toml", f"{text}pressure = 2\n", what)
        assert page.status_code == 422
        assert "Nothing was changed: x.toml cannot be taken" in text_of(page.text)
        assert "pressure" in page.text


@pytest.mark.parametrize(
    ("name", "content", "told"),
    [
        ("stock.toml", INVENTORY + INVENTORY, "Press P2"),
        ("stock.toml", INVENTORY.replace('"800 mm"', '"800"'), "platen_width"),
        ("stock.toml", b"\xff\xfe\x00", "stock.toml"),
        ("../../jobs/x.toml", "[[press]]", "x.toml"),
        ("stock.exe", INVENTORY, "it is no .toml"),
        ("", INVENTORY, "no file was chosen"),
        ("stock.toml", b"#" * (LARGEST_BYTES + 1), "too large"),
    ],
)
def test_a_wrong_file_is_refused_by_name_and_nothing_of_it_is_kept(
    client: TestClient, worked: Home, name: str, content: bytes | str, told: str
) -> None:
    before = worked.inventory.read_bytes()
    page = taken(client, name, content)
    assert page.status_code in {413, 422}
    alert = re.search(r'class="trouble[^>]*role="alert">(.*?)</p>', page.text)
    assert alert
    assert told in alert[1]
    assert "/tmp" not in alert[1]
    assert "seamnote-" not in alert[1]
    assert worked.inventory.read_bytes() == before


def test_no_larger_body_passes_the_guard(client: TestClient, worked: Home) -> None:
    assert LARGEST_BYTES < limits.largest("/inventory/take") < 2 * LARGEST_BYTES
    assert taken(client, "a.toml", b"#" * limits.largest("/inventory/take")).status_code == 413
