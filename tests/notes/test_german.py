"""German narrations on the text path: the same understanding, the same standings."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from recorder.model.job import in_force
from recorder.model.reading import Standing
from recorder.model.transcript import Transcript
from recorder.notes.answer import answer
from recorder.notes.extract import extract
from recorder.notes.languages import vocabulary_of
from recorder.notes.quantities import find_quantities
from recorder.notes.words.speaking import english, speaking
from recorder.notes.words.vocabulary import hearing_prompt
from recorder.notes.written import from_text
from tests.notes.pace import cpu_s
from tests.notes.telling import Value, states, told, values

GERMAN = vocabulary_of("de")
CLEAR, DOUBTFUL = Standing.CLEAR, Standing.DOUBTFUL


@pytest.fixture(autouse=True)
def _german() -> Iterator[None]:
    with speaking(GERMAN):
        yield


NARRATIONS: list[tuple[str, dict[str, Value]]] = [
    (
        "Auftragsnummer vier acht eins sieben, Kunde Bäckerei Larkfeld. Technikerin Imke Dorn.",
        {
            "job_number": "4817",
            "customer": "Bäckerei Larkfeld",
            "technician": "Imke Dorn",
        },
    ),
    (
        "Auftrag Nr. 4817. Presse P2, Schablone T30-10.",
        {"job_number": "4817", "press": "P2", "template": "T30-10"},
    ),
    (
        "Das Band ist siebzig Millimeter breit und anderthalb Millimeter dick.",
        {"belt_width": 70.0, "belt_thickness": 1.5},
    ),
    ("Bandbreite 1.200 mm, Banddicke 2,5 mm.", {"belt_width": 1200.0, "belt_thickness": 2.5}),
    ("Das Band ist 70 mal 2 Millimeter.", {"belt_width": 70.0, "belt_thickness": 2.0}),
    (
        "Hauptschalter abgeschlossen, freigeschaltet. Versorgung einphasig, 110 Volt, 15 Ampere.",
        {
            "isolation_confirmed": True,
            "supply_phases": 1.0,
            "supply_voltage": 110.0,
            "supply_current": 15.0,
        },
    ),
    (
        "Druck zwei Komma zwei Bar, Oberplatte hundertzweiundsiebzig Grad, Unterplatte "
        "hundertachtundsechzig Grad. Haltezeit dreieinhalb Minuten, Abkühlen auf siebzig Grad.",
        {
            "pressure": 2.2,
            "top_temperature": 172.0,
            "bottom_temperature": 168.0,
            "dwell_time": 210.0,
            "cool_down_temperature": 70.0,
        },
    ),
    (
        "Druck 29 psi, oben 350 Fahrenheit, Presszeit 3:30.",
        {"pressure": 1.9995, "top_temperature": 176.6667, "dwell_time": 210.0},
    ),
    (
        "Beide Heizplatten einhundert fünfundsiebzig Grad Celsius.",
        {"top_temperature": 175.0, "bottom_temperature": 175.0},
    ),
    (
        "Oben und unten hundertachtzig.",
        {"top_temperature": 180.0, "bottom_temperature": 180.0},
    ),
    (
        "Oben eins sieben fünf, unten eins achtundsechzig Grad.",
        {"top_temperature": 175.0, "bottom_temperature": 168.0},
    ),
    (
        "Oberplatte auf 180 Grad, Unterplatte das gleiche.",
        {"top_temperature": 180.0, "bottom_temperature": 180.0},
    ),
    ("Verweilzeit vier Minuten, Zykluszeit elf Minuten.", {"dwell_time": 240.0, "cycle_time": 660}),
    ("Haltezeit eine Minute dreißig Sekunden.", {"dwell_time": 90.0}),
    ("Haltezeit eine halbe Minute.", {"dwell_time": 30.0}),
    ("Haltezeit ein einhalb Minuten.", {"dwell_time": 90.0}),
    ("Zykluszeit eine dreiviertel Stunde.", {"cycle_time": 2700.0}),
    ("Druck einskommafünf Bar.", {"pressure": 1.5}),
    (
        "Oberplatte hundertachtzig Grad, Unterplatte auch.",
        {"top_temperature": 180.0, "bottom_temperature": 180.0},
    ),
    (
        "Gleicher Druck, oben und unten hundertzweiundachtzig.",
        {"top_temperature": 182.0, "bottom_temperature": 182.0},
    ),
    (
        "also druck zwei komma zwei bar oben hundertachtzig grad unten hundertfünfundsiebzig grad "
        "haltezeit dreieinhalb minuten abkühlen auf siebzig grad",
        {
            "pressure": 2.2,
            "top_temperature": 180.0,
            "bottom_temperature": 175.0,
            "dwell_time": 210.0,
            "cool_down_temperature": 70.0,
        },
    ),
    ("Umgebungstemperatur minus fünf Grad.", {"ambient_temperature": -5.0}),
    (
        "Vorheizen auf neunzig Grad, zwei Minuten.",
        {"preheat_temperature": 90.0, "preheat_time": 120},
    ),
    (
        "Fingerlänge dreißig Millimeter, Fingerteilung zehn Millimeter, größter Spalt "
        "null Komma drei Millimeter, Kantenversatz ein halber Millimeter.",
        {"finger_length": 30.0, "finger_pitch": 10.0, "finger_gap": 0.3, "edge_offset": 0.5},
    ),
    ("Bandbreite drei viertel Meter.", {"belt_width": 750.0}),
    ("Bandbreite zweieinhalb Zoll.", {"belt_width": 63.5}),
    # corrections and changes
    (
        "Oberplatte hundertfünfundsiebzig, nein, hundertzweiundsiebzig Grad.",
        {"top_temperature": 172},
    ),
    ("Haltezeit vier Minuten. Korrektur, dreieinhalb Minuten.", {"dwell_time": 210.0}),
    ("Druck 2,5 bar. Nein, halt, 2,2 bar.", {"pressure": 2.2}),
    ("Druck zwei Bar. Ich meine zwei Komma zwei.", {"pressure": 2.2}),
    ("Druck zwei Bar. Druck auf zwei Komma fünf Bar geändert.", {"pressure": 2.5}),
    # findings
    ("Keine Blasen, Verbindung angenommen.", {"bubbles": False, "outcome": "accepted"}),
    ("Die Blasen sind alle weg.", {"bubbles": False}),
    ("Blasen: keine. Ergebnis: verworfen.", {"bubbles": False, "outcome": "rejected"}),
    (
        "Blasen am Rand, die Verbindung muss in die Nacharbeit.",
        {"bubbles": True, "outcome": "rework"},
    ),
    ("Nicht freigeschaltet!", {"isolation_confirmed": False}),
    ("Fingerverbindung. Probelauf in Ordnung.", {"splice_type": "finger", "test_run": "ok"}),
    (
        "Ankunft 8:10 Uhr, Abfahrt um sechzehn Uhr fünfzehn.",
        {"arrived_at": "08:10", "left_at": "16:15"},
    ),
    (
        "Spannmarken vorher tausend Millimeter, nachher tausendzwölf Millimeter.",
        {"tension_mark_before": 1000.0, "tension_mark_after": 1012.0},
    ),
    ("Materialien: eine Rolle Trennfolie.", {"materials": "eine Rolle Trennfolie"}),
]


@pytest.mark.parametrize(("text", "truth"), NARRATIONS, ids=[t for t, _ in NARRATIONS])
def test_right_and_clear(text: str, truth: dict[str, Value]) -> None:
    assert states(text) == {name: (value, CLEAR) for name, value in truth.items()}


@pytest.mark.parametrize(("text", "field", "value"), [
    ("Haltezeit drei bis vier Minuten.", "dwell_time", 180.0),
    ("Druck zwei Bar, streich das.", "pressure", 2.0),
    ("Ich glaube, die Haltezeit war vier Minuten.", "dwell_time", 240.0),
    ("Der Kunde sagt, der Druck war 3 Bar.", "pressure", 3.0),
    ("Oberplatte hundertachtzig, fünf Grad.", "top_temperature", 180.0),
    ("Oberplatte siebzehn Grad.", "top_temperature", 17.0),
    ("Druck 22.", "pressure", 1.5168),
    ("Verbindung nicht angenommen.", "outcome", "rejected"),
    ("Keine Blasen außer einer am Rand.", "bubbles", False),
    ("Haltezeit zwischen drei und vier Minuten.", "dwell_time", 180.0),
    # what a recogniser writes instead of the trade word or the unit
    ("Alte Zeit drei Minuten.", "dwell_time", 180.0),
    ("Munter Platte hundertachtzig Grad.", "bottom_temperature", 180.0),
    ("Druck zwei paar.", "pressure", 2.0),
    ("Abfühlen auf siebzig Grad.", "cool_down_temperature", 70.0),
    ("Zwei Millimeter dig.", "belt_thickness", 2.0),
])  # fmt: skip
def test_what_may_be_wrong_is_asked(text: str, field: str, value: Value) -> None:
    assert states(text) == {field: (value, DOUBTFUL)}


@pytest.mark.parametrize("text", [
    "Der Druck sollte 2 bar sein.",
    "Vor zehn Minuten war die Oberplatte bei hundertvierzig Grad.",
    "Wir haben auf Blasen geprüft.",
    "Der Druck wurde um ein Bar erhöht.",
    "Maximal 2 bar.",
    "Haltezeit begonnen um zehn Uhr fünf.",
    "Haltezeit zwei Minuten länger als sonst.",
    "Fünf Grad über der Unterplatte.",
    "Zwei Finger offen.",
    "Bandbreite ein dreiviertel Meter.",
])  # fmt: skip
def test_what_is_no_setting_stays_a_note(text: str) -> None:
    found = told(text)
    assert found.readings == ()
    assert " ".join(note.text for note in found.notes) == text


def test_two_splices_and_a_second_press_run() -> None:
    found = told(
        "Erste Verbindung. Druck 2 bar. Blasen. Verworfen. 2. Verbindung: Druck 2,2 bar. "
        "Blasen. Noch einmal gepresst, Druck zweieinhalb Bar. Keine Blasen mehr. Angenommen."
    )
    by_place = {(r.field, r.splice, r.run): r.value for r in found.readings}
    assert by_place["pressure", 1, 1] == 2.0
    assert by_place["outcome", 1, 1] == "rejected"
    assert by_place["pressure", 2, 1] == 2.2
    assert by_place["pressure", 2, 2] == 2.5
    assert in_force(found.readings, 2)["bubbles"].value is False
    assert in_force(found.readings, 2)["outcome"].value == "accepted"


def test_swapped_plates_are_asked() -> None:
    text = "Oberplatte hundertachtzig. Unterplatte hundertsiebzig. Halt, umgekehrt."
    assert {standing for _, standing in states(text).values()} == {DOUBTFUL}


@pytest.mark.parametrize(("question", "reply", "value"), [
    ("pressure", "zwei Komma zwei", 2.2),
    ("top_temperature", "nein, hundertzweiundsiebzig", 172.0),
    ("bubbles", "keine", False),
    ("outcome", "angenommen", "accepted"),
    ("job_number", "vier acht eins sieben", "4817"),
])  # fmt: skip
def test_answers(question: str, reply: str, value: Value) -> None:
    readings = answer(from_text(reply, "answer.txt"), question).readings
    assert [(r.field, r.value) for r in readings] == [(question, value)]


def test_yes_confirms_and_no_does_not() -> None:
    (asked,) = told("Druck vielleicht zwei Bar.").readings
    (yes,) = answer(from_text("Ja, stimmt.", "a.txt"), asked).readings
    assert yes.standing is Standing.CONFIRMED
    no = answer(from_text("Nein.", "a.txt"), asked)
    assert no.readings == ()
    assert [note.text for note in no.notes] == ["Nein."]


def test_quantities_with_their_places() -> None:
    text = "Bei 2,5 bar und 1.200 mm, dreieinhalb Minuten."
    found = [(q.value, q.unit, text[q.start : q.end]) for q in find_quantities(text)]
    assert found == [
        (2.5, "bar", "2,5 bar"),
        (1200.0, "mm", "1.200 mm"),
        (3.5, "min", "dreieinhalb Minuten"),
    ]


def test_english_and_german_do_not_mix() -> None:
    assert values("Druck zwei Bar") == {"pressure": 2.0}
    with speaking(english()):
        assert "pressure" not in values("Druck zwei Komma zwei Bar")
        assert values("pressure two bar") == {"pressure": 2.0}
    assert values("Druck 1.200 mbar") == {"pressure": 1.2}
    assert "top platen" not in hearing_prompt(())
    assert "Oberplatte" in hearing_prompt(())


WORDS = sorted({word for text, _ in NARRATIONS for word in text.split()})
NUMBERS = ["eins", "ein", "und", "hundert", "hundertachtzig", "zwei", "siebzig", "Komma", "halb"]
NUMBERS += [
    "viertel",
    "dreiviertel",
    "1.200",
    "2,5",
    "1.2.3",
    "2.",
    "Uhr",
    "nach",
    "3:30",
    "²",
    "9" * 30,
]
PIECES = st.sampled_from(WORDS + NUMBERS * 4 + [".", ",", "?", "-", "°", "\0"])  # fmt: skip


@settings(max_examples=250, deadline=None)
@given(st.lists(PIECES | st.text(max_size=6), max_size=25).map(" ".join))
def test_no_text_crashes_it_or_loses_a_number(text: str) -> None:
    with speaking(GERMAN):
        text = re.sub("(?i)verbindung|spleiß|lauf|press", "Band", text)
        found = extract(from_text(text, "a.txt"))
        for field in ("pressure", "bubbles", "job_number"):
            answer(from_text(text, "a.txt"), field, found.readings)
        quantities = find_quantities(text)
    for quantity in quantities:
        assert 0 <= quantity.start < quantity.end <= len(text)
    kept = [r.evidence.said for r in found.readings if r.evidence.source == "spoken"]
    kept += [note.text for note in found.notes]
    for number in re.findall(r"[0-9]{2,}", text):
        assert number in " ".join(kept)


@pytest.mark.parametrize("piece", [
    "eins ", "hundert ", "und ", "ein ", "Komma ", "halb ", "zwei und ", "1.", "viertel nach ",
    "Oberplatte hundertachtzig ", "nein ", "hundertfünfundsiebzig", "keine Blasen ",
])  # fmt: skip
def test_time_grows_with_length_and_no_faster(piece: str) -> None:
    def took(length: int, enough: float = math.inf) -> float:
        text = (piece * (length // len(piece) + 1))[:length]
        transcript: Transcript = from_text(text, "a.txt")
        return cpu_s(lambda: extract(transcript), enough)

    limit = 2.5 * 4 * took(10_000) + 0.2
    assert took(40_000, limit) <= limit
