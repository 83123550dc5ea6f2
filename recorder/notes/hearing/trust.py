"""Whether a heard value can be stood by, with the reasons in plain words.

The signals are weighed by the calibration of the speech model that heard them: the trust is the
logistic function of their weighted sum. Fixed rules stand beside it for what must always be asked.
"""

from __future__ import annotations

import functools
import math
import tomllib
from collections.abc import Mapping
from pathlib import Path

from recorder.model.calibration import Calibration
from recorder.model.reading import show_value
from recorder.notes.fields.slot import Slot
from recorder.notes.hearing.sameness import Value
from recorder.notes.hearing.signals import Signals

_FILE = Path(__file__).with_name("trust.toml")
_BUNDLED = "tiny.en"
# What costs less trust than this, in the sum that the logistic function takes, is not named as a
# reason beside one that costs more.
_NAMED_FROM = 0.3

# Single digits have nothing around them that would tell a slip: of 33 numbers that real people told
# digit by digit, and on which four hearings agreed, four were wrong, all below this probability
# (measured on the Free Spoken Digit Dataset, CC BY-SA 4.0, with the bundled model).
_SURE_DIGIT = 0.5
_LACKED = ("not in all hearings", "not in other hearings")

Doubts = tuple[tuple[str, ...], tuple[Value, ...]]  # reasons, and what it may be instead
NO_DOUBTS: Doubts = ((), ())


@functools.cache
def shipped() -> dict[str, Calibration]:
    """The calibrations that come with the program, by name of the speech model."""
    tables = tomllib.loads(_FILE.read_text(encoding="utf-8"))
    return {name: Calibration.model_validate(table) for name, table in tables.items()}


def calibration_of(model: str | None, own: Mapping[str, Calibration]) -> Calibration:
    """Of a speech model: the home's own, the shipped one, or the bundled model's."""
    name = model or _BUNDLED
    return own.get(name) or shipped().get(name) or shipped()[_BUNDLED]


def is_calibrated(model: str, own: Mapping[str, Calibration]) -> bool:
    return model in own or model in shipped()


def trust_of(signals: Signals, calibration: Calibration) -> float:
    """The share of such values that are right, 0..1, as far as the calibration knows."""
    total = sum(_costs(signals, calibration).values())
    return 1 / (1 + math.exp(-total))


def doubts_of(
    slot: Slot, signals: Signals, calibration: Calibration, answers: bool = False
) -> Doubts:
    """Why a heard value is asked about, and what it may be instead; no reasons when it is not.
    ``answers``: it was told in answer to a question, so that it may well replace another.
    """
    others = [value for value, _ in signals.instead]
    if signals.sibling is not None:
        others.append(signals.sibling)
    trust = trust_of(signals, calibration)
    reasons = []
    if trust < calibration.clear_from:
        costs = _costs(signals, calibration)
        named = sorted((name for name in costs if costs[name] <= -_NAMED_FROM), key=costs.get)  # type: ignore[arg-type]
        reasons = [_in_words(name, slot, signals) for name in named]
        reasons = reasons or [f"heard with too little trust ({trust:.2f})"]
    reasons += _always(slot, signals, answers)
    return tuple(dict.fromkeys(reasons)), tuple(others)


def _always(slot: Slot, signals: Signals, answers: bool) -> list[str]:
    """What is asked about however well it was heard, because all hearings err alike there."""
    if slot.corrects and not answers:
        # The most likely place for a slip, and a second slip here would pass for the mended value.
        return ["it replaces another value by a spoken correction"]
    if signals.sibling is not None:
        return [f"sounds like {show_value(slot.field, signals.sibling)}"]
    if _dictated(slot) and signals.probability < _SURE_DIGIT:
        return [f"told digit by digit, heard with probability {signals.probability:.2f}"]
    if slot.value is True and slot.end - slot.start == 1:
        # A lost "no" would turn it into its contrary.
        return ["only one word tells it"]
    return []


def _dictated(slot: Slot) -> bool:
    """Whether its number was told digit by digit; an identifier always may have been."""
    if slot.amount is None:
        return isinstance(slot.value, str) and any(char.isdigit() for char in slot.value)
    groups = slot.amount.number.groups
    return len(groups) > 1 and all(len(group) == 1 for group in groups)


def _costs(signals: Signals, calibration: Calibration) -> dict[str, float]:
    return {
        name: calibration.weights.get(name, 0.0) * measure
        for name, measure in signals.measures().items()
    }


def _in_words(name: str, slot: Slot, signals: Signals) -> str:
    hearings = signals.others + 1
    if name == "improbable":
        return f"heard with probability {signals.probability:.2f}"
    if name in _LACKED and not signals.instead:
        return f"{hearings - 1 - signals.agreeing} of {hearings} hearings lack it"
    if name in (*_LACKED, "other value in other hearings"):
        value, count = signals.instead[0]
        return f"{count} of {hearings} hearings have {show_value(slot.field, value)}"
    if name == "other number in other hearings":
        return f"{signals.stray} of {hearings} hearings have another number there"
    if name == "hearings differ in words":
        return f"hard to hear ({signals.clarity:.0%} of the words alike in all hearings)"
    if name == "hearings differ around":
        return f"a noisy stretch ({signals.clarity_around:.0%} of the words alike in all hearings)"
    if "sounds like another" in name and signals.sibling is not None:
        return f"sounds like {show_value(slot.field, signals.sibling)}"
    if name == "utterance improbable":
        return f"hard to hear (its words have probability {signals.certainty:.2f})"
    return f"a {signals.kind} is easily misheard"
