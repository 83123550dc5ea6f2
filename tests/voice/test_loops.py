"""Decodings that repeat themselves for ever are cut."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recorder.voice.whisper import without_loop


@pytest.mark.parametrize(
    ("tokens", "kept"),
    [
        ([1, 2, 3], [1, 2, 3]),
        ([7, 7, 7, 7], [7, 7, 7, 7]),  # "eight eight eight eight"
        ([1, 2] + [7] * 40, [1, 2, 7]),
        ([1, 2] + [7, 8, 9] * 20, [1, 2, 7, 8, 9]),
        ([1, 2] + [7, 8, 9] * 20 + [4, 5], [1, 2, 7, 8, 9]),
        ([5, 6, 5, 6, 5, 6, 9], [5, 6, 5, 6, 5, 6, 9]),  # "one seven, one seven, one seven, nine"
    ],
)
def test_what_is_kept(tokens: list[int], kept: list[int]) -> None:
    assert without_loop(tokens) == kept


@given(st.lists(st.integers(0, 3), max_size=60))
def test_only_an_end_is_ever_cut(tokens: list[int]) -> None:
    kept = without_loop(tokens)
    assert kept == tokens[: len(kept)]
    assert without_loop(kept) == kept
