"""The archive on a page: as 'seamnote search' finds it, with all that it says besides."""

import re
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from recorder.archive.disk.home import Home
from recorder.archive.finding.search import Hit
from recorder.flows.find import Found
from recorder.web.jobs import archive
from tests.web.jobs.places import Made


def text_of(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", html))


def test_words_are_found_and_marked_where_they_were_heard(client: TestClient) -> None:
    page = client.get("/archive", params={"q": "hose"})
    assert "the left <mark>hose</mark> hisses" in page.text
    assert "narration.flac at 0:04" in page.text
    assert "2 jobs" in text_of(page.text)


def test_a_condition_in_any_unit_is_told_in_words_and_can_be_left_out(
    client: TestClient,
) -> None:
    sent = {"field": "top_temperature", "sign": ">=", "value": "335 °F", "unit": "degF"}
    page = client.get("/archive", params=sent)
    text = text_of(page.text)
    assert "Top platen at least 335 °F ×" in text
    assert "Top platen 342 °F" in text
    assert "0077, Veldt Sugar" not in text  # 165 °C
    without = re.search(r'href="(/archive[^"]*)"><bdi>Top platen at least', page.text)
    assert without
    assert "0077, Veldt Sugar" in client.get(without[1].replace("&amp;", "&")).text


def test_a_corrected_word_is_said(client: TestClient) -> None:
    text = text_of(client.get("/archive", params={"q": "larkfeild"}).text)
    assert "No job holds “larkfeild”; looked for larkfield." in text
    assert "4817, Larkfield Bakery" in text


def test_where_nothing_fits_it_says_what_to_leave_out(client: TestClient) -> None:
    text = text_of(client.get("/archive", params={"q": "hose", "outcome": "rejected"}).text)
    assert "No job fits." in text
    assert "Without “outcome rejected” there are 2 jobs." in text


@pytest.mark.parametrize(
    "sent",
    [
        {"where": "nonsense"}, {"where": "pressure>=2 kg"}, {"since": "yesterday"},
        {"outcome": "great"}, {"sort": "beauty"}, {"sort": "relevance"}, {"unit": "parsec"},
        {"where": "pressurre>2"}, {"saved": "nobody"},
    ],
)  # fmt: skip
def test_a_wrong_search_says_what_is_wrong_and_keeps_the_form(
    client: TestClient, sent: dict[str, str]
) -> None:
    page = client.get("/archive", params={"q": "" if "sort" in sent else "hose", **sent})
    assert page.status_code == 422
    assert 'class="trouble" role="alert"' in page.text
    assert 'id="q"' in page.text


def test_a_search_is_saved_asked_again_and_forgotten(client: TestClient) -> None:
    saved = client.post("/archive/save", data={"name": "hot & <b>", "query": "q=hose&limit=3"})
    assert saved.status_code == 303
    page = client.get(saved.headers["location"])
    assert "2 jobs" in text_of(page.text)
    assert "hot &amp; &lt;b&gt;" in page.text
    narrowed = client.get("/archive", params={"saved": "hot & <b>", "q": "left"})
    assert "1 job" in text_of(narrowed.text)
    assert client.post("/archive/forget", data={"name": "hot & <b>"}).status_code == 303
    assert "None is saved yet" in client.get("/archive").text


def test_a_name_that_cannot_be_one_is_refused_on_the_page(client: TestClient) -> None:
    page = client.post("/archive/save", data={"name": "x" * 61, "query": "q=hose"})
    assert page.status_code == 422
    assert "cannot be the name of a search" in page.text


def test_an_empty_archive_leads_to_the_first_job(device: TestClient) -> None:
    assert "There are no jobs here yet" in device.get("/archive").text


def test_a_thousand_hits_come_in_pages(
    client: TestClient, made: Made, monkeypatch: pytest.MonkeyPatch
) -> None:
    at = datetime(2026, 11, 25, tzinfo=UTC)

    def plenty(home: Home, asked: Any) -> Found:
        shown = min(asked.limit or 50, 1000)
        hits = tuple(
            Hit(id=f"20261125-{n:06d}-aaaa", created_at=at, title=f"Job {n}", customer=None,
                outcome="accepted", complete=n % 2 == 0, path=Path("x"))
            for n in range(shown)
        )  # fmt: skip
        return Found(hits, shown < 1000, (), {}, {}, {}, {}, 0)

    monkeypatch.setattr(archive, "find", plenty)
    address = "/archive?q=x"
    sizes = []
    while address:
        page = client.get(address).text
        sizes.append(page.count("/jobs/20261125-"))
        more = re.search(r'href="([^"]+)">Show more', page)
        address = more[1].replace("&amp;", "&").partition("#")[0] if more else ""
    assert sizes == [50, 100, 200, 400, 500]
    assert "More than 500 jobs match" in page
