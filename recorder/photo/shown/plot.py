"""The gap along the seam as a plot: where it is wide, how sure that is, and what is allowed.

Made from the measurement alone. It is for a print of half a page, 90 mm wide, in colour or grey,
where a pixel is 0.16 point: what matters differs in shape and lightness and not in hue alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
from PIL import Image

from recorder.model import units
from recorder.model.measurement import Decision, Measurement, SeamMeasurement
from recorder.photo.shown.gap_colours import GapColours, colours_for, gap_limit
from recorder.photo.shown.pen import (
    DECISION_COLOUR,
    PAPER,
    QUIET,
    RULE,
    TEXT,
    WHITE,
    Colour,
    Pen,
    save,
    shortened,
    width,
)
from recorder.photo.shown.placing import spread
from recorder.photo.shown.stretches import Span, Stretch, spans, stretches, widest

WORDS = {
    "title": "Gap along the seam, mm",
    "within": "within",
    "outside": "outside",
    "undecided": "undecided",
    "flank": "flank",
    "along": "way along the seam from the upper edge, mm",
    "high": "limit {mm} mm",
    "low": "least {mm} mm",
    "mean": "mean",
    "mean below": "mean: below",
    "widest": "widest: {gap}, flank {flank}",
    "band": "gap ± U, k = 2",
    "bound": "upper bound, too narrow to tell",
    "unseen": "blank: not measured",
    "source": "limit: {source}",
}

WIDTH_PX = 1600
_FINE = 2  # pixels of the drawing for one of the finished plot
_RIM = 30
_LEFT, _RIGHT = 132, 1290  # of the frame: room for the scale, and for the names of the levels
_PAD = 24  # within the frame, so that the ring at an end of the seam stays off the scale
_TOP, _BOTTOM = 156, 656
_TYPE, _TITLE = 42, 52
_LINE = 56
_HEADROOM = 0.24  # share of the frame where the widest place is named
_TICKS = 5

_BAND: Colour = (170, 202, 228)
_BAND_WIDE: Colour = (242, 190, 158)
_WIDE: Colour = DECISION_COLOUR[Decision.OUTSIDE]
_STRIPE: Colour = (238, 240, 241)


@dataclass(frozen=True)
class _Frame:
    """The plot's frame in pixels. end_mm: of the seam. top_mm: of the gap scale."""

    end_mm: float
    top_mm: float

    def x(self, way_mm: float) -> float:
        return _LEFT + _PAD + (_RIGHT - _LEFT - 2 * _PAD) * way_mm / self.end_mm

    def y(self, gap_mm: float) -> float:
        return _BOTTOM - (_BOTTOM - _TOP) * gap_mm / self.top_mm


@dataclass(frozen=True)
class _Level:
    """A line across the frame with its name beside it."""

    gap_mm: float
    name: str
    colour: Colour
    dash: int


def draw_plot(measured: SeamMeasurement, path: Path) -> None:
    """Write the plot of a measured seam as PNG or JPEG by the name of ``path``.

    Raises OutputUnwritable, and ValueError for a seam without a gap profile.
    """
    parts, flanks = stretches(measured), spans(measured)
    if not parts or not flanks:
        raise ValueError("a seam without a gap profile has no plot")
    levels = _levels(measured)
    frame = _frame(measured, parts, flanks, levels)
    rows = list(_in_rows(_legend(measured, parts)))
    high = _BOTTOM + 2 * _LINE + 24 + len(rows) * _LINE + 12
    image = Image.new("RGB", (WIDTH_PX * _FINE, high * _FINE), PAPER)
    fine = _FinePen(image)
    _draw_ground(fine, frame, flanks)
    _draw_readings(fine, frame, parts, colours_for(measured))
    for level in levels:
        y = frame.y(level.gap_mm)
        fine.line([(_LEFT, y), (_RIGHT, y)], level.colour, 4 if level.dash else 2, level.dash)
    fine.line([(_LEFT, _TOP), (_LEFT, _BOTTOM), (_RIGHT, _BOTTOM)], TEXT, 3)
    pen = Pen(image.reduce(_FINE))
    _draw_title(pen, measured)
    _draw_scales(pen, frame, flanks)
    _draw_level_names(pen, frame, levels)
    _draw_widest(pen, frame, measured)
    _draw_legend(pen, rows)
    save(pen.image, path)


