"""Whole narrations, written and heard."""

from __future__ import annotations

import pytest

from recorder.model.job import in_force
from recorder.model.reading import Spoken, Standing
from recorder.notes.extract import extract
from recorder.notes.written import from_text
from tests.notes.telling import card, heard, states, told, utterance, values

CLEAR, DOUBTFUL = Standing.CLEAR, Standing.DOUBTFUL

DEMO = """Job number four eight one seven for Larkfield Bakery.
Belt width seventy millimetres, thickness two millimetres. Isolation confirmed.
First splice is rejected, the fingers stand open on the left.
Second splice. Pressure thirty two psi.
Top platen one hundred and seventy five degrees Celsius.
No, make that one hundred and seventy two.
Bottom platen one hundred and sixty eight degrees. Dwell three minutes.
Cool down to fifty five degrees. Cycle time eleven minutes. No bubbles. Splice accepted."""


def test_the_demo_narration() -> None:
    extraction = told(DEMO)
    shown = [(r.field, r.value, r.splice, r.run) for r in extraction.readings]
    assert shown == [
        ("job_number", "4817", 1, 1),
        ("customer", "Larkfield Bakery", 1, 1),
        ("belt_width", 70.0, 1, 1),
        ("belt_thickness", 2.0, 1, 1),
        ("isolation_confirmed", True, 1, 1),
        ("outcome", "rejected", 1, 1),
        ("pressure", pytest.approx(2.2063, abs=1e-4), 2, 1),
        ("top_temperature", 175.0, 2, 1),
        ("top_temperature", 172.0, 2, 1),
        ("bottom_temperature", 168.0, 2, 1),
        ("dwell_time", 180.0, 2, 1),
        ("cool_down_temperature", 55.0, 2, 1),
        ("cycle_time", 660.0, 2, 1),
        ("bubbles", False, 2, 1),
        ("outcome", "accepted", 2, 1),
    ]
    assert {r.standing for r in extraction.readings} == {CLEAR}
    assert extraction.readings[8].why == "corrects 175 °C"
    assert str(extraction.readings[6].as_said) == "32 psi"
    assert [note.text for note in extraction.notes] == ["the fingers stand open on the left."]


SETTINGS = {
    "Both platens one seventy two.": {"top_temperature": 172, "bottom_temperature": 172},
    "Top and bottom 172 and 168 degrees Celsius.": {
        "top_temperature": 172,
        "bottom_temperature": 168,
    },
    "172 top, 168 bottom, degrees Celsius": {"top_temperature": 172, "bottom_temperature": 168},
    "We pressed at 172 top 168 bottom.": {"top_temperature": 172, "bottom_temperature": 168},
    "Top/bottom 172/168 °C": {"top_temperature": 172, "bottom_temperature": 168},
    "Dwell time four minutes, not three.": {"dwell_time": 240},
    "After eight minutes top platen 172 Celsius.": {"top_temperature": 172},
    "Bottom 168, top 172.": {"top_temperature": 172, "bottom_temperature": 168},
    "Top platen 171 Celsius and the same for the bottom.": {
        "top_temperature": 171,
        "bottom_temperature": 171,
    },
    "Dwell three fifteen minutes.": {"dwell_time": 195},
    "three-minute dwell": {"dwell_time": 180},
    "Dwell 3:30": {"dwell_time": 210},
    "Dwell three.": {"dwell_time": 180},
    "Pressure two point two.": {"pressure": 2.2},
    "Pressure and dwell were 2.2 bar and three minutes.": {"pressure": 2.2, "dwell_time": 180},
    "Raised the pressure from 1.8 bar to 2.1 bar.": {"pressure": 2.1},
    "Pressure now 2.6 bar instead of 2.2 bar.": {"pressure": 2.6},
    "Pressure 2.2 bar plus or minus 0.1 bar.": {"pressure": 2.2},
    "Top platen 180 degrees.": {"top_temperature": 180},  # 180 °F does not weld
    "Belt width is 70 mm nominal, measured 69.8 mm.": {"belt_width": 69.8},
    "Belt width 70 mm. Two mil thick.": {"belt_width": 70, "belt_thickness": 2},
    "The belt is 750 mil wide.": {"belt_width": 750},
    "The fingers are 30 mm long.": {"finger_length": 30},
    "30 mm fingers, ten pitch.": {"finger_length": 30, "finger_pitch": 10},
    "We ran it at 32 psi.": {"pressure": 2.2063},
    "belt width 70mm thickness 2mm": {"belt_width": 70, "belt_thickness": 2},
    "A 120 mm belt, 2.5 mm thick.": {"belt_width": 120, "belt_thickness": 2.5},
    "Top platen. One seventy two degrees.": {"top_temperature": 172},
    "Preheat forty seconds at 120 Celsius.": {"preheat_time": 40, "preheat_temperature": 120},
    "Twenty minutes ago it was one sixty, now the top platen is one seventy two.": {
        "top_temperature": 172
    },
    "Pressure reading 2.1 bar on the gauge, which is 0.1 bar below the card.": {"pressure": 2.1},
    # Check values of common practice (no source) for a narrow thermoplastic belt.
    "Single phase, 110 volts supply, 15 amps supply current. Pressure 1.5 bar, both platens "
    "175 degrees Celsius, dwell three and a half minutes, cool down to 70 degrees Celsius.": {
        "supply_phases": 1,
        "supply_voltage": 110,
        "supply_current": 15,
        "pressure": 1.5,
        "top_temperature": 175,
        "bottom_temperature": 175,
        "dwell_time": 210,
        "cool_down_temperature": 70,
    },
    "Pressure 2 bar, 180 Celsius top and bottom, dwell four minutes.": {
        "pressure": 2,
        "top_temperature": 180,
        "bottom_temperature": 180,
        "dwell_time": 240,
    },
}


