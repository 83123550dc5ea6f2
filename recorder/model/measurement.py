"""What a photo gave: quantities with uncertainty, and the decisions on them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from enum import StrEnum
from typing import Any, Literal

from pydantic import Field as Constraint
from pydantic import model_validator

from recorder.model import units
from recorder.model.base import Value
from recorder.model.words import ENGLISH, Words

# Field of the catalogue -> the measurement that is its value, by the name in SeamMeasurement.
MEASURED_AS = {
    "finger_gap": "gap_max",
    "splice_width": "splice_width",
    "edge_offset": "edge_offset",
    "belt_width": "belt_width",
    "finger_pitch": "finger_pitch",
    "finger_length": "finger_length",
}
# Whatever can be limited -> its measurement: these fields, and what nobody says but a photo shows.
LIMITED_AS = {**MEASURED_AS, "skew": "skew", "bow": "bow"}
# What a tolerance is counted from: a field that somebody told.
NOMINAL = {
    "splice_width": "belt_width",
    "belt_width": "belt_width",
    "finger_pitch": "finger_pitch",
    "finger_length": "finger_length",
}
# Sizes of a deviation, which counts in both directions.
_SIZES = ("finger_gap", "edge_offset", "skew", "bow")


class Measurement(Value):
    """A quantity with its expanded uncertainty.

    value, unit: the number; with ``below`` the upper bound under the quantification limit.
    U: expanded uncertainty in the same unit. k: its coverage factor; the standard uncertainty
    is U / k.
    """

    value: float
    unit: str
    U: float
    k: float = 2.0
    below: bool = False

    def shown(self, words: Words = ENGLISH, unit: bool = True) -> str:
        """'0.35 ± 0.06 mm', or 'below 0.12 mm' under the quantification limit.

        As many decimals as leave U two significant digits (JCGM 100, 7.2.6), though not beyond
        what the unit usually shows unless U is smaller. U and bounds are rounded up, so that no
        rounding makes them look better than they are. unit: whether its symbol follows.
        """
        decimals = self._decimals()
        bound = _rounded_up(self.value if self.below else self.U, decimals)
        text = words.digits(f"{bound:.{decimals}f}")
        if not self.below:
            text = f"{words.digits(f'{self.value:z.{decimals}f}')} ± {text}"
        if unit:
            text = units.with_symbol(text, self.unit)
        if self.below:
            return words.say("below {value}", value=text)
        return text if self.k == 2 else f"{text} (k = {words.digits(f'{self.k:g}')})"

    def _decimals(self) -> int:
        usual = units.UNITS[self.unit].decimals
        if self.U <= 0:
            return usual
        leading = -math.floor(math.log10(self.U))  # place of the first significant digit
        return max(0, min(leading + 1, max(leading, usual)))


def _rounded_up(value: float, decimals: int) -> float:
    scale: float = 10.0**decimals
    return math.ceil(value * scale - 1e-6) / scale


class Decision(StrEnum):
    WITHIN = "within"
    OUTSIDE = "outside"
    UNDECIDED = "undecided"


class Limit(Value):
    """The limit in force for one measured characteristic; None means unlimited on that side.

    name: a key of ``LIMITED_AS``. low, high: the bounds; as text with a unit they are understood
    too ("0.5 mm"), and stand in ``unit`` afterwards. tolerance: allowed on both sides of the
    nominal size instead, see ``NOMINAL``; ``about`` makes bounds of it. unit: of length, for skew
    of angle. source: who set it, in words.
    """

    name: str
    low: float | None = Constraint(None, allow_inf_nan=False)
    high: float | None = Constraint(None, ge=0, allow_inf_nan=False)
    tolerance: float | None = Constraint(None, gt=0, allow_inf_nan=False)
    unit: str = "mm"
    source: str = ""

    @model_validator(mode="before")
    @classmethod
    def _in_one_unit(cls, given: Any) -> Any:
        """Text such as "0.5 mm" to numbers in the unit of the limit."""
        if not isinstance(given, dict):
            return given
        usual = "deg" if given.get("name") == "skew" else "mm"
        told = {"unit": usual, **given}
        if told["unit"] not in units.units_of(units.UNITS[usual].dimension):
            raise ValueError(f"{told['unit']!r} is not a unit of {units.UNITS[usual].dimension}")
        for bound in ("low", "high", "tolerance"):
            if isinstance(told.get(bound), str):
                try:
                    told[bound] = units.convert(*units.amount(told[bound]), told["unit"])
                except ValueError as error:
                    raise ValueError(f"{bound}: {error}") from error
        return told

    @model_validator(mode="after")
    def _makes_sense(self) -> Limit:
        if self.name not in LIMITED_AS:
            raise ValueError(f"{self.name!r} is not measured; use {', '.join(LIMITED_AS)}")
        if self.tolerance is not None:
            if self.name not in NOMINAL:
                raise ValueError(f"{self.name} has no nominal size; give high instead")
            if self.low is not None or self.high is not None:
                raise ValueError("give a tolerance, or low and high, and not both")
            return self
        if self.low is None and self.high is None:
            raise ValueError("give low, high or both, or a tolerance")
        if self.low is not None and self.high is not None and self.low > self.high:
            raise ValueError("low is above high")
        return self

    def about(self, nominal: float, unit: str) -> Limit:
        """The bounds of a tolerance around a nominal size; any other limit is as it was."""
        if self.tolerance is None:
            return self
        middle = units.convert(nominal, unit, self.unit)
        return Limit(
            name=self.name,
            low=middle - self.tolerance,
            high=middle + self.tolerance,
            unit=self.unit,
            source=f"{self.source}, {self.shown()} told ({units.show(nominal, unit)})",
        )

    def shown(self, words: Words = ENGLISH) -> str:
        """'at most 0.5 mm', 'at least 60 mm', '69.3 to 70.7 mm', '± 0.5 mm of the belt width'."""

        def number(value: float | None) -> str:
            return words.digits(f"{value:g}")

        def with_unit(value: float | None) -> str:
            return units.with_symbol(number(value), self.unit)

        if self.tolerance is not None:
            size = words.say(NOMINAL[self.name].replace("_", " "))
            return words.say(
                "± {tolerance} of the {size}", tolerance=with_unit(self.tolerance), size=size
            )
        if self.low is not None and self.high is not None:
            return words.say("{low} to {high}", low=number(self.low), high=with_unit(self.high))
        if self.high is not None:
            return words.say("at most {value}", value=with_unit(self.high))
        return words.say("at least {value}", value=with_unit(self.low))


class BudgetTerm(Value):
    """One line of an uncertainty budget. u: standard uncertainty in the measurement's unit.
    dof, group: as in ``recorder.model.uncertainty``.
    """

    name: str
    u: float
    dof: float | None = None
    group: str | None = None


class Place(Value):
    """A place on the belt: x along it and y across it from the middle of the splice, in mm, and
    the same place as column and row of the upright photo, in pixels.
    """

    x_mm: float
    y_mm: float
    px: tuple[float, float]

    def shown(self, words: Words = ENGLISH) -> str:
        """'12.3 mm left of and 4.1 mm above the middle of the splice', as the photo shows it."""
        x, y = (words.digits(f"{abs(way):.1f}") for way in (self.x_mm, self.y_mm))
        if self.x_mm < 0 and self.y_mm < 0:
            return words.say("{x} mm left of and {y} mm above the middle of the splice", x=x, y=y)
        if self.x_mm < 0:
            return words.say("{x} mm left of and {y} mm below the middle of the splice", x=x, y=y)
        if self.y_mm < 0:
            return words.say("{x} mm right of and {y} mm above the middle of the splice", x=x, y=y)
        return words.say("{x} mm right of and {y} mm below the middle of the splice", x=x, y=y)


class GapReading(Value):
    """The gap in one stretch of the seam. s_mm: way along the seam from the upper belt edge to the
    middle of the stretch. at: its place. flank: number of the flank, from 1. U: of this gap.
    """

    s_mm: float
    at: Place
    flank: int
    gap: Measurement


class FlankGap(Value):
    """The gap along one flank, from 1 at the upper belt edge. begin, end: of the flank."""

    flank: int
    begin: Place
    end: Place
    gap_mean: Measurement
    gap_max: Measurement


class FlagKind(StrEnum):
    """What the picture shows that is no number. Each is for a person to look at."""

    OPEN_FINGER = "open finger"
    UNMESHED_FINGER = "unmeshed finger"
    TRUNCATED_FINGER = "truncated finger"
    BRIGHTNESS_STEP = "brightness step"


class Flag(Value):
    """kind: what it may be. text: one line for a person. at: where; None when it is everywhere."""

    kind: FlagKind
    text: str
    at: Place | None = None


class SeamMeasurement(Value):
    """Everything measured in one photo, or the reason why nothing is.

    file: name of the photo. status, reason: 'refused' always has a reason that says what to do.
    gap_max, gap_mean: finger gap along the seam; gap_max_at: where it is largest; gap_profile: all
    along the seam; flanks: each by itself. splice_width: across the belt at the splice.
    belt_width: across the belt away from the splice; belt_width_left, belt_width_right: of the two
    ends. edge_offset: largest step between the two ends along an edge; edge_offset_upper,
    edge_offset_lower: of each, positive when the right end lies lower. skew: angle between the two
    ends. bow: how far the middle line of the belt leaves a straight line where it shows, beside
    what skew and offset do. finger_count, finger_pitch, finger_length: of the seam.
    flags: what a person should look at. scale_px_per_mm: at the splice.
    decisions: by limit name; conformity: probability that the characteristic lies within its
    limits (JCGM 106), by limit name. decision: the worst of the decisions; None when no limit was
    in force. overlay: picture that shows what was measured, plot: the gap along the seam, both
    relative to the folder of the record. budget: terms by measurement name. limits: those that
    were applied. lens: how the lens was taken account of, in words.
    warnings: what widened the uncertainty or wants a look.
    """

    file: str
    status: Literal["measured", "refused"]
    reason: str = ""
    gap_max: Measurement | None = None
    gap_mean: Measurement | None = None
    gap_max_at: Place | None = None
    gap_profile: tuple[GapReading, ...] = ()
    flanks: tuple[FlankGap, ...] = ()
    splice_width: Measurement | None = None
    belt_width: Measurement | None = None
    belt_width_left: Measurement | None = None
    belt_width_right: Measurement | None = None
    edge_offset: Measurement | None = None
    edge_offset_upper: Measurement | None = None
    edge_offset_lower: Measurement | None = None
    skew: Measurement | None = None
    bow: Measurement | None = None
    finger_count: int | None = None
    finger_pitch: Measurement | None = None
    finger_length: Measurement | None = None
    flags: tuple[Flag, ...] = ()
    scale_px_per_mm: float | None = None
    decision: Decision | None = None
    overlay: str | None = None
    plot: str | None = None
    decisions: dict[str, Decision] = {}
    conformity: dict[str, float] = {}
    limits: tuple[Limit, ...] = ()
    budget: dict[str, tuple[BudgetTerm, ...]] = {}
    lens: str = ""
    warnings: tuple[str, ...] = ()


def decide(measurement: Measurement, limit: Limit) -> Decision:
    """Decision rule of ISO 14253-1 with U as guard band on both sides of each limit.

    Within: the whole interval value ± U lies inside the limits. Outside: it lies wholly beyond
    one of them. Undecided: neither. An upper bound (``below``) can prove 'within' an upper limit
    and nothing else.
    """
    low = -math.inf if limit.low is None else units.convert(limit.low, limit.unit, measurement.unit)
    high = (
        math.inf if limit.high is None else units.convert(limit.high, limit.unit, measurement.unit)
    )
    if measurement.below:
        inside = limit.low is None and measurement.value <= high
        return Decision.WITHIN if inside else Decision.UNDECIDED
    lowest, highest = measurement.value - measurement.U, measurement.value + measurement.U
    if lowest > high or highest < low:
        return Decision.OUTSIDE
    return Decision.WITHIN if low <= lowest and highest <= high else Decision.UNDECIDED


def held_against(
    limit: Limit, numbers: Mapping[str, Measurement]
) -> tuple[Measurement, Limit] | None:
    """What is compared with what: a measurement, and bounds for it; None when a number is missing.

    numbers: by name in ``SeamMeasurement``. A tolerance of the splice width whose nominal nobody
    told is counted from the belt width in the same photo: the difference is compared, and its U is
    taken as of two independent lengths. They share scale and lens, so that the true one is smaller.
    """
    measured = numbers.get(LIMITED_AS[limit.name])
    if measured is None:
        return None
    if limit.tolerance is not None:
        nominal = numbers.get(NOMINAL[limit.name])
        if limit.name == NOMINAL[limit.name] or nominal is None or nominal.below or measured.below:
            return None  # nobody told the nominal size, and a number is not its own
        apart = measured.value - units.convert(nominal.value, nominal.unit, measured.unit)
        U = math.hypot(measured.U, units.convert(nominal.U, nominal.unit, measured.unit))
        bounds = Limit(
            name=limit.name,
            low=-limit.tolerance,
            high=limit.tolerance,
            unit=limit.unit,
            source=limit.source,
        )
        return measured.model_copy(update={"value": apart, "U": U}), bounds
    if limit.name in _SIZES and measured.value < 0:
        measured = measured.model_copy(update={"value": -measured.value})
    return measured, limit


def decisions_on(
    numbers: Mapping[str, Measurement], limits: Iterable[Limit]
) -> dict[str, Decision]:
    """The decision on each limit by its name. What has no number is undecided, never passed."""
    compared = {limit.name: held_against(limit, numbers) for limit in limits}
    return {name: decide(*pair) if pair else Decision.UNDECIDED for name, pair in compared.items()}


def worst(decisions: Iterable[Decision]) -> Decision | None:
    """Outside before undecided before within; None of an empty list."""
    found = set(decisions)
    for decision in (Decision.OUTSIDE, Decision.UNDECIDED, Decision.WITHIN):
        if decision in found:
            return decision
    return None
