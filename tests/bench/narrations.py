"""Narrations with their truth, put together from phrases and drawn values.

The two sets share no phrase for a setting. Rules may be tuned on 'development'; figures are quoted
from 'report' alone.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass

from num2words import num2words

Truth = dict[str, float | bool | str]


@dataclass(frozen=True)
class Narration:
    """lines: one utterance each, as spoken. truth: field to value in its canonical unit."""

    lines: tuple[str, ...]
    truth: Truth


def words(value: float) -> str:
    """'one hundred and seventy-two', 'two point five'."""
    return str(num2words(int(value) if value == int(value) else value))


def short(value: int) -> str:
    """'one seventy-two' for 172; 'one oh five' for 105."""
    hundreds, rest = divmod(value, 100)
    if not hundreds or not rest:
        return words(value)
    return f"{words(hundreds)} {'oh ' if rest < 10 else ''}{words(rest)}"


Phrases = dict[str, tuple[str, ...]]

DEVELOPMENT: Phrases = {
    "pressure": ("The pressure is set to {v}.", "Pressure {v}."),
    "top": ("Top platen {v}.", "The top plate is at {v}."),
    "bottom": ("Bottom platen {v}.", "The bottom plate is at {v}."),
    "both": ("Both platens {v}.", "Top and bottom {v}."),
    "dwell": ("Dwell {v}.", "The dwell time was {v}."),
    "cool": ("Cool down to {v}.", "Cooled down to {v}."),
    "width": ("Belt width {v}.", "The belt is {v} wide."),
    "thickness": ("Belt thickness {v}.", "It is {v} thick."),
    "cycle": ("Cycle time {v}.", "The whole cycle took {v}."),
    "no_bubbles": ("No bubbles.", "There are no bubbles."),
    "bubbles": ("There are bubbles in the splice.",),
    "accepted": ("Splice accepted.", "The splice is accepted."),
    "rejected": ("Splice rejected.", "The splice is rejected."),
    "number": ("Job number {v}.",),
}
REPORT: Phrases = {
    "pressure": ("I have {v} on the gauge, that is the pressure.", "Set the pressure at {v}."),
    "top": ("Upper platen temperature {v}.", "The top is running at {v}."),
    "bottom": ("Lower platen temperature {v}.", "The bottom is running at {v}."),
    "both": ("Both plates are at {v}.", "{v} on both platens."),
    "dwell": ("We dwell for {v}.", "Dwell time {v} at temperature."),
    "cool": ("Cool-down temperature {v}.", "We let it cool down to {v}."),
    "width": ("The width of the belt is {v}.", "It is a {v} wide belt."),
    "thickness": ("The thickness of the belt is {v}.", "Thickness {v}."),
    "cycle": ("The cycle time came to {v}.", "Total cycle time {v}."),
    "no_bubbles": ("I see no bubbles.", "No bubbles anywhere."),
    "bubbles": ("I can see bubbles near the edge.",),
    "accepted": ("I accept this splice.", "Outcome accepted."),
    "rejected": ("I reject this splice.", "Outcome rejected."),
    "number": ("This is job number {v}.",),
}
CHATTER = (
    "The guard rail rattles a little.",
    "Somebody moved the trolley again.",
    "I am waiting for the press to heat up.",
    "The light in this hall is poor.",
)


def narrations(name: str, count: int) -> list[Narration]:
    """``count`` narrations of a set, always the same ones."""
    phrases = {"development": DEVELOPMENT, "report": REPORT}[name]
    return [_narration(phrases, random.Random(f"{name} {n}")) for n in range(count)]


def _narration(phrases: Phrases, draw: random.Random) -> Narration:
    lines: list[str] = []
    truth: Truth = {}

    def say(key: str, spoken: str = "") -> None:
        line = draw.choice(phrases[key]).format(v=spoken)
        lines.append(line[0].upper() + line[1:])

    number = draw.randint(1000, 9999)
    say("number", " ".join(words(int(digit)) for digit in str(number)))
    truth["job_number"] = str(number)
    width = draw.choice((40, 45, 50, 62, 65, 75, 80, 100, 120, 150))
    say("width", f"{words(width)} millimeters")
    truth["belt_width"] = float(width)
    if draw.random() < 0.6:
        thickness = draw.choice((1.5, 2, 2.5, 3, 4))
        say("thickness", f"{words(thickness)} millimeters")
        truth["belt_thickness"] = float(thickness)
    spoken, truth["pressure"] = _pressure(draw)
    say("pressure", spoken)
    _temperatures(draw, say, lines, truth)
    spoken, truth["dwell_time"] = _minutes(draw)
    say("dwell", spoken)
    cool = draw.choice((45, 50, 55, 60, 65, 70, 75))
    say("cool", f"{words(cool)} degrees Celsius")
    truth["cool_down_temperature"] = float(cool)
    lines.append(draw.choice(CHATTER))
    cycle = draw.randint(9, 28)
    say("cycle", f"{words(cycle)} minutes")
    truth["cycle_time"] = cycle * 60.0
    truth["bubbles"] = draw.random() < 0.25
    say("bubbles" if truth["bubbles"] else "no_bubbles")
    truth["outcome"] = draw.choice(("accepted", "accepted", "rejected"))
    say(str(truth["outcome"]))
    return Narration(tuple(lines), truth)


def _pressure(draw: random.Random) -> tuple[str, float]:
    if draw.random() < 0.4:
        psi = draw.randint(22, 42)
        return f"{words(psi)} psi", psi * 0.0689476
    bar = draw.choice((1.5, 1.8, 2, 2.2, 2.4, 2.5, 2.8, 3))
    return f"{words(bar)} bar", float(bar)


def _minutes(draw: random.Random) -> tuple[str, float]:
    if draw.random() < 0.3:
        seconds = draw.choice((90, 150, 165, 200, 240))
        return f"{words(seconds)} seconds", float(seconds)
    half = draw.random() < 0.3
    minutes = draw.randint(2, 6)
    return f"{words(minutes)}{' and a half' if half else ''} minutes", (minutes + 0.5 * half) * 60


def _temperatures(
    draw: random.Random, say: Callable[[str, str], None], lines: list[str], truth: Truth
) -> None:
    fahrenheit = draw.random() < 0.2
    unit = "degrees Fahrenheit" if fahrenheit else "degrees Celsius"

    def one() -> tuple[str, float]:
        value = draw.randint(330, 365) if fahrenheit else draw.randint(160, 189)
        spoken = short(value) if draw.random() < 0.5 else words(value)
        return f"{spoken} {unit}", (value - 32) / 1.8 if fahrenheit else float(value)

    if draw.random() < 0.3:
        spoken, value = one()
        say("both", spoken)
        truth["top_temperature"] = truth["bottom_temperature"] = value
        return
    spoken, truth["top_temperature"] = one()
    say("top", spoken)
    if draw.random() < 0.25:
        spoken, truth["top_temperature"] = one()
        lines.append(f"No, make that {spoken}.")
    spoken, truth["bottom_temperature"] = one()
    say("bottom", spoken)