@pytest.mark.parametrize(("text", "expected"), SETTINGS.items())
def test_settings_are_read_and_clear(text: str, expected: dict[str, float]) -> None:
    assert states(text) == {name: (value, CLEAR) for name, value in expected.items()}


CORRECTIONS = {
    "Top platen 175 Celsius, no, make that 172.": ("top_temperature", 175, 172),
    "Top platen 175 Celsius. Sorry, 172.": ("top_temperature", 175, 172),
    "Top platen 175 Celsius. Sorry. 172.": ("top_temperature", 175, 172),
    "Pressure two bar, correction, two point two bar.": ("pressure", 2, 2.2),
    "Dwell three minutes. I meant four minutes.": ("dwell_time", 180, 240),
    "Dwell three minutes. No, four.": ("dwell_time", 180, 240),
    "Pressure 2.2 bar. Scratch that. 2.4 bar.": ("pressure", 2.2, 2.4),
    "Pressure 2.2 bar. Correction, pressure 2.4 bar.": ("pressure", 2.2, 2.4),
}


@pytest.mark.parametrize(("text", "expected"), CORRECTIONS.items())
def test_a_correction_supersedes_and_keeps_the_history(
    text: str, expected: tuple[str, float, float]
) -> None:
    field, first, second = expected
    readings = told(text).readings
    assert [(r.field, r.value) for r in readings] == [(field, first), (field, second)]
    assert readings[1].standing is CLEAR
    assert readings[1].why.startswith("corrects ")


def test_a_correction_of_both_platens() -> None:
    assert values("Both platens 175 Celsius. No, make that 172.") == {
        "top_temperature": 172,
        "bottom_temperature": 172,
    }


def test_a_change_says_what_it_changes() -> None:
    last = told("Top platen 172 Celsius. Top platen changed to 176 Celsius.").readings[-1]
    assert (last.value, last.standing, last.why) == (176.0, CLEAR, "changes 172 °C")


def test_restating_another_value_without_a_word_of_correction_is_asked() -> None:
    last = told("Top platen 172 Celsius. Top platen 176 Celsius.").readings[-1]
    assert (last.value, last.standing, last.candidates) == (176.0, DOUBTFUL, (172.0,))
    assert last.why == "earlier it was 172 °C"


def test_what_is_taken_back_and_not_told_again_is_asked() -> None:
    readings = told("Pressure 2.2 bar. Scratch that. The phone rang.").readings
    assert [(r.value, r.standing) for r in readings] == [(2.2, CLEAR), (2.2, DOUBTFUL)]
    assert "taken back" in readings[1].why


