"""Words that recognisers write instead, and the words that a firm adds."""

from __future__ import annotations

from pathlib import Path

import pytest

from recorder.errors import BadVocabulary, UnknownLanguage
from recorder.model.reading import Standing
from recorder.notes.languages import LANGUAGES, vocabulary_of
from recorder.notes.quantities import find_quantities
from recorder.notes.words.speaking import english, in_force, speaking, tables_of
from recorder.notes.words.vocabulary import hearing_prompt
from recorder.settings import SpeechSettings
from tests.notes.telling import Value, heard, states, told, utterance

DOUBTFUL, CLEAR = Standing.DOUBTFUL, Standing.CLEAR

FIRM = """
[fields.pressure]
words = ["Squeeze"]
homophones = ["squeak"]

[fields.cycle_time]
weak_homophones = ["whole"]

[fields.finger_gap]
not_before = ["gauge"]

[units]
bar = ["kilos"]

[unit_homophones]
bar = ["pillows"]

[flags.bubbles]
yes = ["pimples"]
no = ["no pimples"]

[choices.outcome]
rework = ["back in the oven"]

[names]
belt_material = ["compound"]

[[groups]]
fields = ["top_temperature", "bottom_temperature"]
words = ["irons"]

[speech]
corrections = ["belay that"]

[number_doubts]
"told by the apprentice" = ["the apprentice says"]

[prompt]
text = "squeeze, irons"
"""


@pytest.mark.parametrize(("text", "field", "value"), [
    ("Well three minutes.", "dwell_time", 180.0),
    ("Well time three minutes.", "dwell_time", 180.0),
    ("Low four minutes.", "dwell_time", 240.0),
    ("Real four and a half minutes.", "dwell_time", 270.0),
    ("12 time three minutes.", "dwell_time", 180.0),
    ("Twelve time three minutes.", "dwell_time", 180.0),
    ("Pressure 2 far.", "pressure", 2.0),
    ("Pressure two door.", "pressure", 2.0),
    ("Pressure 32 side.", "pressure", 2.2063),
    ("Top platen one seventy to degrees.", "top_temperature", 170.0),
    ("Top platen one seventy for degrees.", "top_temperature", 170.0),
    ("Pull down to 70 degrees Celsius.", "cool_down_temperature", 70.0),
    ("Fuel down to seventy degrees Celsius.", "cool_down_temperature", 70.0),
    ("Pull to 70 degrees Celsius.", "cool_down_temperature", 70.0),
    ("2 mm state.", "belt_thickness", 2.0),
    ("70 mm felt.", "belt_width", 70.0),
    ("Melt width 70 mm.", "belt_width", 70.0),
    ("Felt thickness 2 mm.", "belt_thickness", 2.0),
    ("Job number 4 8 to 7.", "job_number", "4827"),
    ("Job number 4 8 for 7.", "job_number", "4847"),
])  # fmt: skip
def test_a_homophone_is_understood_and_asked(text: str, field: str, value: Value) -> None:
    assert states(text) == {field: (value, DOUBTFUL)}
    twice = heard(utterance(text, "=", probability=0.99)).readings
    assert [(r.field, r.standing) for r in twice] == [(field, DOUBTFUL)]


def test_an_everyday_word_is_no_trade_word_away_from_its_number() -> None:
    assert states("Well, that went fine, three minutes later it was done.") == {}
    assert states("The stock is low. It took three minutes to find it.") == {}
    assert "cool_down_temperature" not in states("Pull the handle. It was 70 degrees.")


@pytest.mark.parametrize(("text", "expected"), [
    ("Squeeze 2 bar.", {"pressure": (2.0, CLEAR)}),
    ("Squeak 2 bar.", {"pressure": (2.0, DOUBTFUL)}),
    ("Whole eleven minutes.", {"cycle_time": (660.0, DOUBTFUL)}),
    ("Squeeze two kilos.", {"pressure": (2.0, CLEAR)}),
    ("Squeeze two pillows.", {"pressure": (2.0, DOUBTFUL)}),
    ("No pimples.", {"bubbles": (False, CLEAR)}),
    ("Splice back in the oven.", {"outcome": ("rework", CLEAR)}),
    ("Irons 172 degrees Celsius.", {
        "top_temperature": (172.0, CLEAR), "bottom_temperature": (172.0, CLEAR),
    }),
    ("Squeeze 3 bar. Belay that, 2 bar.", {"pressure": (2.0, CLEAR)}),
    ("The apprentice says pressure 2 bar.", {"pressure": (2.0, DOUBTFUL)}),
    ("Pressure 2 bar.", {"pressure": (2.0, CLEAR)}),
])  # fmt: skip
def test_a_firm_adds_words(
    tmp_path: Path, text: str, expected: dict[str, tuple[Value, Standing]]
) -> None:
    own = tmp_path / "vocabulary.toml"
    own.write_text(FIRM)
    with speaking(vocabulary_of("en", own)):
        assert states(text) == expected
        assert hearing_prompt(()).endswith("squeeze, irons")
    if expected != states(text):
        assert "squeeze" not in hearing_prompt(())


