import json
from concurrent.futures import ThreadPoolExecutor

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.finding.saved import (
    Asked,
    forget_search,
    save_search,
    saved_search,
    saved_searches,
)
from recorder.errors import BadSearches, BadValue, OutputUnwritable, UnknownSearch

HOT = Asked(words="gasket", where=("top_temperature>=350degF",), since="2026-03", units=("degF",))


def test_a_search_is_kept_as_it_was_typed(home: Home) -> None:
    assert saved_searches(home) == {}
    assert save_search(home, "hot jobs", HOT) is False
    assert save_search(home, "All", Asked()) is False
    assert saved_search(home, "hot jobs") == HOT
    assert list(saved_searches(home)) == ["All", "hot jobs"]
    assert json.loads(home.searches.read_text()) == {
        "version": 1,
        "searches": {
            "hot jobs": {
                "words": "gasket",
                "where": ["top_temperature>=350degF"],
                "since": "2026-03",
                "units": ["degF"],
            },
            "All": {"words": "", "where": [], "units": []},
        },
    }


def test_a_name_stands_for_the_newest_search_of_that_name(home: Home) -> None:
    save_search(home, "hot", HOT)
    assert save_search(home, "hot", Asked(words="hose")) is True
    assert saved_search(home, "hot") == Asked(words="hose")


def test_a_search_is_forgotten(home: Home) -> None:
    save_search(home, "hot", HOT)
    save_search(home, "cold", Asked())
    forget_search(home, "hot")
    assert list(saved_searches(home)) == ["cold"]


def test_a_saved_search_is_narrowed() -> None:
    more = Asked(words="hose", where=("pressure>2",), since="2026-05", limit=3, units=("psi",))
    assert HOT.narrowed(more) == Asked(
        words="gasket hose",
        where=("top_temperature>=350degF", "pressure>2"),
        since="2026-05",
        units=("degF", "psi"),
        limit=3,
    )
    assert HOT.narrowed(Asked()) == HOT
    assert Asked().narrowed(HOT) == HOT


@pytest.mark.parametrize("act", [saved_search, forget_search])
def test_an_unknown_name_names_the_near_ones(home: Home, act: object) -> None:
    with pytest.raises(UnknownSearch, match="no search is saved yet"):
        act(home, "hot")  # type: ignore[operator]
    save_search(home, "hot jobs", HOT)
    save_search(home, "wide", Asked())
    with pytest.raises(UnknownSearch, match=r"did you mean 'hot jobs'\?"):
        act(home, "hot job")  # type: ignore[operator]
    with pytest.raises(UnknownSearch, match="there are 'hot jobs', 'wide'"):
        act(home, "qqqq")  # type: ignore[operator]
    assert len(saved_searches(home)) == 2


@pytest.mark.parametrize("name", ["", "  ", "a\nb", "x" * 61, "\ud800", "\x07"])
def test_what_cannot_be_a_name(home: Home, name: str) -> None:
    with pytest.raises(BadValue, match="name of a search"):
        save_search(home, name, HOT)
    assert not home.searches.exists()


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"{",
        b"[]",
        b"\xff",
        b'{"version": 2, "searches": {}}',
        b'{"searches": {"hot": {"wrods": "x"}}}',
        b'{"searches": {"hot": {"limit": 0}}}',
    ],
)
def test_a_damaged_file_gets_one_clear_line_and_stays(home: Home, content: bytes) -> None:
    home.searches.write_bytes(content)
    for act in (
        lambda: saved_searches(home),
        lambda: save_search(home, "hot", HOT),
        lambda: forget_search(home, "hot"),
    ):
        with pytest.raises(BadSearches) as caught:
            act()
        assert str(home.searches) in str(caught.value)
        assert "\n" not in str(caught.value)
    assert home.searches.read_bytes() == content


def test_a_folder_in_its_place(home: Home) -> None:
    home.searches.mkdir()
    with pytest.raises(BadSearches):
        saved_searches(home)


def test_a_failed_write_leaves_what_was_saved(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    save_search(home, "hot", HOT)
    before = home.searches.read_bytes()

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(OutputUnwritable, match="No space left"):
        save_search(home, "cold", Asked())
    assert home.searches.read_bytes() == before
    assert list(home.root.glob(".searches*")) == []


def test_two_at_once_lose_nothing(home: Home) -> None:
    with ThreadPoolExecutor(2) as threads:
        list(threads.map(lambda number: save_search(home, f"search {number}", HOT), range(8)))
    assert len(saved_searches(home)) == 8


def test_what_a_killed_writer_left_goes_with_the_next_one(home: Home) -> None:
    stale = home.searches.with_name(".searches.json.0123abcd.tmp")
    stale.write_bytes(b"{")
    save_search(home, "hot", HOT)
    assert not stale.exists()
