"""Outcomes of each month as columns: each outcome has a pattern, a place and its number."""

from __future__ import annotations

from collections.abc import Sequence

from recorder.knowhow.charts.look import Look
from recorder.knowhow.charts.pen import INK, LINE, PAPER, QUIET, TYPE, Pen, in_lines, width
from recorder.knowhow.charts.scale import Scale
from recorder.knowhow.trends.chart import Month
from recorder.knowhow.trends.table import outcome_label
from recorder.model.words import ENGLISH, Words

_OUTCOMES = ("accepted", "rework", "rejected", "open")  # from the bottom of a column to its top
_LEFT = 38.0
_SAMPLE = 14.0
_TWO_ROWS = 26.0  # a column narrower than this has no room for its number


def svg(months: Sequence[Month], words: Words = ENGLISH, look: Look | None = None) -> str:
    """The picture of some months, the newest at the right; of more than have room, the newest. The
    same arguments give the same text.
    """
    look = look or Look()
    pen = Pen(look)
    say = words.say
    pen.text(8, 20, say("Splices by outcome"), size=TYPE + 1, bold=True)
    shown = list(months)[-(12 if look.narrow else 24) :]
    most = max((_all(month) for month in shown), default=0)
    if not most:
        told = say("Nothing to show yet: no splice in this time.")
        pen.text(8, 64, told, size=TYPE, tone=QUIET)
        return pen.picture(88, say("Splices by outcome"), told)
    top = _legend(pen, words, 32.0)
    bottom = top + (170.0 if look.narrow else 180.0)
    scale = Scale(0.0, most * 1.06, bottom, top)
    for tick in scale.ticks(4):
        if tick == int(tick):
            y = scale.place(tick)
            pen.line((_LEFT, y, look.width - 8, y), "#e3e9ea")
            pen.text(_LEFT - 5, y + 4, str(int(tick)), tone=QUIET, anchor="end")
    room = (look.width - 8 - _LEFT) / len(shown)
    for place, month in enumerate(shown):
        _column(pen, scale, month, _LEFT + room * (place + 0.5), min(room * 0.66, 56.0))
    pen.line((_LEFT, bottom, look.width - 8, bottom), INK)
    _months(pen, shown, room, bottom)
    y = bottom + 2 * LINE + 6
    if len(shown) < len(months):
        note = say("The newest {n} of {of} months.", n=len(shown), of=len(months))
        for line in in_lines([note], look.width - 16):
            pen.text(8, y + 8, line, tone=QUIET)
            y += LINE
    return pen.picture(y + 2, say("Splices by outcome"), _told(shown, words))


def _all(month: Month) -> int:
    return month.accepted + month.rework + month.rejected + month.open


def _told(months: Sequence[Month], words: Words) -> str:
    sums = [sum(getattr(month, it) for month in months) for it in _OUTCOMES]
    return words.say(
        "From {first} to {last}: {accepted} accepted, {rework} rework, {rejected} rejected, "
        "{open} open.",
        first=months[0].month,
        last=months[-1].month,
        **dict(zip(_OUTCOMES, sums, strict=True)),
    )


def _column(pen: Pen, scale: Scale, month: Month, x: float, wide: float) -> None:
    held = 0
    for outcome in _OUTCOMES:
        count = getattr(month, outcome)
        if count:
            low, high = scale.place(held), scale.place(held + count)
            _area(pen, outcome, x - wide / 2, high, wide, low - high)
            if low - high >= 15 and wide >= max(_TWO_ROWS, width(str(count)) + 6):
                _number(pen, outcome, x, (low + high) / 2, count)
            held += count
    if held:
        pen.text(x, scale.place(held) - 4, str(held), anchor="middle", bold=True)


def _number(pen: Pen, outcome: str, x: float, y: float, count: int) -> None:
    text = str(count)
    if outcome in ("rework", "rejected"):  # on a hatched ground a number needs a clear one
        ground = INK if _dark(outcome) else PAPER
        pen.box(x - width(text) / 2 - 2, y - 7, width(text) + 4, 14, ground)
    pen.text(x, y + 4, text, anchor="middle", tone=PAPER if _dark(outcome) else INK)


def _dark(outcome: str) -> bool:
    return outcome in ("accepted", "rejected")


def _area(pen: Pen, outcome: str, x: float, y: float, wide: float, high: float) -> None:
    """Accepted full in the firm's colour, rework hatched, rejected black and hatched the other way,
    open an outline.
    """
    if outcome == "accepted":
        pen.box(x, y, wide, high, pen.look.own)
    elif outcome == "rejected":
        pen.box(x, y, wide, high, INK)
        _hatch(pen, x, y, wide, high, PAPER, falling=True)
    else:
        pen.box(x, y, wide, high, PAPER)
        if outcome == "rework":
            _hatch(pen, x, y, wide, high, INK)
        dash = {"stroke_dasharray": "3 2"} if outcome == "open" else {}
        pen.put("rect", x=x + 0.5, y=y + 0.5, width=wide - 1, height=max(high - 1, 0.5),
                fill="none", stroke=INK, stroke_width=1.0, **dash)  # fmt: skip
    pen.line((x, y, x + wide, y), PAPER, 1.0)


def _hatch(
    pen: Pen, x: float, y: float, wide: float, high: float, tone: str, falling: bool = False
) -> None:
    """Lines at 45 degrees, each cut where it leaves the area; not every viewer knows patterns."""
    steps = []
    apart = 5.0
    offset = apart - high
    while offset < wide:
        start, end = max(offset, 0.0), min(offset + high, wide)
        low, top = start - offset, end - offset
        ends = (y + low, y + top) if falling else (y + high - low, y + high - top)
        if end > start:
            steps.append(f"M{x + start:.1f} {ends[0]:.1f}L{x + end:.1f} {ends[1]:.1f}")
        offset += apart
    if steps:
        pen.path("".join(steps), stroke=tone, thick=1.0)


def _legend(pen: Pen, words: Words, y: float) -> float:
    """A sample and the name of each outcome; gives the place under it."""
    x = 8.0
    for outcome in _OUTCOMES:
        text = outcome_label(outcome, words)
        wide = _SAMPLE + 6 + width(text) + 14
        if x > 8 and x + wide > pen.look.width:
            x, y = 8.0, y + LINE + 2
        _area(pen, outcome, x, y, _SAMPLE, 12.0)
        pen.text(x + _SAMPLE + 6, y + 10, text, tone=QUIET)
        x += wide
    return y + LINE + 20


def _months(pen: Pen, shown: Sequence[Month], room: float, bottom: float) -> None:
    """The number of each month, and the year under its first one."""
    every = max(1, -(-18 // int(max(room, 1))))
    year = ""
    for place, month in enumerate(shown):
        x = _LEFT + room * (place + 0.5)
        if place % every == 0:
            pen.text(x, bottom + 15, month.month[5:], tone=QUIET, anchor="middle")
        if month.month[:4] != year:
            year = month.month[:4]
            anchor = "middle" if len(shown) < 20 else "start"
            pen.text(x, bottom + 15 + LINE, year, tone=QUIET, anchor=anchor)