ASKED = {
    "Ambient is 20 degrees.": ("ambient_temperature", 20, "no unit was said: °C or °F"),
    "Top platen 350 degrees.": ("top_temperature", 176.6667, "only Fahrenheit is plausible"),
    "Pressure 32.": ("pressure", 2.2063, "no unit was said: psi or kPa"),
    "Pressure 22 bar.": ("pressure", 22, "outside 0.3 bar to 6 bar"),
    "Finger gap is two mil.": ("finger_gap", 2, "a mil is a millimetre or"),
    "Top platen between 170 and 175 Celsius.": ("top_temperature", 170, "a range"),
    "Maybe the top platen is at 172 Celsius.": ("top_temperature", 172, "a guess"),
    "Is the pressure 2.2 bar?": ("pressure", 2.2, "a question"),
    "I see 32 psi on one side.": ("pressure", 2.2063, "by its unit alone"),
    "Dwell three thirty.": ("dwell_time", 210, "or 330 s"),
    "Top platen 107, 8 degrees Celsius.": ("top_temperature", 107, "another number stands beside"),
    "Cycle one took 11 minutes.": ("cycle_time", 660, "another number stands beside"),
    "Gap a tenth of a millimetre and a half.": ("finger_gap", 0.1, "another number stands beside"),
    "felt with 70 millimeters": ("belt_width", 70, "heard as 'felt with'"),
    "Well time three minutes": ("dwell_time", 180, "heard as 'Well time'"),
    "pressure 32 side": ("pressure", 2.2063, "heard as 'side'"),
}


@pytest.mark.parametrize(("text", "expected"), ASKED.items())
def test_what_may_be_wrong_is_asked(text: str, expected: tuple[str, float, str]) -> None:
    (reading,) = told(text).readings
    assert (reading.field, round(float(reading.value), 4)) == expected[:2]
    assert reading.standing is DOUBTFUL
    assert expected[2] in reading.why


@pytest.mark.parametrize(
    ("text", "candidate"),
    [
        ("Pressure 22 bar", 2.2),
        ("Pressure 9 bar", 0.9),
    ],
)
def test_an_implausible_value_has_likely_ones_beside_it(text: str, candidate: float) -> None:
    (reading,) = told(text).readings
    assert reading.standing is DOUBTFUL
    assert reading.candidates[0] == candidate


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("Top platen 1.76 degrees Celsius.", 176.0),
        ("1.73 on the top platen.", 173.0),
        ("Belt width 6.50 mm.", 650.0),
        ("Bottom plate 3.45 Fahrenheit.", pytest.approx(173.889, abs=0.01)),
    ],
)
def test_a_point_between_the_groups_of_a_number(text: str, value: float) -> None:
    (reading,) = told(text).readings
    assert (reading.value, reading.standing) == (value, DOUBTFUL)
    assert "heard as" in reading.why


@pytest.mark.parametrize(
    "text",
    [
        "Ten minutes ago the top platen was at one forty.",
        "The top platen was at one forty, ten minutes ago.",
        "The top platen runs five degrees above the bottom.",
        "The bottom platen is 4 degrees cooler.",
        "Last time we used two bar and 170 degrees on top.",
        "The recipe asks for 172 degrees on the top platen.",
        "Never go above 190 degrees on the top platen.",
        "Wait until the top platen reaches 170 degrees.",
        "If the pressure is 3 bar, stop.",
        "Top platen dropped by five degrees.",
        "The old belt was 2.5 millimetres thick.",
        "The pressure hose is 2 m long.",
        "The thickness of the sheet is 3 mm.",
        "Two fingers are open near the top edge.",
        "Check for bubbles after it cools.",
        "Two bolts on top were loose.",
        "The delivery was accepted yesterday.",
        "The customer accepted the offer.",
        "A forklift was idling for 20 minutes.",
        "It cooled down for ten minutes.",
        "We did this job in 3 hours.",
        "The guide is 8 mm wide.",
        "Top cover is 0.5 mm thick.",
        "Cut it out, that costs me sixty millimetres of belt.",
    ],
)
def test_what_is_no_setting_stays_a_note(text: str) -> None:
    extraction = told(text)
    assert extraction.readings == ()
    assert " ".join(note.text for note in extraction.notes) == text


