from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from recorder.archive.finding.folding import tokens
from recorder.archive.finding.meaning import corrected, meaning
from recorder.archive.finding.synonyms import SHIPPED, Synonyms, _read, synonyms
from recorder.archive.finding.words import NOTHING, occurs, typed
from recorder.archive.index.text import Phrase
from recorder.errors import BadSynonyms

TRADE = Synonyms(
    [
        ["gasket", "seal", "Dichtung", "O-ring"],
        ["cool down", "cooling", "abkühlen"],
        ["down pipe", "chute"],
        ["forklift", "lift truck"],
    ]
)


class Jobs:
    """What an index tells, of one text."""

    def __init__(self, text: str) -> None:
        self.text = tokens(text)

    def has(self, phrase: Phrase) -> bool:
        return occurs(phrase, self.text)

    def terms(self, shortest: int, longest: int) -> list[tuple[str, int]]:
        words = {word for word in self.text if word.isalpha()}
        return [(word, 1) for word in sorted(words) if shortest <= len(word) <= longest]


def phrases(text: str) -> list[set[str]]:
    return [{phrase.text for phrase in group} for group in meaning(text, TRADE).query]


@pytest.mark.parametrize(
    ("words", "looked_for"),
    [
        ("seal", [{"seal", "gasket", "Dichtung", "O-ring"}]),
        ("Gaskets", [{"Gaskets", "seal", "Dichtung", "O-ring", "gasket"}]),
        ("DICHTUNG", [{"DICHTUNG", "gasket", "seal", "O-ring"}]),
        ("o-ring", [{"o-ring", "gasket", "seal", "Dichtung"}]),
        ("gask", [{"gask"}]),  # the beginning of a word has no synonyms
        ('"seal"', [{"seal"}]),
        ("seal-3", [{"seal-3"}]),
        ("cool", [{"cool"}]),
        ("cool down", [{"cool", "cooling", "abkühlen"}, {"down", "cooling", "abkühlen"}]),
        ("cool-down", [{"cool-down", "cooling", "abkühlen"}]),
        ("abkuehlen", [{"abkuehlen"}]),
        ("abkuhlen", [{"abkuhlen", "cool down", "cooling"}]),
        ("down cool", [{"down"}, {"cool"}]),
        ("", []),
        ("!?", [set()]),
    ],
)
def test_what_means_the_same_is_looked_for_too(words: str, looked_for: list[set[str]]) -> None:
    assert phrases(words) == looked_for


def test_two_phrases_may_share_a_word() -> None:
    cool, down, pipe = phrases("cool down pipe")
    assert "chute" not in cool
    assert {"cooling", "chute"} <= down
    assert "cooling" not in pipe


def test_a_short_synonym_is_no_beginning_of_something_else() -> None:
    (group,) = meaning("gasket", TRADE).query
    assert Phrase("seal") in group
    assert Phrase("Dichtung", prefix=True) in group


def test_a_synonym_that_is_found_anyway_is_not_looked_for_twice() -> None:
    assert meaning("bubble", Synonyms([["bubble", "bubbles", "void"]])).also == {
        "bubble": ("void",)
    }


@pytest.mark.parametrize(
    ("words", "text", "instead"),
    [
        ("forklfit", "the forklift", {"forklfit": ("forklift",)}),
        ("forklfit hose", "forklift", {"forklfit": ("forklift",)}),
        ("forklfit", "a lift truck", {"forklfit": ("forklift",)}),  # by way of the trade's words
        ("forklfit", "nothing like it", {}),
        ("gaskte", "gasket basket", {"gaskte": ("gasket",)}),
        ("Föderband", "forderband", {"Föderband": ("forderband",)}),
        ("fork", "the forklift", {}),  # its beginning is found
        ("seal", "the gasket, a meal", {}),  # its synonym is found
        ("cat", "car", {}),
        ('"forklfit"', "forklift", {}),
        ("CV120", "CV130", {}),
        ("4817", "4818", {}),
        ("abc1", "abcd", {}),
        ("o'brein", "o'brien", {}),
        ("", "forklift", {}),
        ("**", "forklift", {}),
    ],
)
def test_a_word_that_no_job_holds(
    words: str, text: str, instead: dict[str, tuple[str, ...]]
) -> None:
    found = corrected(words, TRADE, Jobs(text))
    assert (found.instead if found else {}) == instead


