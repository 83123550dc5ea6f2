"""One of the two charts of a control chart: its ground, its limits by name, its earlier points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from recorder.knowhow.charts.columns import Columns
from recorder.knowhow.charts.pen import BEHIND, FILL, INK, QUIET, RULE, Pen, width
from recorder.knowhow.charts.scale import Scale, apart, decimals
from recorder.model.words import Words

_TALL = 100.0


@dataclass(frozen=True)
class Level:
    """A line across. text: its name; number: its value, which stands alone where there is no room
    for both. limit: whether it is a limit and not a centre.
    """

    value: float
    text: str
    number: str
    limit: bool


@dataclass(frozen=True)
class Panel:
    """scale: of its values, upwards. at: where its points stand. left, right: its edges."""

    pen: Pen
    scale: Scale
    at: Columns
    left: float
    right: float

    def ground(self, words: Words) -> None:
        """The scale at the left."""
        top, bottom = self.scale.end, self.scale.start
        ticks = self.scale.ticks(4 if bottom - top > _TALL else 2)
        places = decimals(ticks)
        for tick in ticks:
            y = self.scale.place(tick)
            self.pen.line((self.left, y, self.right, y), FILL)
            shown = words.digits(f"{tick:z.{places}f}")
            self.pen.text(self.left - 5, y + 4, shown, tone=QUIET, anchor="end")
        self.pen.line((self.left, top, self.left, bottom), RULE)
        self.pen.line((self.left, bottom, self.right, bottom), RULE)

    def levels(self, levels: Sequence[Level], provisional: bool) -> None:
        """Lines with their names at the right; dotted where they are provisional."""
        heights = apart([self.scale.place(level.value) for level in levels], 13.0)
        room = self.pen.look.width - self.right - 6
        for level, height in zip(levels, heights, strict=True):
            y = self.scale.place(level.value)
            tone = QUIET if level.limit else self.pen.look.own
            dash = "2 3" if provisional else "6 3" if level.limit else ""
            self.pen.line((self.left, y, self.right, y), tone, 1.2, dash)
            text = level.text if width(level.text, 11.0) <= room else level.number
            self.pen.text(self.right + 4, height + 4, text)

    def way(self, values: Sequence[float | None]) -> None:
        """A line from point to point, and none to or from one without a value."""
        stretch: list[tuple[float, float]] = []
        for place in range(self.at.begin, len(values)):
            value = values[place]
            if value is None:
                self.pen.way(stretch, QUIET, 0.8)
                stretch = []
            else:
                stretch.append((self.at.x(place), self.scale.place(value)))
        self.pen.way(stretch, QUIET, 0.8)

    def earlier(self, values: Sequence[float | None]) -> None:
        """Groups of points: from the lowest to the highest, with the mean."""
        for group in self.at.groups:
            held = [it for it in values[group.first : group.last + 1] if it is not None]
            if not held:
                continue
            wide = group.wide * 0.6
            top, low = self.scale.place(max(held)), self.scale.place(min(held))
            self.pen.box(group.x - wide / 2, top, wide, max(low - top, 1.0), BEHIND)
            y = self.scale.place(sum(held) / len(held))
            self.pen.line((group.x - wide / 2, y, group.x + wide / 2, y), INK, 1.6)
        if self.at.edge is not None:
            self.divide(self.at.edge)

    def divide(self, x: float) -> None:
        """A dotted line from top to bottom."""
        self.pen.line((x, self.scale.end, x, self.scale.start), QUIET, 0.8, "1 3")

    def far(self, x: float, value: float) -> None:
        """At the edge, the head of an arrow towards a value that lies beyond it."""
        up = value > self.scale.high
        y = self.scale.place(value)
        self.pen.head(x, y + (7 if up else -7), up)
