"""The overlay: one picture that shows what was measured, where, and what came out.

The belt is drawn square on, so that a millimetre is the same everywhere; the numbers come from
the photo as it was taken. Around it stand the widest place enlarged, what the colours mean, and
the numbers; letters and numbers in the picture lead to them. Sizes are for a print of 90 mm, where
a pixel of the sheet is 0.16 point.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from recorder.model.measurement import (
    MEASURED_AS,
    Decision,
    Limit,
    Measurement,
    SeamMeasurement,
)
from recorder.photo.numbers.seen import Seen
from recorder.photo.shown.gap_colours import GapColours, colours_for
from recorder.photo.shown.marks import (
    LEFT_WIDTH,
    LOWER_OFFSET,
    RADIUS,
    RIGHT_WIDTH,
    SPLICE_WIDTH,
    UPPER_OFFSET,
    belt_picture,
    worst_picture,
)
from recorder.photo.shown.pen import (
    DECISION_COLOUR,
    PAPER,
    QUIET,
    RULE,
    SHADE,
    TEXT,
    WHITE,
    Pen,
    save,
    width,
    wrapped,
)
from recorder.photo.shown.stretches import widest

WORDS = {
    "all within": "Within limits",
    "all outside": "Outside limits",
    "all undecided": "Undecided: near a limit",
    "all undone": "Measured; no limit in force",
    "within": "within",
    "outside": "outside",
    "undecided": "undecided",
    "finger_gap": "Largest gap",
    "splice_width": "Splice width",
    "edge_offset": "Edge offset",
    "belt_width": "Belt width",
    "finger_pitch": "Finger pitch",
    "finger_length": "Finger length",
    "gap_mean": "mean gap",
    "left": "left width",
    "right": "right width",
    "upper": "upper offset {way}",
    "lower": "lower offset {way}",
    "pitch": "{count} fingers, pitch",
    "length": "finger length",
    "skew": "angle of the ends",
    "bow": "bow of the belt",
    "widest": "widest place",
    "tip": "widest: a flank's end",
    "colour": "colour: gap, mm",
    "limit": "limit",
    "bound": "hollow: an upper bound",
    "more": "and {count} more in the record",
    "ways": "↓ ↑: the right end lies lower, higher",
    "expanded": "±: expanded uncertainty, k = 2",
}  # fmt: skip

WIDTH_PX = 1600
_RIM = 40
_HEAD = 120
_BELT_MOST = (1010, 860)  # width and height
_LENS = (430, 560)  # least and most
_MAIN, _ROW, _SMALL, _SMALLEST = 50, 42, 40, 36  # sizes of type
_MAIN_LINE, _LINE = 84, 56
_USUAL = ("finger_gap", "splice_width", "edge_offset")
_MOST_FLAGS, _MOST_LINES = 6, 2
_MOST_HIGH = 2800  # with every row and flag


def draw(bgr: NDArray[np.uint8], seen: Seen, measured: SeamMeasurement, path: Path) -> None:
    """Write the overlay as PNG or JPEG by the name of ``path``; raises OutputUnwritable."""
    colours = colours_for(measured)
    belt = belt_picture(bgr, seen, measured, colours, _BELT_MOST)
    room = WIDTH_PX - belt.width - 3 * _RIM - 10
    worst = worst_picture(bgr, seen, measured, int(np.clip(room, *_LENS)))
    parts: list[_Part] = [_head, _pictures(belt, worst, colours), _table, _lesser, _flags, _foot]
    sheet = Image.new("RGB", (WIDTH_PX, _MOST_HIGH), PAPER)
    pen, y = Pen(sheet), 0.0
    for part in parts:
        y = part(pen, measured, y)
    save(sheet.crop((0, 0, WIDTH_PX, round(y))), path)


# Draws one part of the sheet from y on and gives back where the next one begins.
_Part = Callable[[Pen, SeamMeasurement, float], float]


def _head(pen: Pen, measured: SeamMeasurement, y: float) -> float:
    """The decision, and the photo's name in what room it leaves."""
    decision, middle = measured.decision, y + _HEAD / 2
    pen.sign((_RIM + 40, middle), 40, decision)
    colour = DECISION_COLOUR[decision] if decision else TEXT
    headline = WORDS[f"all {decision.value if decision else 'undone'}"]
    pen.text((_RIM + 104, middle), headline, 64, colour, bold=True, anchor="lm")
    room = WIDTH_PX - 2 * _RIM - 104 - 50 - width(headline, 64, bold=True)
    pen.fitted((WIDTH_PX - _RIM, middle), measured.file, _ROW, room, QUIET, anchor="rm")
    return y + _HEAD