class _FinePen:
    """Draws in the plot's pixels on a picture that is ``_FINE`` times as fine."""

    def __init__(self, image: Image.Image) -> None:
        self._pen = Pen(image)

    def box(self, left: float, top: float, right: float, bottom: float, fill: Colour) -> None:
        corners = [round(c * _FINE) for c in (left, top, right, bottom)]
        self._pen.draw.rectangle(
            (corners[0], corners[1], max(corners[0], corners[2] - 1), corners[3]), fill=fill
        )

    def line(
        self, points: list[tuple[float, float]], colour: Colour, thick: float, dash: int = 0
    ) -> None:
        self._pen.line(np.array(points) * _FINE, colour, round(thick * _FINE), dash=dash * _FINE)


def _levels(measured: SeamMeasurement) -> list[_Level]:
    """The limits in force and the mean."""
    levels = []
    limit = gap_limit(measured)
    if limit is not None:
        for words, bound in ((WORDS["high"], limit.high), (WORDS["low"], limit.low)):
            if bound is not None:
                mm = units.convert(bound, limit.unit, "mm")
                levels.append(_Level(mm, words.format(mm=f"{mm:.3g}"), _WIDE, 18))
    mean = measured.gap_mean
    if mean is not None:
        words = WORDS["mean below"] if mean.below else WORDS["mean"]
        levels.append(_Level(mean.value, words, TEXT, 0))
    return levels


def _frame(
    measured: SeamMeasurement, parts: tuple[Stretch, ...], flanks: tuple[Span, ...],
    levels: list[_Level],
) -> _Frame:  # fmt: skip
    gaps = [part.reading.gap for part in parts]
    if measured.gap_max is not None:
        gaps.append(measured.gap_max)
    highest = max([_upper(gap) for gap in gaps] + [level.gap_mm for level in levels])
    end = max([part.end_mm for part in parts] + [span.end_mm for span in flanks])
    return _Frame(end, highest / (1 - _HEADROOM))


def _upper(gap: Measurement) -> float:
    return gap.value if gap.below else gap.value + gap.U


def _draw_ground(fine: _FinePen, frame: _Frame, flanks: tuple[Span, ...]) -> None:
    """Every other flank on grey, and the lines of the gap scale."""
    for span in flanks:
        left, right = frame.x(max(span.begin_mm, 0.0)), frame.x(span.end_mm)
        if span.flank.flank % 2 == 0:
            fine.box(left, _TOP, right, _BOTTOM, _STRIPE)
        fine.line([(left, _TOP), (left, _BOTTOM)], RULE, 1)
        fine.line([(right, _TOP), (right, _BOTTOM)], RULE, 1)
    for tick in _ticks(frame.top_mm):
        fine.line([(_LEFT, frame.y(tick)), (_RIGHT, frame.y(tick))], RULE, 1.5)


