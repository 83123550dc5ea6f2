"""Numbers about what was spoken of before them, and fields that two numbers or a word tell."""

from __future__ import annotations

import pytest

from recorder.model.job import in_force
from recorder.model.reading import Standing
from recorder.notes.answer import answer
from recorder.notes.written import from_text
from tests.notes.telling import Value, card, states, told

CLEAR, DOUBTFUL = Standing.CLEAR, Standing.DOUBTFUL

PLAIN: dict[str, dict[str, Value]] = {
    # Wanted and used.
    "Target top 178, actual 174.": {"top_temperature": 174.0},
    "Target top was 178. Actual 174.": {"top_temperature": 174.0},
    "We asked for two bar, used one point eight.": {"pressure": 1.8},
    "Pressure was supposed to be two bar; it's actually one point nine.": {"pressure": 1.9},
    "Card wants four minutes of dwell, I gave it three and a half.": {"dwell_time": 210.0},
    "The label says three millimetres thick but I measured 2.8.": {"belt_thickness": 2.8},
    # Before and now.
    "Top was one seventy five but now one seventy eight.": {"top_temperature": 178.0},
    "Pressure started at 1.5 bar and finished at 2 bar.": {"pressure": 2.0},
    "Pressure two bar. Bumped it up to two point two.": {"pressure": 2.2},
    "Set pressure 2.5 bar. Hang on, it's down to 2.2 now.": {"pressure": 2.2},
    "Pressure two bar. Sorry, that should be one point eight bar.": {"pressure": 1.8},
    # A trade word further back.
    "The bottom plate is lagging, one eighty three, it'll do.": {"bottom_temperature": 183.0},
    "30 psi pressure, that's about two bar.": {"pressure": pytest.approx(2.0684, abs=1e-4)},
    # Two numbers of one thing.
    "It's an eighty by three millimetre belt.": {"belt_width": 80.0, "belt_thickness": 3.0},
    "Finger splice, thirty by ten millimetres.": {
        **{"splice_type": "finger", "finger_length": 30.0, "finger_pitch": 10.0},
    },
    "Tension marks: 1000 mm before, 1012 after.": {
        **{"tension_mark_before": 1000.0, "tension_mark_after": 1012.0},
    },
    "Tension marks a metre apart before. After tensioning 1.012 metres.": {
        **{"tension_mark_before": 1000.0, "tension_mark_after": 1012.0},
    },
    # The same once more.
    "Bottom same as top. Top 176.": {"top_temperature": 176.0, "bottom_temperature": 176.0},
    "Top 176, bottom likewise.": {"top_temperature": 176.0, "bottom_temperature": 176.0},
    # Units that are told apart from their numbers.
    "Top 340, bottom 342, Fahrenheit.": {
        **{
            "top_temperature": pytest.approx(171.1111),
            "bottom_temperature": pytest.approx(172.2222),
        }
    },
    "Thirty by ten fingers. Millimetres, that is.": {"finger_length": 30.0, "finger_pitch": 10.0},
    # In their own words.
    "Materials: two sheets of 0.3 mm film.": {"materials": "two sheets of 0.3 mm film"},
    "Next check in three months.": {"next_check": "in three months"},
    "Job number 5216, no, 5261.": {"job_number": "5261"},
    "Customer is Harwick Foods. Sorry, Harwick Fisheries.": {"customer": "Harwick Fisheries"},
}


@pytest.mark.parametrize(("text", "expected"), PLAIN.items())
def test_is_clear(text: str, expected: dict[str, Value]) -> None:
    assert states(text) == {name: (value, CLEAR) for name, value in expected.items()}


@pytest.mark.parametrize(
    "text",
    [
        "Dwell three minutes. We got a biscuit each off the people on line four.",
        "Supply current 32 amps. It took two of us to lift it.",
        "Pressure two bar. The filter is good for six months now.",
        "Tension marks 1000 mm before. After lunch we went on for two hours.",
    ],
)
def test_a_number_of_something_else_changes_nothing(text: str) -> None:
    first = text.split(". ", maxsplit=1)[0]
    assert states(text) == states(first)


