"""What a press run tells of each characteristic: its value, how sure, and what it is called."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from recorder.knowhow.trends.chart import Characteristic
from recorder.model.inventory import says_kind
from recorder.model.past import PastRun
from recorder.model.words import ENGLISH, Words


class Observed(NamedTuple):
    """One value of a run, in the canonical unit. U, below: as in ``Point``."""

    run: PastRun
    value: float
    U: float | None
    below: bool


# Unit of the values, by the name of ``recorder/model/units.py``; a difference of temperatures too.
UNIT = {
    Characteristic.FINGER_GAP: "mm",
    Characteristic.WIDTH_ERROR: "mm",
    Characteristic.EDGE_OFFSET: "mm",
    Characteristic.CYCLE_TIME: "s",
    Characteristic.PLATEN_DIFFERENCE: "degC",
}

# The least standard deviation that is believed. What people tell is rounded and photos resolve only
# so much, so that equal values in a row are no proof of a process without spread; the next digit
# would stand out as a miracle. Common practice, no source.
FINEST = {
    Characteristic.FINGER_GAP: 0.02,
    Characteristic.WIDTH_ERROR: 0.1,
    Characteristic.EDGE_OFFSET: 0.02,
    Characteristic.CYCLE_TIME: 5.0,
    Characteristic.PLATEN_DIFFERENCE: 0.5,
}

# Sizes that cannot be less than nothing, and of which less is better: they have no lower limit
# under zero, and only their growth is a drift.
SIZES = frozenset({Characteristic.FINGER_GAP, Characteristic.EDGE_OFFSET})


def label(characteristic: Characteristic, words: Words = ENGLISH) -> str:
    """'Finger gap'."""
    match characteristic:
        case Characteristic.FINGER_GAP:
            return words.say("Finger gap")
        case Characteristic.WIDTH_ERROR:
            return words.say("Width error")
        case Characteristic.EDGE_OFFSET:
            return words.say("Edge offset")
        case Characteristic.CYCLE_TIME:
            return words.say("Cycle time")
        case Characteristic.PLATEN_DIFFERENCE:
            return words.say("Platen difference")


def stream_label(stream: str, name: str, words: Words = ENGLISH) -> str:
    """'press P2', 'Press 2' where the name says what it is; 'all jobs' for the stream of all."""
    kind = _named(stream, "", words).strip()
    return name if says_kind(kind, name.lstrip(_ISOLATE)) else _named(stream, name, words)


_ISOLATE = "\N{FIRST STRONG ISOLATE}"  # a picture puts it before a stranger's name


def _named(stream: str, name: str, words: Words) -> str:
    match stream:
        case "press":
            return words.say("press {name}", name=name)
        case "template":
            return words.say("template {name}", name=name)
        case "technician":
            return words.say("technician {name}", name=name)
        case "customer":
            return words.say("customer {name}", name=name)
        case _:
            return words.say("all jobs")


def observed(characteristic: Characteristic, runs: Iterable[PastRun]) -> list[Observed]:
    """What the runs tell, in the order of time; runs that tell nothing are left out."""
    found = [each for run in runs if (each := _of(characteristic, run)) is not None]
    found.sort(key=lambda each: (each.run.at, each.run.job, each.run.splice, each.run.run))
    return found


def _of(characteristic: Characteristic, run: PastRun) -> Observed | None:
    match characteristic:
        case Characteristic.FINGER_GAP:
            value, U, below = run.finger_gap, run.finger_gap_U, run.gap_below
        case Characteristic.WIDTH_ERROR:
            value, U, below = _less(run.splice_width, run.belt_width), run.splice_width_U, False
        case Characteristic.EDGE_OFFSET:
            value, U, below = run.edge_offset, run.edge_offset_U, False
        case Characteristic.CYCLE_TIME:
            value, U, below = run.cycle_time, None, False
        case Characteristic.PLATEN_DIFFERENCE:
            value, U, below = _less(run.top_temperature, run.bottom_temperature), None, False
    return None if value is None else Observed(run, value, U, below)


def _less(value: float | None, other: float | None) -> float | None:
    """The difference without the digits that floating point adds: 172.1 - 170 is 2.1."""
    return None if value is None or other is None else round(value - other, 9)