def test_what_is_searched_instead_has_its_synonyms() -> None:
    found = corrected("forklfit seal", TRADE, Jobs("forklift gasket"))
    assert found is not None
    first, second = found.query
    assert [phrase.text for phrase in first] == ["forklfit", "forklift", "lift truck"]
    assert Phrase("gasket", prefix=True) in second


_TRADE_WORDS = st.lists(
    st.sampled_from(["cool", "down", "o-ring", "seals", '"', "-", "Förderband", "forklfit", "x"])
).map(" ".join)


@settings(max_examples=300, deadline=None)
@given(words=st.text() | _TRADE_WORDS)
def test_nothing_that_is_typed_raises(words: str) -> None:
    jobs = Jobs("forklift gasket conveyor")
    found = corrected(words, synonyms(), jobs) or meaning(words, synonyms())
    themselves = [group[0].text for group in found.query if group]
    assert themselves == [word.text for word in typed(words)]


def test_a_whole_page_is_not_corrected_word_by_word() -> None:
    asked: list[int] = []

    class Slow(Jobs):
        def terms(self, shortest: int, longest: int) -> list[tuple[str, int]]:
            asked.append(shortest)
            return super().terms(shortest, longest)

    page = " ".join(f"word{'abcdefghij'[n // 10]}{'klmnopqrst'[n % 10]}" for n in range(100))
    assert corrected(page, TRADE, Slow("forklift")) is None
    assert 0 < len(asked) <= 8


def test_the_shipped_groups_are_in_order() -> None:
    groups = _read(SHIPPED)
    assert len(groups) > 50
    for group in groups:
        seen = [tokens(phrase) for phrase in group]
        assert len(seen) == len(set(seen)), group
    (found,) = meaning("Gabelstapler", synonyms()).query
    assert {"forklift", "lift truck"} <= {phrase.text for phrase in found}
    assert meaning("nothing", synonyms()).query != NOTHING


def test_a_firm_adds_its_own(tmp_path: Path) -> None:
    own = tmp_path / "synonyms.toml"
    assert len(meaning("stoker", synonyms(own)).query[0]) == 1
    own.write_text('groups = [["stoker", "belt filler"], ["seal", "Simmerring"]]\n')
    (stoker,) = meaning("stoker", synonyms(own)).query
    (seal,) = meaning("seal", synonyms(own)).query
    assert "belt filler" in {phrase.text for phrase in stoker}
    assert {"Simmerring", "gasket"} <= {phrase.text for phrase in seal}


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"groups = [", "synonyms.toml: "),
        (b"groups = 3", "groups: "),
        (b'groups = [["a", 3]]', "groups.0.1: "),
        (b'groups = [["one"]]', "groups.0: it takes two"),
        (b'groups = [["One", "one"]]', "groups.0: it takes two"),
        (b'groups = [["a", "b"], ["c", "-"]]', "groups.1: '-' is not one to 6 words"),
        (b'groups = [["a", "b c d e f g h"]]', "is not one to 6 words"),
        (b'group = [["a", "b"]]', "there is no group"),
        (b"\xff\xfe", "synonyms.toml: "),
    ],
)
def test_a_bad_file_gets_one_clear_line(tmp_path: Path, content: bytes, says: str) -> None:
    own = tmp_path / "synonyms.toml"
    own.write_bytes(content)
    with pytest.raises(BadSynonyms) as caught:
        synonyms(own)
    assert says in str(caught.value)
    assert str(own) in str(caught.value)
    assert "write groups = [['gasket', 'seal']]" in str(caught.value)


def test_a_folder_in_its_place_gets_one_clear_line(tmp_path: Path) -> None:
    with pytest.raises(BadSynonyms):
        synonyms(tmp_path)
