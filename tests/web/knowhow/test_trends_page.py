"""Trends on a page: what drifts first, a chart with its table, files to keep, the summary."""

import csv
import io
import re
import time

import pytest
from PIL import Image
from starlette.testclient import TestClient

from recorder.archive.disk.home import Home
from recorder.web.jobs import aside
from recorder.web.knowhow import summary
from tests.web.knowhow.places import pressed

CHART = {"of": "press:Press P2", "characteristic": "cycle_time"}


def text_of(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)).replace(" ,", ",")


def test_an_empty_archive_has_nothing_to_chart(device: TestClient) -> None:
    page = device.get("/trends")
    assert page.status_code == 200
    assert "that can be charted yet" in page.text
    assert device.get("/trends/chart.svg").text.startswith("<svg")


def test_a_drift_stands_first_and_leads_to_its_chart(client: TestClient, worked: Home) -> None:
    assert "No press, template, technician or customer drifts." in client.get("/trends").text
    for day in range(7, 29):
        seconds = 600.0 + 10 * (day % 3) + (200.0 if day > 20 else 0.0)
        pressed(worked, day, press="Press <P3>", cycle_time=seconds)
    page = client.get("/trends").text
    assert "Cycle time, Press &lt;P3&gt;" in page
    told = re.search(
        r"&lt;P3&gt; 22 points, newest 28 November 2026 ▲ crept (up over the last \d+ points)",
        text_of(page),
    )
    assert told
    assert f"▲ Cycle time, Press &lt;P3&gt;: crept {told[1]}" in text_of(client.get("/").text)
    found = re.search(r'href="(/trends\?[^"]+)"><bdi>Cycle time, Press &lt;P3', page)
    assert found
    chart = client.get(found[1].replace("&amp;", "&"))
    text = text_of(chart.text)
    assert f"Crept {told[1]}: job of 28 November 2026" in text
    assert "22 points" in chart.text
    assert "from the first 22 points, provisional" in text


def test_a_chart_is_a_picture_a_table_and_files(reader: TestClient, shop: Home) -> None:
    page = reader.get("/trends", params=CHART).text
    assert 'alt="Control chart: Cycle time, Press P2; 5 points.' in page
    assert "5 November 2026 1 650 s 10 s" in text_of(page)
    files = [path.replace("&amp;", "&") for path in re.findall(r'href="(/trends/chart[^"]+)', page)]
    svg, png, table = (reader.get(path) for path in files)
    assert svg.headers["content-type"] == "image/svg+xml"
    assert svg.headers["content-disposition"].endswith('"cycle_time-press-Press-P2.svg"')
    with Image.open(io.BytesIO(png.content)) as picture:
        assert (picture.format, picture.width) == ("PNG", 1600)
    rows = list(csv.DictReader(io.StringIO(table.text)))
    assert [row["cycle_time_s"] for row in rows] == ["610", "620", "630", "640", "650"]


@pytest.mark.parametrize("kind", ["chart", "months", "gap"])
def test_a_telephone_gets_a_picture_of_its_own(reader: TestClient, kind: str) -> None:
    wide, narrow = (
        reader.get(f"/trends/{kind}.svg", params={**CHART, **more})
        for more in ({}, {"narrow": "1"})
    )
    assert "content-disposition" not in wide.headers
    assert 'viewBox="0 0 720 ' in wide.text
    assert 'viewBox="0 0 360 ' in narrow.text


def test_outcomes_and_a_setting_stand_beside_it(reader: TestClient) -> None:
    text = text_of(reader.get("/trends", params=CHART | {"field": "dwell_time"}).text)
    assert "2026-11 5 0 1 0" in text
    assert "Both are known of 0 press runs; a correlation wants ten and more." in text


@pytest.mark.parametrize(
    ("asked", "status", "told"),
    [
        ({"of": "press:P9"}, 404, "There is no press"),
        ({"of": "tool:P2"}, 422, "whose jobs"),
        ({"characteristic": "colour"}, 422, "what is charted"),
        ({"field": "outcome"}, 422, "a setting"),
        ({"since": "yesterday"}, 422, "since"),
        ({"since": "2026-11", "until": "2026-10"}, 422, "until"),
    ],
)
def test_what_cannot_be_charted_is_told(
    reader: TestClient, asked: dict[str, str], status: int, told: str
) -> None:
    page = reader.get("/trends", params=asked)
    assert page.status_code == status
    assert told in text_of(page.text)
    assert "Every chart" in page.text
    assert reader.get("/trends/gap.svg", params=asked).status_code == status or "field" not in asked


@pytest.mark.parametrize("name", ["chart.pdf", "x.svg", "chart", "chart.svg.svg", ".svg"])
def test_nothing_else_is_drawn(reader: TestClient, name: str) -> None:
    assert reader.get(f"/trends/{name}").status_code == 404


def test_a_summary_comes_as_a_file(reader: TestClient) -> None:
    sent = {"month": "2026-11", "customer": "Larkfield Bakery"}
    answer = reader.get("/summary", params=sent)
    assert answer.content.startswith(b"%PDF-")
    assert answer.headers["content-disposition"].endswith('"summary-2026-11-Larkfield-Bakery.pdf"')


@pytest.mark.parametrize(
    ("asked", "status"),
    [({"month": "November"}, 422), ({}, 422), ({"month": "2026-11", "customer": "Nobody"}, 404)],
)
def test_a_summary_of_nothing_is_refused(
    reader: TestClient, asked: dict[str, str], status: int
) -> None:
    answer = reader.get("/summary", params=asked, headers={"accept": "application/json"})
    assert answer.status_code == status
    assert set(answer.json()) == {"error", "remedy"}


def test_one_summary_at_a_time(reader: TestClient) -> None:
    with summary._one_at_a_time:
        assert reader.get("/summary", params={"month": "2026-11"}).status_code == 503


def test_a_large_archive_is_gone_through_aside(
    client: TestClient, worked: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(aside, "LARGE_BYTES", 1)
    page = text_of(client.get("/trends").text)
    assert "All charts of this large archive are being gone through" in page
    assert "Press P2" in page  # which can be chosen meanwhile
    assert re.search(r'name="since" value="\d{4}-\d\d"', client.get("/trends").text)
    ends_s = time.monotonic() + 20
    while "Every chart" not in client.get("/trends").text:
        assert time.monotonic() < ends_s
        time.sleep(0.05)
    chart = text_of(client.get("/trends", params=CHART).text)
    assert "5 points, newest" in chart