def _pictures(belt: Image.Image, worst: Image.Image | None, colours: GapColours) -> _Part:
    """The belt on the left; on the right the widest place and what the colours mean."""

    def part(pen: Pen, measured: SeamMeasurement, y: float) -> float:
        pen.image.paste(belt, (_RIM, round(y)))
        left = float(_RIM + belt.width + _RIM)
        below = y
        if worst is not None:
            side = worst.width
            pen.draw.rectangle((left, y, left + side + 9, y + side + 9), fill=SHADE)
            pen.draw.rectangle((left + 2, y + 2, left + side + 7, y + side + 7), fill=WHITE)
            pen.image.paste(worst, (round(left) + 5, round(y) + 5))
            pen.ring(np.array([left + 22, y + side + 48]), 18, WHITE, 4)
            where = widest(measured)
            words = WORDS["widest" if where is None or where.seen else "tip"]
            pen.fitted((left + 56, y + side + 48), words, _SMALL, side - 56, anchor="lm")
            below = y + side + 96
        below = _legend(pen, measured, colours, (left, below))
        return max(y + belt.height, below) + 20

    return part


def _legend(
    pen: Pen, measured: SeamMeasurement, colours: GapColours, at: tuple[float, float]
) -> float:
    """What the colours of the ribbons mean; the bar grows where the ribbons do."""
    if not measured.gap_profile:
        return at[1]
    left, top = at[0], at[1] + 16
    across, high, low = _LENS[0], 34, 20
    pen.text((left, top + 30), WORDS["colour"], _SMALL, QUIET)
    bar = top + 52
    for i in range(across):
        gap = colours.top_mm * i / (across - 1)
        size = high if colours.too_wide(gap) else low
        box = (left + i, bar + high - size, left + i, bar + high)
        pen.draw.rectangle(box, fill=colours.of(gap))
    under = bar + high + 42
    pen.text((left, under), "0", _SMALL, anchor="ls")
    if colours.limit_mm is None:
        pen.text((left + across, under), f"{colours.top_mm:g}", _SMALL, anchor="rs")
    else:
        x = left + across * colours.limit_mm / colours.top_mm
        pen.draw.line([(x, bar - 4), (x, bar + high + 8)], fill=TEXT, width=4)
        pen.text((x, under), f"{WORDS['limit']} {colours.limit_mm:g}", _SMALL, anchor="ms")
    if any(reading.gap.below for reading in measured.gap_profile):
        under += 50
        pen.text((left, under), WORDS["bound"], _SMALL, QUIET)
    return under + 16


def _table(pen: Pen, measured: SeamMeasurement, y: float) -> float:
    """The numbers that limits are set for, each with its limit and decision."""
    limits = {limit.name: limit for limit in measured.limits}
    for name, key in MEASURED_AS.items():
        number: Measurement | None = getattr(measured, key)
        if number is not None and (name in _USUAL or name in limits):
            middle = y + _MAIN_LINE / 2
            _sign_of(pen, np.array([_RIM + RADIUS, middle]), name, measured)
            pen.fitted((_RIM + 72, middle), WORDS[name], _MAIN, 335, anchor="lm")
            pen.fitted((455, middle), number.shown(), _MAIN, 415, bold=True, anchor="lm")
            _decided(pen, middle, limits.get(name), measured.decisions.get(name))
            y += _MAIN_LINE
            pen.draw.line([(_RIM, y), (WIDTH_PX - _RIM, y)], fill=RULE, width=2)
    return y


def _sign_of(pen: Pen, centre: NDArray[np.float64], name: str, measured: SeamMeasurement) -> None:
    """What leads from a row to the picture."""
    if name == "finger_gap" and measured.gap_max_at is not None:
        pen.ring(centre, 18, WHITE, 4)
    elif name == "splice_width":
        pen.balloon(centre, SPLICE_WIDTH, RADIUS)
    elif name == "edge_offset" and measured.edge_offset_upper and measured.edge_offset_lower:
        above, below = measured.edge_offset_upper.value, measured.edge_offset_lower.value
        pen.balloon(centre, UPPER_OFFSET if abs(above) >= abs(below) else LOWER_OFFSET, RADIUS)


