"""The address of a search to what is asked, and back."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from starlette.datastructures import QueryParams

from recorder.archive.finding.saved import Asked
from recorder.web.jobs.asking import (
    LONGEST_WORDS,
    MOST_CONDITIONS,
    MOST_SHOWN,
    address,
    asked_of,
    conditions,
    in_short,
    in_words,
)

TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=20).map(str.strip)
SOME = TEXT.filter(bool)


def asked(text: str) -> Asked:
    return asked_of(QueryParams(text))


@given(
    st.builds(
        Asked,
        words=TEXT,
        where=st.lists(SOME, max_size=3, unique=True).map(tuple),
        outcome=st.none() | SOME,
        since=st.none() | SOME,
        sort=st.none() | SOME,
        units=st.lists(SOME, max_size=2).map(tuple),
        limit=st.none() | st.integers(1, MOST_SHOWN),
    )
)
def test_every_search_has_an_address_that_asks_the_same(asked: Asked) -> None:
    assert asked_of(QueryParams(address(asked).partition("?")[2])) == asked


def test_the_form_adds_a_condition() -> None:
    found = asked("field=top_temperature&sign=%3E%3D&value=350+degF&where=pressure%3E2")
    assert found.where == ("pressure>2", "top_temperature>=350 degF")


def test_from_and_to_become_a_range() -> None:
    assert asked("field=belt_width&sign=%3D&value=60+mm+to+80+mm").where == (
        "belt_width=60 mm..80 mm",
    )


def test_a_sign_that_is_none_is_taken_for_equal() -> None:
    assert asked("field=press&sign=;drop&value=P2").where == ("press=P2",)


@pytest.mark.parametrize("limit", ["0", "-1", "1e9", "99999999999", "²", "x"])
def test_nobody_asks_for_more_than_a_page_holds(limit: str) -> None:
    found = asked_of(QueryParams([("limit", limit)])).limit
    assert found is None or 1 <= found <= MOST_SHOWN


def test_an_address_that_never_ends_is_cut() -> None:
    endless = [("q", "hose " * 9999), *(("where", f"pressure>{n}") for n in range(999))]
    found = asked_of(QueryParams(endless))
    assert len(found.words) <= LONGEST_WORDS
    assert len(found.where) == MOST_CONDITIONS


@pytest.mark.parametrize(
    ("condition", "words"),
    [
        ("top_temperature>=350degF", "Top platen at least 350degF"),
        ("belt_width=60mm..80mm", "Belt width 60mm to 80mm"),
        ("finger_gap<0.5", "Finger gap less than 0.5"),
        ("customer=Larkfield Bakery", "Customer Larkfield Bakery"),
        ("nonsense", "nonsense"),
        ("bogus>=2", "bogus>=2"),
    ],
)
def test_a_condition_is_told_in_words(condition: str, words: str) -> None:
    assert in_words(condition) == words


def test_each_condition_can_be_left_out_and_the_rest_stays() -> None:
    all_of = Asked(words="hose", where=("pressure>2", "bubbles=yes"), outcome="rework", limit=100)
    left = {each.words: asked(each.without.partition("?")[2]) for each in conditions(all_of)}
    assert left["Bubbles yes"].where == ("pressure>2",)
    assert left["Outcome rework"].outcome is None
    assert all(each.words == "hose" and each.limit is None for each in left.values())


def test_a_whole_search_in_one_line() -> None:
    assert in_short(Asked(words="hose", since="2026")) == "hose; Since 2026"
    assert in_short(Asked()) == "every job"