def _draw_readings(
    fine: _FinePen, frame: _Frame, parts: tuple[Stretch, ...], colours: GapColours
) -> None:
    """U as a band with the gap in it; an open bar up to what is only a bound."""
    for part in parts:
        gap = part.reading.gap
        if not gap.below:
            low, high = frame.y(max(gap.value - gap.U, 0.0)), frame.y(gap.value + gap.U)
            band = _BAND_WIDE if colours.too_wide(gap.value) else _BAND
            fine.box(frame.x(part.begin_mm), high, frame.x(part.end_mm), low, band)
    for part in parts:
        gap, y = part.reading.gap, frame.y(part.reading.gap.value)
        ink = _WIDE if colours.too_wide(gap.value) else TEXT
        fine.line(
            [(frame.x(part.begin_mm), y), (frame.x(part.end_mm), y)], ink, 3 if gap.below else 6
        )
    for run in _runs(parts):
        ways = [frame.x(part.begin_mm) for part in run] + [frame.x(run[-1].end_mm)]
        tops = [frame.y(part.reading.gap.value) for part in run]
        for x, (one, other) in zip(ways[1:-1], pairwise(tops), strict=True):
            fine.line([(x, one), (x, other)], TEXT, 2)
        if run[0].reading.gap.below:
            fine.line([(ways[0], _BOTTOM), (ways[0], tops[0])], TEXT, 3)
            fine.line([(ways[-1], _BOTTOM), (ways[-1], tops[-1])], TEXT, 3)


def _runs(parts: tuple[Stretch, ...]) -> Iterator[list[Stretch]]:
    """Stretches that follow each other in a flank without a break, bounds and numbers apart."""
    run: list[Stretch] = []
    for part in parts:
        follows = run and (
            part.begin_mm - run[-1].end_mm < 0.2 * (part.end_mm - part.begin_mm)
            and part.reading.flank == run[-1].reading.flank
            and part.reading.gap.below == run[-1].reading.gap.below
        )
        if run and not follows:
            yield run
            run = []
        run.append(part)
    yield run


def _draw_title(pen: Pen, measured: SeamMeasurement) -> None:
    """What it is, of which photo, and the decision on the largest gap."""
    pen.text((_RIM, 48), WORDS["title"], _TITLE, bold=True, anchor="lm")
    right = float(WIDTH_PX - _RIM)
    decision = measured.decisions.get("finger_gap")
    if decision is not None:
        words, colour = WORDS[decision.value], DECISION_COLOUR[decision]
        pen.text((right, 48), words, _TITLE, colour, bold=True, anchor="rm")
        right -= width(words, _TITLE, bold=True) + 42
        pen.sign((right, 48), 28, decision)
        right -= 60
    left = _RIM + width(WORDS["title"], _TITLE, bold=True) + 40
    name = shortened(measured.file, _TYPE, right - left)
    pen.text((right, 48), name, _TYPE, QUIET, anchor="rm")


def _draw_scales(pen: Pen, frame: _Frame, flanks: tuple[Span, ...]) -> None:
    """Gap on the left, the way below, numbers of the flanks above."""
    ticks = _ticks(frame.top_mm)
    for tick in ticks:
        pen.text((_LEFT - 14, frame.y(tick)), f"{tick:g}", _TYPE, anchor="rm")
    for tick in _ticks(frame.end_mm):
        x = frame.x(tick)
        pen.draw.line([(x, _BOTTOM), (x, _BOTTOM + 10)], fill=TEXT, width=3)
        pen.text((x, _BOTTOM + 50), f"{tick:g}", _TYPE, anchor="ms")
    pen.text((_RIGHT, _BOTTOM + 50 + _LINE), WORDS["along"], _TYPE, QUIET, anchor="rs")
    pen.text((_LEFT - 14, _TOP - 16), WORDS["flank"], _TYPE, QUIET, anchor="rs")
    widest = max(width(str(span.flank.flank), _TYPE) for span in flanks)
    apart = min(frame.x(span.end_mm) - frame.x(span.begin_mm) for span in flanks)
    every = next((n for n in (1, 2, 5, 10, 20, 50) if n * apart > widest + 16), 100)
    for span in flanks:
        if span.flank.flank % every == 0:
            x = (frame.x(span.begin_mm) + frame.x(span.end_mm)) / 2
            pen.text((x, _TOP - 16), str(span.flank.flank), _TYPE, anchor="ms")


def _ticks(end: float) -> list[float]:
    """From 0 up to ``end``, in steps of 1, 2 or 5 times a power of ten."""
    least = end / (_TICKS + 1)
    power = 10.0 ** math.floor(math.log10(least))
    step = next(share * power for share in (1, 2, 5, 10) if share * power >= least)
    return [round(i * step, 9) for i in range(int(end / step) + 1)]


