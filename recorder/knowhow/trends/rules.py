"""The rules by which points of a chart signal, each with its name, its letter and its sentence.

The four zone rules are those of the Western Electric handbook (1956) as the NIST/SEMATECH
e-Handbook gives them (6.3.2); ISO 7870-2 has some of the same kind. All four together let a stable
process signal once in 92 points on average, and a shift by one sigma after 9 (Champ and Woodall,
Technometrics 29, 1987); with limits from 30 points it is once in some 60, and of a skewed size once
in some 35 (tests/knowhow/trends/test_run_length.py). That is right for marks on a chart that
somebody looks at, and too often for a notice that speaks up by itself: that is the drift of
``cusum``.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from recorder.knowhow.trends.chart import Signal
from recorder.model.words import ENGLISH, Words

BEYOND = "beyond"
TWO_OF_THREE = "two_of_three"
FOUR_OF_FIVE = "four_of_five"
EIGHT = "eight_on_one_side"
JUMP = "jump"
DRIFT = "drift"

# By which a rule is marked on a picture, the weightiest rule first.
LETTERS = {DRIFT: "S", BEYOND: "A", TWO_OF_THREE: "B", FOUR_OF_FIVE: "C", EIGHT: "D", JUMP: "R"}


class Zone(NamedTuple):
    """So many of so many points in a row lie further from the centre than so many sigma."""

    rule: str
    many: int
    of: int
    sigmas: float


ZONES = (
    Zone(BEYOND, 1, 1, 3.0),
    Zone(TWO_OF_THREE, 2, 3, 2.0),
    Zone(FOUR_OF_FIVE, 4, 5, 1.0),
    Zone(EIGHT, 8, 8, 0.0),
)


class Broken(NamedTuple):
    """A rule broken at one point. since: the first point that takes part."""

    rule: str
    side: str
    at: int
    since: int


def broken_zones(scores: Sequence[float | None]) -> list[Broken]:
    """Where the zone rules are broken. scores: distance of each point from the centre in sigma,
    None for one that cannot be judged, which takes part in nothing.

    As the rule has it, the last point must itself lie in the zone.
    """
    found = []
    for side, sign in (("above", 1.0), ("below", -1.0)):
        heights = [-1.0 if score is None else sign * score for score in scores]
        for zone in ZONES:
            inside = [height > zone.sigmas for height in heights]
            count = 0
            for at, here in enumerate(inside):
                count += here
                if at >= zone.of:
                    count -= inside[at - zone.of]
                if here and count >= zone.many:
                    earliest = max(0, at - zone.of + 1)
                    since = next(place for place in range(earliest, at + 1) if inside[place])
                    found.append(Broken(zone.rule, side, at, since))
    return found


def signals(broken: Iterable[Broken]) -> tuple[Signal, ...]:
    """Rules broken at points in a row are one signal, and so is a drift that began at one point; in
    the order of the last point of each.
    """
    told: list[list[Broken]] = []
    for each in sorted(broken, key=lambda each: (each.rule, each.side, each.at)):
        last = told[-1][-1] if told else None
        same = last is not None and (last.rule, last.side) == (each.rule, each.side)
        if last and same and (last.at + 1 == each.at or _one_drift(last, each)):
            told[-1].append(each)
        else:
            told.append([each])
    weight = list(LETTERS)
    made = [_signal(streak) for streak in told]
    return tuple(sorted(made, key=lambda it: (it.at, weight.index(it.rule), it.side)))


def _one_drift(before: Broken, after: Broken) -> bool:
    """Whether the sum only dipped under its alarm in between."""
    return after.rule == DRIFT and before.since == after.since


def _signal(streak: list[Broken]) -> Signal:
    signal = Signal(
        at=streak[-1].at,
        since=streak[0].since,
        rule=streak[0].rule,
        first=streak[0].at if len(streak) > 1 else None,
        side=streak[0].side,
        text="",
    )
    return signal.model_copy(update={"text": text_of(signal)})


def text_of(signal: Signal, words: Words = ENGLISH) -> str:
    """'8 points in a row above the centre'."""
    count = signal.at - signal.since + 1
    up = signal.side == "above"
    match signal.rule:
        case "beyond" if count > 1 and up:
            return words.say("{n} points in a row above the upper limit", n=count)
        case "beyond" if count > 1:
            return words.say("{n} points in a row below the lower limit", n=count)
        case "beyond" if up:
            return words.say("above the upper limit")
        case "beyond":
            return words.say("below the lower limit")
        case "jump":
            return words.say("a jump from the point before, above the limit of the moving range")
        case "drift" if up:
            return words.say("crept up over the last {n} points", n=count)
        case "drift":
            return words.say("crept down over the last {n} points", n=count)
        case "eight_on_one_side" if up:
            return words.say("{n} points in a row above the centre", n=count)
        case "eight_on_one_side":
            return words.say("{n} points in a row below the centre", n=count)
        case _:
            return rule_text(signal.rule, words) + (
                words.say(", above the centre") if up else words.say(", below the centre")
            )


def rule_text(rule: str, words: Words = ENGLISH) -> str:
    """What a rule says, for a legend: 'one point beyond a limit'."""
    match rule:
        case "beyond":
            return words.say("one point beyond a limit")
        case "two_of_three":
            return words.say("2 of 3 points in a row more than two sigma away")
        case "four_of_five":
            return words.say("4 of 5 points in a row more than one sigma away")
        case "eight_on_one_side":
            return words.say("8 points in a row on one side of the centre")
        case "jump":
            return words.say("a moving range above its limit")
        case "drift":
            return words.say("a lasting shift: small steps to one side that add up")
        case _:
            return rule
