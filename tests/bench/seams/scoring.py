"""What a measurement of a scene is worth against its truth, and the issue's targets over many."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from recorder.model.measurement import Decision, SeamMeasurement

Record = dict[str, Any]

QUANTITIES = (
    "gap_max", "gap_mean", "splice_width", "belt_width", "belt_width_left", "belt_width_right",
    "edge_offset", "edge_offset_upper", "edge_offset_lower", "skew", "finger_pitch",
    "finger_length",
)  # fmt: skip


@dataclass(frozen=True)
class Error:
    """One measured quantity. true, value, U in its unit; below: value is an upper bound."""

    scene: str
    quantity: str
    true: float
    value: float
    U: float
    below: bool

    @property
    def error(self) -> float:
        """Value less truth; of a bound, how far it lies under the truth, else nought."""
        return min(self.value - self.true, 0.0) if self.below else self.value - self.true

    @property
    def covered(self) -> bool:
        """Within U; a bound is right when the truth is not above it."""
        return abs(self.error) <= (1e-9 if self.below else self.U)

    @property
    def far(self) -> bool:
        """Beyond twice U. A bound is its own U: far is one that the truth exceeds twice."""
        return abs(self.error) > (self.value if self.below else 2 * self.U)


@dataclass(frozen=True)
class Outcome:
    """A scene's record, what the estimator answered (None: it failed) and how long it took.

    placed: whether the gap is about the largest where it was said to be; None when it was not.
    """

    record: Record
    measured: SeamMeasurement | None
    seconds: float
    failure: str = ""
    placed: bool | None = None

    @property
    def judgeable(self) -> bool:
        return bool(self.record["verdict"] != "unjudgeable")

    @property
    def refused(self) -> bool:
        return self.measured is not None and self.measured.status == "refused"

    @property
    def answered(self) -> bool:
        return self.measured is not None and self.measured.status == "measured"

    def errors(self) -> Iterator[Error]:
        """Of every quantity that was measured and has a truth."""
        if not self.answered or self.measured is None or self.record["truth"] is None:
            return
        for quantity in QUANTITIES:
            told = getattr(self.measured, quantity)
            if told is not None:
                true = true_value(self.record["truth"], quantity, told.value)
                yield Error(self.record["name"], quantity, true, told.value, told.U, told.below)

    def expected(self) -> dict[str, Decision]:
        """By the name of a limit, what the truth deserves."""
        return {
            name: _fits(self.record["truth"], name, low, high)
            for name, low, high in self.record["conditions"]["limits"]
            if self.record["truth"] is not None
        }

    def wrong_decisions(self) -> list[str]:
        """Limits that were decided, and decided wrongly."""
        if not self.answered or self.measured is None:
            return []
        return [
            name
            for name, right in self.expected().items()
            if self.measured.decisions.get(name, right) not in (right, Decision.UNDECIDED)
        ]

    @property
    def undecided(self) -> bool:
        """Refused, failed, or the splice as a whole not decided."""
        if not self.answered or self.measured is None:
            return True
        return self.measured.decision in (None, Decision.UNDECIDED)


def true_value(truth: Record, quantity: str, value: float) -> float:
    """The truth that a quantity is to be held against.

    One belt width stands for both ends: the nearer of them or what lies between is right. A skew
    may be told with either sign.
    """
    if quantity == "belt_width":
        low, high = sorted(truth["belt_width"])
        return float(np.clip(value, low, high))
    if quantity in ("belt_width_left", "belt_width_right"):
        return float(truth["belt_width"][quantity == "belt_width_right"])
    if quantity == "skew":
        return float(abs(truth["skew_deg"]) if value >= 0 else -abs(truth["skew_deg"]))
    return float(truth[quantity])


def _fits(truth: Record, name: str, low: float | None, high: float | None) -> Decision:
    quantity = {"finger_gap": "gap_max"}.get(name, name)
    value = truth[quantity]
    inside = (low is None or value >= low) and (high is None or value <= high)
    return Decision.WITHIN if inside else Decision.OUTSIDE


@dataclass(frozen=True)
class Target:
    """One line of the result. figure: as text. met: None when there was nothing to judge."""

    name: str
    figure: str
    met: bool | None


def targets(outcomes: list[Outcome]) -> list[Target]:
    """The issue's targets, one line each."""
    good = [o for o in outcomes if o.record["verdict"] == "good"]
    judgeable = [o for o in outcomes if o.judgeable]
    hopeless = [o for o in outcomes if not o.judgeable]
    errors = [e for o in judgeable for e in o.errors()]
    lines = [*_gap_targets(errors), *_width_targets(judgeable), *_step_targets(errors)]
    lines += _coverage(errors)
    placed = _share([o.placed for o in judgeable if o.placed is not None])
    met = None if placed is None else placed >= 0.95
    lines.append(Target("largest gap told at its place", _text(placed, "%"), met))
    share = _share([o.undecided for o in judgeable])
    lines.append(_most("refused or undecided among the judgeable", share, 0.15, "%"))
    lines.append(
        _most("   of them refused", _share([not o.answered for o in judgeable]), 0.15, "%")
    )
    wrong = sum(len(o.wrong_decisions()) for o in judgeable)
    lines.append(Target("wrong decisions", str(wrong), wrong == 0 if judgeable else None))
    failed = sum(o.measured is None for o in outcomes)
    lines.append(Target("failures (exceptions)", str(failed), failed == 0))
    refused = _share([o.refused for o in hopeless])
    met = None if refused is None else refused == 1
    lines.append(Target("refused among the unjudgeable", _text(refused, "%"), met))
    for quantity, most in (("gap_max", 0.05), ("splice_width", 0.25)):
        spread = [e.U for o in good for e in o.errors() if e.quantity == quantity and not e.below]
        mean = float(np.mean(spread)) if spread else None
        lines.append(_most(f"mean U on good photos, {quantity}", mean, most, "mm"))
    return lines