def _draw_level_names(pen: Pen, frame: _Frame, levels: list[_Level]) -> None:
    """On the right of the frame, each led to from its line, so that none lies on another."""
    wanted = [frame.y(level.gap_mm) for level in levels]
    for level, y, at in zip(levels, wanted, spread(wanted, 50, _TOP, _BOTTOM), strict=True):
        pen.draw.line([(_RIGHT + 2, y), (_RIGHT + 30, at)], fill=level.colour, width=3)
        pen.fitted(
            (_RIGHT + 36, at), level.name, _TYPE, WIDTH_PX - _RIGHT - 40, level.colour,
            bold=bool(level.dash), anchor="lm",
        )  # fmt: skip


def _draw_widest(pen: Pen, frame: _Frame, measured: SeamMeasurement) -> None:
    """A ring at the widest place with its own U, and its name in the room above all readings."""
    worst = widest(measured)
    if worst is None:
        return
    gap = worst.gap
    x, y = frame.x(worst.way_mm), frame.y(gap.value)
    text = WORDS["widest"].format(gap=gap.shown(), flank=worst.flank.flank)
    half = width(text, _TYPE, bold=True) / 2
    middle = float(np.clip(x, _LEFT + half + 10, max(_RIGHT - half - 10, _LEFT + half + 10)))
    pen.draw.line([(x, _TOP + 56), (x, frame.y(_upper(gap)))], fill=TEXT, width=3)
    if not gap.below:
        low = frame.y(max(gap.value - gap.U, 0.0))
        pen.draw.line([(x, frame.y(_upper(gap))), (x, low)], fill=TEXT, width=5)
    pen.ring(np.array([x, y]), 14, WHITE, 5, rim=3)
    pen.text((middle, _TOP + 46), text, _TYPE, bold=True, anchor="ms")


_Note = tuple[str, str]  # kind of the sample, words


def _legend(measured: SeamMeasurement, parts: tuple[Stretch, ...]) -> Iterator[_Note]:
    below = [part.reading.gap.below for part in parts]
    if not all(below):
        yield "band", WORDS["band"]
    if any(below):
        yield "bound", WORDS["bound"]
    yield "", WORDS["unseen"]
    limit = gap_limit(measured)
    if limit is not None and limit.source:
        yield "", WORDS["source"].format(source=limit.source)


_SAMPLE = 84  # pixels for a sample and the room beside it


def _in_rows(notes: Iterator[_Note]) -> Iterator[list[tuple[float, _Note]]]:
    """The notes with their places from the left, in as many rows as they need."""
    row: list[tuple[float, _Note]] = []
    left = float(_RIM)
    for kind, words in notes:
        words = shortened(words, _TYPE, WIDTH_PX - 2 * _RIM - _SAMPLE)
        wide = width(words, _TYPE) + (_SAMPLE if kind else 0)
        if row and left + wide > WIDTH_PX - _RIM:
            yield row
            row, left = [], float(_RIM)
        row.append((left, (kind, words)))
        left += wide + 50
    yield row


def _draw_legend(pen: Pen, rows: list[list[tuple[float, _Note]]]) -> None:
    y = _BOTTOM + 2 * _LINE + 24 + _LINE / 2
    for row in rows:
        for left, (kind, words) in row:
            if kind == "band":
                pen.draw.rectangle((left, y - 18, left + 64, y + 18), fill=_BAND)
                pen.draw.line([(left, y), (left + 64, y)], fill=TEXT, width=6)
            elif kind == "bound":
                corners = [(left, y + 18), (left, y - 18), (left + 64, y - 18), (left + 64, y + 18)]
                pen.draw.line(corners, fill=TEXT, width=3)
            pen.text((left + (_SAMPLE if kind else 0), y), words, _TYPE, QUIET, anchor="lm")
        y += _LINE
