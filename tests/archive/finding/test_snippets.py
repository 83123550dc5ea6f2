from recorder.archive.finding.snippets import SNIPPET_CHARACTERS, Place, snippet
from recorder.archive.finding.words import query
from recorder.archive.index.text import CLOSE, OPEN

SAID = Place("Said", "talk.flac", 12.0)
CARD = Place("Customer", None, None)


def marked(text: str) -> str:
    return text.replace("[", OPEN).replace("]", CLOSE)


def at(*places: Place) -> dict[int, Place]:
    return dict(enumerate(places))


def shown(*lines: str, words: str = "hose gasket", places: list[Place] | None = None) -> list[str]:
    found = snippet(map(marked, lines), at(*(places or [SAID] * len(lines))), query(words))
    return [line.marked() for line in found.lines]


def test_the_line_with_most_different_words_comes_first() -> None:
    assert shown(
        "a [hose]", "no match", "[hose] and [hose] and [hoses]", "a [gasket] on the [hose]"
    ) == ["a [gasket] on the [hose]", "a [hose]", "[hose] and [hose] and [hoses]"]


def test_a_word_that_was_not_shown_yet_comes_before_one_that_was() -> None:
    assert shown("[hose] 1", "[hose] 2", "[hose] 3", "[hose] 4", "a [gasket]") == [
        "[hose] 1", "a [gasket]", "[hose] 2",
    ]  # fmt: skip


def test_a_synonym_counts_as_the_word_for_which_it_stands() -> None:
    seal, hose = query("gasket seal")[0] + query("gasket seal")[1], query("hose")[0]
    lines = [marked("[gasket] [seal]"), marked("[hose] [seal]")]
    found = snippet(lines, at(SAID, SAID), (seal, hose))
    assert found.lines[0].text == "hose seal"


def test_each_line_knows_where_it_was_heard() -> None:
    places = [CARD, Place("Said", "talk.flac", 61.5), Place("Note", "notes.txt", None)]
    lines = [marked("[hose] firm"), marked("the [gasket]"), marked("[hose]")]
    found = snippet(lines, at(*places), query("hose gasket"))
    assert [(line.label, line.file, line.start_s) for line in found.lines] == [
        ("Customer", None, None), ("Said", "talk.flac", 61.5), ("Note", "notes.txt", None),
    ]  # fmt: skip
    assert found.sound == ("talk.flac", 61.5)
    assert found.text == "Customer: [hose] firm … Said: the [gasket] … Note: [hose]"


def test_a_note_is_not_shown_again_in_the_sentence_out_of_which_it_came() -> None:
    note, said = Place("Note", "talk.flac", 2.0), Place("Said", "talk.flac", 1.0)
    lines = ["the [hose] hisses", "well, the [hose] hisses.", "another [hose]"]
    assert shown(*lines, places=[note, said, said]) == ["the [hose] hisses", "another [hose]"]
    other = Place("Said", "second.flac", 1.0)
    assert len(shown(*lines, places=[note, other, other])) == 3
    assert len(shown(*lines[:2], places=[CARD, CARD])) == 2


def test_nothing_found_is_nothing_shown() -> None:
    found = snippet(["no", "match"], at(), query("hose"))
    assert (found.lines, found.text, found.sound) == ((), "", (None, None))


def test_brackets_of_the_text_are_no_marks() -> None:
    (line,) = snippet([f"[x] {OPEN}hose{CLOSE} ]"], at(SAID), query("hose")).lines
    assert line.text == "[x] hose ]"
    assert line.marks == ((4, 8),)
    assert line.marked("<b>", "</b>") == "[x] <b>hose</b> ]"


def test_a_long_line_is_cut_around_its_first_match() -> None:
    (text,) = shown(f"{'x ' * 90}[hose] {'y ' * 90}[gasket]")
    assert text.startswith("…x ")
    assert text.endswith("y…")
    assert "[hose]" in text
    assert "gasket" not in text
    assert len(text) <= SNIPPET_CHARACTERS + len("…[]…")
    (text,) = shown(f"{'x ' * 90}[hose]")
    assert text.startswith("…x x")
    assert text.endswith("[hose]")
    assert len(text) == SNIPPET_CHARACTERS + len("…[]")
    (text,) = shown(f"[{'z' * 500}] end", words="z")
    assert text == f"[{'z' * 500}]…"


def test_a_match_that_the_cut_goes_through_is_marked_to_its_end() -> None:
    (line,) = snippet([marked(f"[hose] {'y' * 110}[{'k' * 40}]")], at(SAID), query("hose")).lines
    assert line.marks[-1][1] == SNIPPET_CHARACTERS
    assert line.marked().endswith("kk]…")