def test_a_firm_adds_words_to_german(tmp_path: Path) -> None:
    own = tmp_path / "vocabulary.toml"
    own.write_text('[fields.pressure]\nwords = ["Quetschdruck"]\n[units]\nbar = ["Kilo"]\n')
    with speaking(vocabulary_of("de", own)):
        assert states("Quetschdruck zweieinhalb Kilo.") == {"pressure": (2.5, CLEAR)}
        assert find_quantities("zwei Kilo")[0].unit == "bar"


def test_nothing_of_one_firm_is_left_behind(tmp_path: Path) -> None:
    own = tmp_path / "vocabulary.toml"
    own.write_text(FIRM)
    with speaking(vocabulary_of("en", own)):
        assert told("Squeeze 2 bar.").readings[0].standing is CLEAR
    assert in_force() is english()
    assert told("Squeeze 2 kilos.").readings == ()


def test_no_file_is_no_difference(tmp_path: Path) -> None:
    assert vocabulary_of("en", tmp_path / "vocabulary.toml") is english()


@pytest.mark.parametrize(("text", "place"), [
    ("fields = 1", "fields: this must be a table"),
    ("[[fields]]\na = 1", "fields: this must be a table"),
    ('[fields]\npressure = ["a"]', "fields.pressure: this must be a table"),
    ('[fields.bubbles]\nwords = ["x"]', "fields.bubbles: there is no such entry"),
    ('[fields.pressure]\nwrds = ["x"]', "fields.pressure.wrds: use one of words"),
    ('[fields.pressure]\nwords = "x"', "fields.pressure.words: this must be a list"),
    ("[fields.pressure]\nwords = [1]", "fields.pressure.words: these must be words"),
    ('[fields.pressure]\nwords = [" "]', "fields.pressure.words: these must be words"),
    ('[unitz]\nbar = ["x"]', "unitz: there is no such entry"),
    ('[units]\nfurlongs = ["x"]', "units.furlongs: there is no such entry"),
    ('[unsaid_units]\npressure = ["kilos"]', "unsaid_units.pressure: this must be a list of units"),
    ('[choices.outcome]\nsuperb = ["x"]', "choices.outcome.superb: use one of accepted"),
    ('[speech]\noaths = ["x"]', "speech.oaths: there is no such entry"),
    ("[prompt]\ntext = 3", "prompt.text: these must be words"),
    ('[[groups]]\nfields = ["pressure"]', "groups.fields: name two fields"),
    ('[[groups]]\nfields = ["pressure", "outcome"]', "groups.fields: name two fields"),
    ("[fields", "Expected ']'"),
])  # fmt: skip
def test_a_fault_is_named_with_its_place(tmp_path: Path, text: str, place: str) -> None:
    own = tmp_path / "vocabulary.toml"
    own.write_text(text)
    with pytest.raises(BadVocabulary) as caught:
        vocabulary_of("en", own)
    assert place in str(caught.value)
    assert str(own) in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_file_that_is_not_utf8_is_refused(tmp_path: Path) -> None:
    own = tmp_path / "vocabulary.toml"
    own.write_bytes(b'[speech]\nundo = ["caf\xe9"]')
    with pytest.raises(BadVocabulary):
        vocabulary_of("en", own)


def test_an_unknown_language_names_the_known_ones() -> None:
    with pytest.raises(UnknownLanguage, match="'fr'; use one of en, de"):
        vocabulary_of("fr")


def test_the_settings_know_the_same_languages() -> None:
    schema = SpeechSettings.model_json_schema()["properties"]["language"]
    assert tuple(schema["enum"]) == LANGUAGES


# What another language need not say: units beyond the trade, what the table says of itself, and
# what a recogniser makes of English words.
_BEYOND = ("other_units", "other_short_units", "other_counts", "written", "mended", "classes")


def _lists(tables: object, place: tuple[str, ...] = ()) -> dict[tuple[str, ...], object]:
    if isinstance(tables, dict):
        found: dict[tuple[str, ...], object] = {}
        for key, value in tables.items():
            found |= _lists(value, (*place, key))
        return found
    return {place: tables}


@pytest.mark.parametrize("language", [code for code in LANGUAGES if code != "en"])
def test_a_language_has_every_list_that_english_has(language: str) -> None:
    """Else a rule would silently not hold in it."""
    has = _lists(tables_of(language))
    wanted = {
        place
        for place in _lists(tables_of("en"))
        if place[0] not in _BEYOND
        # The lists that its own phrases are made of.
        and place[:2] != ("requests", "classes")
        and (place[0] != "fields" or place[-1] in ("words", "homophones", "not_before"))
    }
    missing = {place for place in wanted if not has.get(place)}
    assert missing == set()


@pytest.mark.parametrize("language", LANGUAGES)
def test_small_words_read_once_or_twice_are_the_same(language: str) -> None:
    small = tables_of(language).get("grammar", {})
    own = [word for words in small.values() for word in words]
    assert len(own) == len(set(own))
    assert not set(own) & {name for name, words in small.items() if name not in words}