def test_units_of_the_job_settle_a_bare_number() -> None:
    bare = "Ambient is 20 degrees."
    assert states(bare)["ambient_temperature"][1] is DOUBTFUL
    for other in ("Bottom platen 175 Celsius.", "Top platen 172."):
        assert states(f"{other} {bare}")["ambient_temperature"] == (20, CLEAR)
        assert states(f"{bare} {other}")["ambient_temperature"] == (20, CLEAR)
    known = card(asked={"pressure": "29 psi"})
    assert states("Pressure thirty.", known)["pressure"] == (pytest.approx(2.0684), CLEAR)


@pytest.mark.parametrize(
    ("text", "field", "standing"),
    [
        ("Pressure 2.2.", "pressure", CLEAR),  # psi, kPa and MPa are all implausible
        ("Top platen 172.", "top_temperature", CLEAR),  # 172 °F does not weld
        ("Cycle time 11.", "cycle_time", CLEAR),  # neither 11 s nor 11 h
        ("Dwell 180.", "dwell_time", CLEAR),
        ("Pressure 5.", "pressure", DOUBTFUL),  # bar or psi
        ("Pressure 22.", "pressure", DOUBTFUL),  # psi, or 2.2 bar without its point
        ("Pressure 0.8.", "pressure", CLEAR),  # 0.8 MPa is too much
        ("Pressure 0.4.", "pressure", DOUBTFUL),  # bar or MPa
        ("Belt thickness 2.", "belt_thickness", DOUBTFUL),  # mm or cm
        ("Belt width 70 millimetres. Belt thickness 2.", "belt_thickness", CLEAR),
        ("Cycle time 2.", "cycle_time", DOUBTFUL),  # neither minutes nor hours
        ("Time on site three.", "time_on_site", DOUBTFUL),
        ("Dwell 30.", "dwell_time", DOUBTFUL),  # minutes or seconds
        ("Cycle time 11 minutes. Dwell 30.", "dwell_time", DOUBTFUL),
    ],
)
def test_a_number_without_a_unit_is_clear_when_only_one_unit_can_be(
    text: str, field: str, standing: Standing
) -> None:
    assert states(text)[field][1] is standing


def test_second_splice_and_press_runs() -> None:
    text = """First splice. Pressure 2 bar. Press it again. Pressure 2.2 bar. Splice accepted.
    Next splice. Pressure 2.4 bar. Second press run. Pressure 2.5 bar."""
    assert [(r.field, r.value, r.splice, r.run) for r in told(text).readings] == [
        ("pressure", 2.0, 1, 1),
        ("pressure", 2.2, 1, 2),
        ("outcome", "accepted", 1, 1),
        ("pressure", 2.4, 2, 1),
        ("pressure", 2.5, 2, 2),
    ]


@pytest.mark.parametrize(
    "name", ["Splice two", "2nd splice", "Splice number 2", "splice #2", "second slice"]
)
def test_ways_to_name_a_splice(name: str) -> None:
    (reading,) = told(f"{name}. Pressure 2 bar.").readings
    assert (reading.value, reading.splice) == (2.0, 2)


def test_looking_back_at_an_earlier_splice_does_not_go_back() -> None:
    text = """Splice two. Pressure 2 bar. Splice one is rejected. Dwell 3 min.
    Both splices are accepted."""
    assert [(r.field, r.splice) for r in told(text).readings] == [
        ("pressure", 2),
        ("outcome", 1),
        ("dwell_time", 2),
        ("outcome", 1),
        ("outcome", 2),
    ]


def test_counting_goes_on_from_what_is_known() -> None:
    first = told("Second splice. Pressure 2 bar.").readings
    more = told("Press it again. Pressure 2.3 bar. Next splice. Pressure 2.1 bar.", first).readings
    assert [(r.value, r.splice, r.run) for r in more] == [(2.3, 2, 2), (2.1, 3, 1)]