@pytest.mark.parametrize(
    "text",
    [
        "The compressor makes seven bar.",
        "The motor draws eleven amps.",
        "Page two of the sheet says dwell four minutes.",
        "Two fingers left open.",
    ],
)
def test_numbers_of_other_things_stay_notes(text: str) -> None:
    heard = told(text)
    assert heard.readings == ()
    assert [note.text for note in heard.notes] == [text]


@pytest.mark.parametrize(
    "text",
    ["Dwell four minutes, ignore it.", "Dwell will be four minutes.", "I recommend a new roller."],
)
def test_is_asked(text: str) -> None:
    assert [standing for _, standing in states(text).values()] == [DOUBTFUL]


TIMES = {
    "Arrived at quarter past eight.": ("arrived_at", "08:15", CLEAR),
    "Left at ten to twelve.": ("left_at", "11:50", CLEAR),
    "Arrived at half eight this morning.": ("arrived_at", "08:30", CLEAR),
    "Clocked in at thirteen oh five.": ("arrived_at", "13:05", CLEAR),
    "Left site at twenty to four in the afternoon.": ("left_at", "15:40", CLEAR),
    "Arrived 7:40 am.": ("arrived_at", "07:40", CLEAR),
    "Arrived at ten p.m.": ("arrived_at", "22:00", CLEAR),
    "Left at half past four.": ("left_at", "16:30", DOUBTFUL),
    "Left at noon.": ("left_at", "12:00", CLEAR),
}


@pytest.mark.parametrize(("text", "expected"), TIMES.items())
def test_time_of_day(text: str, expected: tuple[str, str, Standing]) -> None:
    field, value, standing = expected
    assert states(text) == {field: (value, standing)}


def test_a_time_before_or_after_noon_is_asked_with_both() -> None:
    (left,) = told("Left at half past four.").readings
    assert (left.value, left.candidates) == ("16:30", ("04:30",))


def test_from_till() -> None:
    assert states("On site from eight till eleven thirty.") == {
        "arrived_at": ("08:00", CLEAR),
        "left_at": ("11:30", CLEAR),
    }


def test_the_day_of_a_typed_time_is_taken() -> None:
    known = card(used={"arrived_at": "2026-11-25T08:10+01:00"})
    (left,) = told("Left at quarter to twelve.", known).readings
    assert left.value == "2026-11-25T11:45:00+01:00"


def test_a_time_as_an_answer() -> None:
    (found,) = answer(from_text("quarter past eight", "answer.txt"), "arrived_at").readings
    assert (found.field, found.value) == ("arrived_at", "08:15")


def test_settings_are_taken_over() -> None:
    text = """Splice one. Top 174, bottom 172, pressure 1.8 bar, dwell three minutes.
    Splice two, same settings. Dwell four minutes."""
    readings = told(text).readings
    second = in_force(readings, splice=2)
    assert {name: (r.value, r.standing) for name, r in second.items()} == {
        "top_temperature": (174.0, CLEAR),
        "bottom_temperature": (172.0, CLEAR),
        "pressure": (1.8, CLEAR),
        "dwell_time": (240.0, CLEAR),
    }
    assert second["pressure"].why == "as of splice 1, run 1"


def test_the_same_but_another_number_is_asked() -> None:
    text = "Run one, top 170, two bar pressure. Run two, same settings but at 180."
    second = in_force(told(text).readings, run=2)
    assert {r.standing for r in second.values()} == {DOUBTFUL}


def test_splices_pointed_at_by_number() -> None:
    text = (
        "Splice one. Gap 0.3 mm. Splice two. Gap 0.4 mm. Number one's accepted. Reject the second."
    )
    readings = told(text).readings
    assert [(r.value, r.splice) for r in readings if r.field == "outcome"] == [
        ("accepted", 1),
        ("rejected", 2),
    ]


def test_a_finding_that_changed_is_no_contradiction() -> None:
    assert states("Not isolated yet. Isolation confirmed.")["isolation_confirmed"] == (True, CLEAR)
    text = "There was a bubble but it rolled out, so no bubbles left."
    assert states(text)["bubbles"] == (False, CLEAR)
    assert states("Bubbles? None.")["bubbles"] == (False, CLEAR)
