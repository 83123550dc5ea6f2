"""Sentences from the documentation of text2num and quantulum3, read by them and by us.

text2num (https://pypi.org/project/text2num) finds numbers, quantulum3
(https://pypi.org/project/quantulum3) quantities; the sentences are those of their READMEs that have
English numbers, or units of ours.
"""

from __future__ import annotations

import pytest
from quantulum3 import parser
from text_to_num import text2num

from recorder.notes.numbers.numbers import number_at
from recorder.notes.quantities import find_quantities
from recorder.notes.words.lexer import tokens_of

NUMBERS = [
    "fifty-one million five hundred seventy-eight thousand three hundred two",
    "eighty-one",
]
# Of these quantulum3 says in its README that they are a speed, a density, a volume, a mass, energy.
OTHER_QUANTITIES = [
    "I want 2 liters of wine",
    "I want two",
    "I want a gallon of beer",
    "The LHC smashes proton beams at 12.8–13.0 TeV",
    "Sound travels at 0.34 km/s",
    "It weighs no more than 20 pounds",
    "The average density of the Earth is about 5.5x10-3 kg/cm³",
    "The amount of O₂ is 2.98e-4 kg per liter of atmosphere",
    "Gimme $1e10 now and also 1 TW and 0.5 J!",
]
# Of our kinds, in plain words; quantulum3's names of units.
SHARED = {
    "degree Celsius": ("degC", "It was {} degrees Celsius in there."),
    "degree fahrenheit": ("degF", "It was {} degrees Fahrenheit in there."),
    "metre": ("m", "The rope is {} metres long."),
    "inch": ("inch", "The rope is {} inches long."),
    "mile": ("mile", "We walked {} miles."),
    "hour": ("hour", "We walked for {} hours."),
    "day": ("day", "We walked for {} days."),
    "volt": ("V", "It was wired for {} volts."),
    "pound per square inch": ("psi", "The tyre had {} psi."),
    "pascal": ("Pa", "The tyre had {} pascals."),
}
SPOKEN = ["3", "2.25", "1,250", "-40", "twelve", "thirty-five", "two hundred", "1.5e3"]


@pytest.mark.parametrize("text", NUMBERS)
def test_numbers(text: str) -> None:
    tokens = tokens_of(text)
    number = number_at(tokens, 0)
    assert number is not None
    assert (number.value, number.end) == (text2num(text, "en"), len(tokens))


@pytest.mark.parametrize("text", OTHER_QUANTITIES)
def test_quantities_of_other_kinds_are_not_ours(text: str) -> None:
    assert find_quantities(text) == ()


@pytest.mark.parametrize("name", SHARED)
@pytest.mark.parametrize("spoken", SPOKEN)
def test_same_quantity_in_the_same_place(name: str, spoken: str) -> None:
    unit, sentence = SHARED[name]
    text = sentence.format(spoken)
    (theirs,) = parser.parse(text)
    (ours,) = find_quantities(text)
    assert theirs.unit.name == name
    assert (ours.value, ours.unit) == (pytest.approx(theirs.value), unit)
    assert (ours.start, ours.end) == theirs.span