def test_a_contradiction_of_an_earlier_file_is_seen() -> None:
    first = told("Pressure 2 bar.").readings
    (again,) = told("Pressure 2.5 bar.", first).readings
    assert (again.standing, again.candidates) == (DOUBTFUL, (2.0,))


def test_times_and_words_of_the_evidence() -> None:
    (reading,) = heard(utterance("okay then Pressure 32 psi today", "=", start_s=10)).readings
    assert isinstance(reading.evidence, Spoken)
    assert reading.evidence.said == "Pressure 32 psi"
    assert (reading.evidence.start_s, reading.evidence.end_s) == (11.0, 12.4)
    assert reading.evidence.file == "heard.wav"


def test_notes_have_their_place() -> None:
    (note,) = heard(utterance("A forklift was idling there.", "=", start_s=4)).notes
    assert (note.text, note.file) == ("A forklift was idling there.", "heard.wav")
    assert (note.start_s, note.end_s) == (4.0, 6.4)


def test_a_written_and_a_heard_narration_give_the_same() -> None:
    written = extract(from_text(DEMO, "x"))
    spoken = heard(*(utterance(line, "=") for line in DEMO.splitlines()))
    shape = [(r.field, r.value, r.splice, r.run) for r in written.readings]
    assert [(r.field, r.value, r.splice, r.run) for r in spoken.readings] == shape


def test_a_finding_told_twice_is_one_reading() -> None:
    extraction = told("Isolation confirmed, the drive is locked out.")
    assert [(r.field, r.value) for r in extraction.readings] == [("isolation_confirmed", True)]
    assert extraction.readings[0].evidence == Spoken(file="told.txt", said="Isolation confirmed,")


def test_nothing_said_gives_nothing() -> None:
    assert in_force(told("").readings) == {}
    assert told(" . ").notes == ()


@pytest.mark.parametrize(
    "said",
    [
        "100, and 87",
        "100 and 87",
        "100, 87",
        "100 87",
        "a 100 87",
        "1,00 and 87",
        "one hundred, 87",
    ],
)
def test_hundreds_that_a_recogniser_wrote_apart(said: str) -> None:
    both = told(f"Both platens {said} degrees Celsius.").readings
    assert [(r.value, r.standing) for r in both] == [(187.0, DOUBTFUL)] * 2
    (top,) = told(f"Top platen {said} degrees Celsius.").readings
    assert (top.value, top.standing, top.candidates) == (187.0, DOUBTFUL, ())
    assert top.why == "heard as 100 and 87"


def test_hundreds_with_their_own_unit_are_a_value() -> None:
    assert values("Belt width 500 mm, 2 mm thick.") == {"belt_width": 500, "belt_thickness": 2}


@pytest.mark.parametrize("said", ["100 and 187", "172 and 132", "90 and 95", "212 and 172"])
def test_two_numbers_for_both_platens_that_are_no_likely_pair(said: str) -> None:
    readings = told(f"Both platens {said} Celsius.").readings
    assert [reading.standing for reading in readings] == [DOUBTFUL, DOUBTFUL]


def test_platens_far_apart_are_asked_about_both() -> None:
    readings = told("Top platen 172 Celsius. Bottom platen 128 Celsius.").readings
    assert [(r.standing, r.why) for r in readings] == [
        (DOUBTFUL, "top and bottom far apart (128 °C)"),
        (DOUBTFUL, "top and bottom far apart (172 °C)"),
    ]
    earlier = told("Top platen 172 Celsius.").readings
    assert told("Bottom platen 128 Celsius.", earlier).readings[0].standing is DOUBTFUL


def test_platens_far_apart_in_what_no_longer_holds_are_not_asked_about() -> None:
    readings = told("Top platen 135 Celsius, no, 172. Bottom 168. Run two. Top 120.").readings
    assert {reading.standing for reading in readings} == {CLEAR}


def test_platens_far_apart_as_the_job_card_asks_are_clear() -> None:
    known = card(asked={"top_temperature": "172 degC", "bottom_temperature": "120 degC"})
    readings = told("Top platen 172 Celsius. Bottom platen 120 Celsius.", known).readings
    assert {reading.standing for reading in readings} == {CLEAR}
