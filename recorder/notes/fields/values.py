"""An amount and a field to a value: which unit was meant, and whether the value is plausible."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from recorder.model.fields import FIELDS
from recorder.model.quantity import Quantity
from recorder.model.units import UNITS, convert, show
from recorder.notes.numbers.amounts import Amount
from recorder.notes.words.vocabulary import words

# Relative, between units that do not convert into whole numbers: 32 psi is 2.206 bar and agrees
# with a card that says 2.2 bar.
AGREE = 0.003
# Top and bottom platen of one press run differ by less; common practice, no source.
FAR_APART_K = 30.0
TWINS = {"top_temperature": "bottom_temperature", "bottom_temperature": "top_temperature"}
# Where a value lies whose unit was not said, closer than the plausible range: a platen below
# 100 °C does not weld, nobody preheats below 60 °C or waits until the press is cold, and a gap is
# told in tenths of a millimetre. Common practice, no source.
_USUAL = {
    "top_temperature": (100.0, 230.0),
    "bottom_temperature": (100.0, 230.0),
    "cool_down_temperature": (30.0, 120.0),
    "preheat_temperature": (60.0, 230.0),
    "finger_gap": (0.0, 2.0),
}
# A unit that tells in which other one the same person speaks: who says Celsius measures in mm.
_IMPLIED = {"degC": ("length", "mm")}
# Who counts in thousandths of an inch counts whole ones, and no further; any other "mil" is a
# millimetre.
_MOST_THOU = 250.0


@dataclass(frozen=True)
class Habit:
    """What is known beside the sentence.

    units: by dimension, the unit in which this job speaks. expected: by field, the values that a
    person typed for this job. names: likewise for fields of words. day: date and zone of a time
    that a person typed, as ISO 8601 writes them; empty when there was none.
    """

    units: Mapping[str, str] = field(default_factory=dict)
    expected: Mapping[str, tuple[Quantity, ...]] = field(default_factory=dict)
    names: Mapping[str, str] = field(default_factory=dict)
    day: tuple[str, str] | tuple[()] = ()


@dataclass(frozen=True)
class Resolved:
    """value: in the field's canonical unit. as_said: in the unit meant, when that differs.
    doubts: in plain words, empty when there are none. candidates: other values, likeliest first.
    unit_open: which unit was meant may show itself later.
    """

    value: float
    as_said: Quantity | None
    doubts: tuple[str, ...] = ()
    candidates: tuple[float, ...] = ()
    unit_open: bool = False


def agree(a: Quantity, b: Quantity) -> bool:
    """Whether two quantities of one dimension are the same for a person, as they were given.

    In one unit, or in two of which one is a whole number of the other (3 min, 180 s), they are
    equal or they differ; only between others (bar and psi) each was rounded by itself.
    """
    value = convert(a.value, a.unit, b.unit)
    margin = 1e-9 if _whole_multiple(a.unit, b.unit) else AGREE
    return math.isclose(value, b.value, rel_tol=margin, abs_tol=1e-9)


def _whole_multiple(unit: str, other: str) -> bool:
    zero = convert(0.0, unit, other)
    factor = convert(1.0, unit, other) - zero
    larger = max(factor, 1 / factor)
    return zero == 0 and math.isclose(larger, round(larger), rel_tol=1e-9)


def plausible(name: str, value: float) -> bool:
    bounds = FIELDS[name].plausible
    return bounds is None or bounds[0] <= value <= bounds[1]


def _usual(name: str, value: float) -> bool:
    low, high = _USUAL.get(name, (-math.inf, math.inf))
    return plausible(name, value) and low <= value <= high


def spoken_unit(units: Mapping[str, str], name: str, amount: Amount) -> dict[str, str]:
    """``units`` with the one in which this amount was given, when it tells how the job speaks.

    A bare number tells it too when only one unit gives it a usual value. No unit of time: a job
    that speaks of minutes of cycle speaks of seconds of dwell.
    """
    dimension = UNITS[FIELDS[name].unit or ""].dimension
    unit = amount.unit
    if unit in (None, "deg"):
        canonical = FIELDS[name].unit or ""
        likely = words("unsaid_units", dimension)
        fitting = [u for u in likely if _usual(name, convert(amount.value, u, canonical))]
        unit = fitting[0] if fitting == [*likely[:1]] else None
        if dimension != "temperature":
            unit = None
    if unit is None or dimension == "time":
        return dict(units)
    implied, other = _IMPLIED.get(unit, ("", ""))
    told = {**units, UNITS[unit].dimension: unit}
    return told if not implied or implied in told else {**told, implied: other}


def resolve(name: str, amount: Amount, habit: Habit) -> Resolved | None:
    """The value that an amount gives to a quantity field; None when it cannot be one."""
    found = _resolved(name, amount, habit)
    if found is not None:
        found = _point_put(name, found) or _point_lost(name, amount, found)
    if found is None or not amount.parts:
        return found
    unit = found.as_said.unit if found.as_said else FIELDS[name].unit or ""
    others = [_canonical(name, Quantity(value=part, unit=unit)) for part in amount.parts]
    doubt = "heard as " + " and ".join(f"{part:.0f}" for part in amount.parts)
    candidates = (*found.candidates, *(value for value in others if plausible(name, value)))
    return replace(found, doubts=(*found.doubts, doubt), candidates=candidates)


def _point_put(name: str, found: Resolved) -> Resolved | None:
    """As in "top platen 1.72": a point that was heard between the groups of "one seventy two"."""
    said = found.as_said or Quantity(value=found.value, unit=FIELDS[name].unit or "")
    whole = float(f"{said.value * 100:.6g}")
    if plausible(name, found.value) or not 1 <= said.value < 10 or whole % 1 or said.value % 1 == 0:
        return None
    value = convert(whole, said.unit, FIELDS[name].unit or "")
    if not plausible(name, value):
        return None
    as_said = Quantity(value=whole, unit=said.unit) if found.as_said else None
    return Resolved(value, as_said, (f"heard as {said.value:g}",), (found.value,))


def _point_lost(name: str, amount: Amount, found: Resolved) -> Resolved:
    """As in "two five millimetres": 25, or 2.5 of which the point was not heard."""
    groups = amount.number.groups
    smaller = float(f"{found.value / 10:.6g}")
    if len(groups) != 2 or any(len(group) != 1 for group in groups) or found.as_said:
        return found
    if not plausible(name, smaller):
        return found
    doubt = "two digits, perhaps with a point between them"
    candidates = (*found.candidates, smaller)
    return replace(found, doubts=(*found.doubts, doubt), candidates=candidates)


def _resolved(name: str, amount: Amount, habit: Habit) -> Resolved | None:
    said = "s" if amount.clock and amount.unit is None else amount.unit
    if said == "mil":
        return _mil(name, amount, habit)
    if said is None or said == "deg":
        minutes = _minutes_and_seconds(name, amount)
        return minutes or _unit_unsaid(name, amount, habit)
    minutes = _minutes_and_seconds(name, amount) if said == "min" else None
    if minutes:
        return minutes
    quantity = _quantity(amount.value, said)
    return _checked(name, amount, quantity) if quantity else None


def _mil(name: str, amount: Amount, habit: Habit) -> Resolved:
    """A mil is a millimetre to a Briton and a thousandth of an inch to an American."""
    usual = habit.units.get("length")
    inches = usual in ("inch", "thou", "foot")
    units: tuple[str, ...] = ("thou", "mm") if inches else ("mm", "thou")
    if amount.value > _MOST_THOU or amount.value < 1:
        units = ("mm",)
    found = [_checked(name, amount, Quantity(value=amount.value, unit=unit)) for unit in units]
    fitting = [option for option in found if not option.doubts] or found
    alone = len(fitting) == 1 and not fitting[0].doubts
    settled = alone or (usual is not None and fitting[0] is found[0])
    if settled or fitting[0].doubts:
        return fitting[0]
    others = tuple(option.value for option in found if option is not fitting[0])
    doubt = "a mil is a millimetre or a thousandth of an inch"
    return replace(fitting[0], doubts=(doubt,), candidates=others, unit_open=True)


def _quantity(value: float, unit: str) -> Quantity | None:
    try:
        return Quantity(value=value, unit=unit)
    except ValueError:
        return None


def _canonical(name: str, quantity: Quantity) -> float:
    return convert(quantity.value, quantity.unit, FIELDS[name].unit or "")


def _checked(name: str, amount: Amount, quantity: Quantity) -> Resolved:
    """With a doubt when it lies outside the plausible range."""
    value = _canonical(name, quantity)
    as_said = quantity if quantity.unit != FIELDS[name].unit else None
    if plausible(name, value):
        return Resolved(value, as_said)
    low, high = FIELDS[name].plausible or (value, value)
    unit = FIELDS[name].unit or ""
    doubt = f"{quantity} is outside {show(low, unit)} to {show(high, unit)}"
    return Resolved(value, as_said, (doubt,), _near_misses(name, amount, quantity))


def _near_misses(name: str, amount: Amount, quantity: Quantity) -> tuple[float, ...]:
    """What an implausible value may have been: a point put in or lost, mil for millimetre."""
    found: list[float] = []
    if quantity.unit == "thou":
        found.append(amount.value)
    for factor in (100.0, 10.0, 0.1, 0.01):
        scaled = convert(quantity.value * factor, quantity.unit, FIELDS[name].unit or "")
        found.append(float(f"{scaled:.6g}"))
    return tuple(value for value in found if plausible(name, value))[:3]


def _minutes_and_seconds(name: str, amount: Amount) -> Resolved | None:
    """As in "three thirty", "three fifteen minutes": 3 min 30 s, unless the number fits too."""
    groups = amount.number.groups
    unit = FIELDS[name].unit
    # "3.30" is what a recogniser makes of "three thirty".
    pointed = len(groups) == 1 and len(groups[0].rpartition(".")[2]) == 2
    if pointed:
        groups = tuple(groups[0].split("."))
    if unit != "s" or len(groups) != 2 or len(groups[1]) != 2:
        return None
    if int(groups[1]) >= 60 or amount.unit not in (None, "min"):
        return None
    parts = Quantity(value=int(groups[0]) * 60.0 + int(groups[1]), unit="s")
    whole_unit = "min" if pointed else amount.unit or "s"
    whole = convert(amount.value, whole_unit, "s")
    if not plausible(name, parts.value):
        return None
    if not plausible(name, whole) and not amount.number.joined:
        return _checked(name, amount, parts)
    doubt = f"minutes and seconds, or {show(amount.value, whole_unit)}"
    return Resolved(parts.value, None, (doubt,), (whole,))


def _unit_unsaid(name: str, amount: Amount, habit: Habit) -> Resolved:
    """The value of a number whose unit was not said, or was only called "degrees".

    Without a doubt in three cases: a person typed this very value for the job; this job has said
    a unit of that dimension (but time: minutes are said beside seconds) and it gives a plausible
    value; or of all units in which the trade speaks (``unsaid_units``), only one does, and it is
    the likeliest of its dimension (or seconds). So "top platen 172" is in Celsius, because 172 °F
    does not weld, and "cycle time 11" in minutes, because 11 s is no cycle; "pressure 5" may be
    bar or psi, and is asked, and so is "pressure 22", which is psi or has lost its point.
    """
    dimension = UNITS[FIELDS[name].unit or ""].dimension
    usual = habit.units.get(dimension)
    likely = [*words("unsaid_units", dimension)] or [FIELDS[name].unit or ""]
    canonical = FIELDS[name].unit or ""
    options = [(unit, convert(amount.value, unit, canonical)) for unit in likely]
    fitting = [(unit, value) for unit, value in options if _usual(name, value)]
    fitting = fitting or [(unit, value) for unit, value in options if plausible(name, value)]
    wanted = habit.expected.get(name, ())
    chosen = next(
        (
            unit
            for unit, _ in fitting
            if any(agree(Quantity(value=amount.value, unit=unit), other) for other in wanted)
        ),
        None,
    )
    if chosen is None and (usual in dict(fitting) or (not fitting and usual in likely)):
        chosen = usual
    if chosen is not None or not fitting:
        quantity = Quantity(value=amount.value, unit=chosen or likely[0])
        return _checked(name, amount, quantity)
    first = _checked(name, amount, Quantity(value=amount.value, unit=fitting[0][0]))
    if len(fitting) > 1:
        symbols = " or ".join(UNITS[unit].symbol for unit, _ in fitting)
        others = tuple(value for _, value in fitting[1:])
        doubt = f"no unit was said: {symbols}"
        return Resolved(first.value, first.as_said, (doubt,), others, dimension != "time")
    if fitting[0][0] != likely[0] and dimension != "time":
        only = "Fahrenheit" if fitting[0][0] == "degF" else UNITS[fitting[0][0]].symbol
        doubt = f"no unit was said; only {only} is plausible"
        others = _near_misses(name, amount, Quantity(value=amount.value, unit=likely[0]))
        return Resolved(first.value, first.as_said, (doubt,), others, unit_open=True)
    return first