def _decided(pen: Pen, middle: float, limit: Limit | None, decision: Decision | None) -> None:
    if limit is not None:
        _in_two(pen, (886, middle), limit.shown(), 340)
    if decision is not None:
        pen.sign((1266, middle), 27, decision)
        colour = DECISION_COLOUR[decision]
        pen.fitted((1304, middle), WORDS[decision.value], _MAIN, 256, colour, True, "lm")


def _in_two(pen: Pen, at: tuple[float, float], text: str, room: float) -> None:
    """On one line, or on two smaller ones where it is long."""
    left, middle = at
    if width(text, _ROW) <= room:
        pen.text(at, text, _ROW, QUIET, anchor="lm")
        return
    for line, down in zip(wrapped(text, _SMALLEST, room), (-19, 19), strict=False):
        pen.text((left, middle + down), line, _SMALLEST, QUIET, anchor="lm")


def _lesser(pen: Pen, measured: SeamMeasurement, y: float) -> float:
    """The other numbers, in two columns."""
    pitch = WORDS["pitch"].format(count=measured.finger_count)
    shown: list[tuple[str, str, Measurement]] = [
        (letter, words, number)
        for letter, words, number in (
            (LEFT_WIDTH, WORDS["left"], measured.belt_width_left),
            (RIGHT_WIDTH, WORDS["right"], measured.belt_width_right),
            (UPPER_OFFSET, *_offset(WORDS["upper"], measured.edge_offset_upper)),
            (LOWER_OFFSET, *_offset(WORDS["lower"], measured.edge_offset_lower)),
            ("", WORDS["gap_mean"], measured.gap_mean),
            ("", WORDS["skew"], measured.skew),
            ("", pitch, measured.finger_pitch),
            ("", WORDS["length"], measured.finger_length),
            ("", WORDS["bow"], measured.bow),
        )
        if number is not None
    ]
    y += 12
    column = (WIDTH_PX - 3 * _RIM) / 2
    for i, (letter, words, number) in enumerate(shown):
        left = _RIM + (i % 2) * (column + _RIM)
        middle = y + (i // 2) * _LINE + _LINE / 2
        value = number.shown()
        if letter:
            pen.balloon(np.array([left + RADIUS, middle]), letter, _LINE / 2 - 1)
        room = column - 72 - 20 - width(value, _ROW)
        pen.fitted((left + 72, middle), words, _ROW, room, QUIET, anchor="lm")
        pen.text((left + column, middle), value, _ROW, anchor="rm")
    return y + (len(shown) + 1) // 2 * _LINE


def _offset(words: str, number: Measurement | None) -> tuple[str, Measurement | None]:
    """An arrow says which way the right end lies, where the uncertainty leaves no doubt of it."""
    if number is None:
        return words, None
    way = "" if abs(number.value) <= number.U else "↓" if number.value > 0 else "↑"
    return words.format(way=way), number.model_copy(update={"value": abs(number.value)})


def _flags(pen: Pen, measured: SeamMeasurement, y: float) -> float:
    """Each flag's words beside its sign."""
    flags = measured.flags
    y += 12 if flags else 0
    for number, flag in enumerate(flags[:_MOST_FLAGS], start=1):
        centre = np.array([_RIM + RADIUS, y + _LINE / 2])
        pen.flag(centre, str(number), _LINE / 2 - 1)
        for line in wrapped(flag.text, _ROW, WIDTH_PX - 2 * _RIM - 72)[:_MOST_LINES]:
            pen.text((_RIM + 72, y + _LINE / 2), line, _ROW, anchor="lm")
            y += _LINE
    if len(flags) > _MOST_FLAGS:
        words = WORDS["more"].format(count=len(flags) - _MOST_FLAGS)
        pen.text((_RIM + 72, y + _LINE / 2), words, _ROW, QUIET, anchor="lm")
        y += _LINE
    return y


def _foot(pen: Pen, measured: SeamMeasurement, y: float) -> float:
    if measured.edge_offset_upper is not None or measured.edge_offset_lower is not None:
        pen.text((_RIM, y + 50), WORDS["ways"], _SMALL, QUIET)
    pen.text((WIDTH_PX - _RIM, y + 50), WORDS["expanded"], _SMALL, QUIET, anchor="rs")
    return y + 74