def _gap_targets(errors: list[Error]) -> Iterator[Target]:
    for quantity in ("gap_max", "gap_mean"):
        mine = [e for e in errors if e.quantity == quantity]
        for low, high, most in ((0.3, np.inf, 0.03), (0.2, 0.3, 0.05)):
            here = [e for e in mine if low <= e.true < high]
            numbers = [abs(e.error) for e in here if not e.below]
            name = f"{quantity} {'>= 0.3' if high == np.inf else '0.2 to 0.3'} mm, 95 % of errors"
            yield _most(f"{name} (n {len(numbers)}, bounds {len(here) - len(numbers)})",
                        _p95(numbers), most, "mm")  # fmt: skip
        small = [e.covered for e in mine if e.true < 0.2]
        share = _share(small)
        met = None if share is None else share == 1
        yield Target(f"{quantity} < 0.2 mm, right (n {len(small)})", _text(share, "%"), met)


def _width_targets(judgeable: list[Outcome]) -> Iterator[Target]:
    """On a card whose print was measured: without that, U says what a width is worth."""
    printed = [o for o in judgeable if o.record["conditions"]["print_scale"]]
    for quantity in ("splice_width", "belt_width"):
        known = [
            abs(e.error)
            for o in printed
            for e in o.errors()
            if e.quantity == quantity and o.record["calibrated"]
        ]
        part = [
            100 * abs(e.error) / e.true
            for o in printed
            for e in o.errors()
            if e.quantity == quantity and not o.record["calibrated"]
        ]
        name = f"{quantity}, lens calibrated, 95 % (n {len(known)})"
        yield _most(name, _p95(known), 0.1, "mm")
        name = f"{quantity}, lens not calibrated, 95 % (n {len(part)})"
        yield _most(name, _p95(part), 0.3, "% of it")


def _step_targets(errors: list[Error]) -> Iterator[Target]:
    for quantity, unit in (("edge_offset", "mm"), ("skew", "deg")):
        mine = [e for e in errors if e.quantity == quantity]
        size = _p95([abs(e.error) for e in mine])
        yield _most(f"{quantity}, 95 % of errors (n {len(mine)})", size, 0.1, unit)


def _coverage(errors: list[Error]) -> Iterator[Target]:
    for quantity in (*QUANTITIES, ""):
        mine = [e for e in errors if quantity in ("", e.quantity)]
        share = _share([e.covered for e in mine])
        met = None if share is None else share >= 0.95
        yield Target(f"|error| <= U, {quantity or 'all'} (n {len(mine)})", _text(share, "%"), met)
    far = sum(e.far for e in errors)
    yield Target("errors beyond 2 U", str(far), far == 0 if errors else None)


def _most(name: str, figure: float | None, most: float, unit: str) -> Target:
    met = None if figure is None else figure <= most
    limit = f"{100 * most:g}" if unit == "%" else f"{most:g}"
    return Target(f"{name} <= {limit} {unit}", _text(figure, unit), met)


def _text(figure: float | None, unit: str) -> str:
    if figure is None:
        return "-"
    return f"{100 * figure:.1f} %" if unit == "%" else f"{figure:.3f} {unit}"


def _share(flags: list[bool]) -> float | None:
    return float(np.mean(flags)) if flags else None


def _p95(sizes: list[float]) -> float | None:
    return float(np.quantile(sizes, 0.95)) if sizes else None
