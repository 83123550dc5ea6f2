"""Values as people read them, in English and in the words of another language."""

import pytest

from recorder.model import units
from recorder.model.measurement import Limit, Measurement, Place
from recorder.model.quantity import Quantity
from recorder.model.reading import Reading, Standing, Typed, show_value
from recorder.model.words import Words

SPOKEN = {
    "below {value}": "unter {value}",
    "{low} to {high}": "{low} bis {high}",
    "± {tolerance} of the {size}": "± {tolerance} um: {size}",
    "belt width": "Gurtbreite",
    "{x} mm left of and {y} mm above the middle of the splice": "{y} mm über und {x} mm links",
    "yes": "ja",
    "V-guided": "keilgeführt",
}
GERMAN = Words(
    say=lambda text, /, **values: SPOKEN[text].format(**values),
    digits=lambda text: text.replace(".", ","),
)


def test_nothing_is_rounded_to_less_than_nothing() -> None:
    assert Measurement(value=-0.001, unit="mm", U=0.1).shown() == "0.00 ± 0.10 mm"
    assert units.show(-0.4, "degC") == "0 °C"


def test_a_space_parts_number_and_unit_but_for_degrees_of_an_angle() -> None:
    assert units.show(0.4, "percent") == "0.4 %"
    assert units.show(0.2, "deg") == "0.2°"
    assert units.show(21.0, "degC") == "21 °C"


@pytest.mark.parametrize(
    ("value", "english", "german"),
    [
        (Measurement(value=0.35, unit="mm", U=0.06), "0.35 ± 0.06 mm", "0,35 ± 0,06 mm"),
        (
            Measurement(value=0.2, unit="deg", U=0.11, k=2.5),
            "0.20 ± 0.11° (k = 2.5)", "0,20 ± 0,11° (k = 2,5)",
        ),
        (Measurement(value=0.12, unit="mm", U=0.1, below=True), "below 0.12 mm", "unter 0,12 mm"),
        (Limit(name="splice_width", low=69.3, high=70.7), "69.3 to 70.7 mm", "69,3 bis 70,7 mm"),
        (
            Limit(name="splice_width", tolerance=0.5),
            "± 0.5 mm of the belt width", "± 0,5 mm um: Gurtbreite",
        ),
        (
            Place(x_mm=-12.34, y_mm=-4.06, px=(1.0, 1.0)),
            "12.3 mm left of and 4.1 mm above the middle of the splice",
            "4,1 mm über und 12,3 mm links",
        ),
        (Quantity(value=2.5, unit="bar"), "2.5 bar", "2,5 bar"),
        (
            Reading(
                field="pressure", value=2.206, unit="bar", standing=Standing.CLEAR,
                as_said=Quantity(value=32.5, unit="psi"), evidence=Typed(),
            ),
            "2.21 bar (32.5 psi)", "2,21 bar (32,5 psi)",
        ),
    ],
)  # fmt: skip
def test_the_same_rounding_in_other_words(
    value: Measurement | Limit | Place | Quantity | Reading, english: str, german: str
) -> None:
    assert value.shown() == english
    assert value.shown(GERMAN) == german


@pytest.mark.parametrize(
    ("field", "value", "english", "german"),
    [
        ("bubbles", True, "yes", "ja"),
        ("guide_profile", "v_guided", "V-guided", "keilgeführt"),
        ("belt_width", 70.5, "70.5 mm", "70,5 mm"),
        ("supply_phases", 3.0, "3", "3"),
        ("customer", "v_guided", "v_guided", "v_guided"),
    ],
)
def test_values_of_fields(field: str, value: bool | float | str, english: str, german: str) -> None:
    assert show_value(field, value) == english
    assert show_value(field, value, GERMAN) == german


def test_the_number_alone() -> None:
    assert Measurement(value=0.35, unit="mm", U=0.06).shown(unit=False) == "0.35 ± 0.06"
