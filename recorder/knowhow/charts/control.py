"""The control chart as a picture: individuals above, moving ranges below, what signals and why.

A point that signals is a diamond and not a dot, and bears the letter of its rule, so that nothing
depends on a tone. A bar over the chart spans a drift. The outline of a dot alone is an upper bound.
"""

from __future__ import annotations

from recorder.knowhow.charts import legend
from recorder.knowhow.charts.columns import Columns, columns
from recorder.knowhow.charts.look import Look
from recorder.knowhow.charts.pen import (
    FILL,
    INK,
    LINE,
    QUIET,
    RULE,
    SMALL,
    TYPE,
    Pen,
    in_lines,
    name,
    shortened,
    width,
)
from recorder.knowhow.charts.scale import Scale, apart, covering, decimals
from recorder.knowhow.trends import rules
from recorder.knowhow.trends.chart import Chart, Limits, Point
from recorder.knowhow.trends.observed import SIZES, label, stream_label
from recorder.knowhow.trends.table import day, factor, number
from recorder.model.units import UNITS
from recorder.model.words import ENGLISH, Words

_LEFT = 42.0
_TOP = 62.0  # under the title and the names of drifts
_FAR = 8.0  # sigma from the centre beyond which a point is drawn at the edge
_GAP = 26.0  # between the two charts


def svg(
    chart: Chart, words: Words = ENGLISH, unit: str | None = None, look: Look | None = None
) -> str:
    """The picture of a chart. unit: of its values, None for that of the chart. The same arguments
    give the same text.
    """
    return _Picture(chart, words, unit or chart.unit, look or Look()).drawn()


class _Picture:
    def __init__(self, chart: Chart, words: Words, unit: str, look: Look) -> None:
        times = factor(chart.unit, unit)
        self.chart, self.words, self.unit, self.look = chart, words, unit, look
        self.pen = Pen(look)
        self.points = [_in(point, times) for point in chart.points]
        self.limits = _limits_in(chart.limits, times)
        self.right = look.width - (74.0 if look.narrow else 92.0)
        self.at: Columns = columns(len(self.points), _LEFT + 6, self.right - 6)
        upper, lower = (150.0, 62.0) if look.narrow else (168.0, 66.0)
        self.middle = _TOP + upper
        self.low_top = self.middle + _GAP
        self.bottom = self.low_top + lower
        self.odd = self._odd()

    def drawn(self) -> str:
        self._title()
        if not self.points:
            return self._nothing()
        values = self._values_scale()
        self._panel(values, _TOP, self.middle)
        self._limit_lines(values)
        self._drifts()
        self._earlier(values, [point.value for point in self.points])
        self._individuals(values)
        if len(self.points) > 1:
            self._ranges()
        self._dates()
        heading = legend.heading(self.chart, self.words)
        told = legend.told(
            self.chart, self.limits, self._shown, UNITS[self.unit].symbol, self.words
        )
        return self.pen.picture(self._notes(), heading, told)

    # What is shown

    def _title(self) -> None:
        room = self.look.width - 16
        what = f"{label(self.chart.characteristic, self.words)}, {UNITS[self.unit].symbol}"
        self.pen.text(8, 20, what, size=TYPE + 1, bold=True)
        most = 26 if self.look.narrow else 48
        stream = stream_label(self.chart.stream, name(self.chart.name, most), self.words)
        if self.look.narrow:
            self.pen.text(8, 36, shortened(stream, room), tone=QUIET)
        else:
            left = 8 + width(what, TYPE + 1) + 14
            self.pen.text(left, 20, shortened(stream, room - left), size=TYPE, tone=QUIET)

    def _nothing(self) -> str:
        say = self.words.say
        told = say("Nothing to show yet: no job told or measured this.")
        heading = legend.heading(self.chart, self.words)
        y = 64.0
        for line in in_lines([told], self.look.width - 16, TYPE):
            self.pen.text(8, y, line, size=TYPE, tone=QUIET)
            y += LINE
        return self.pen.picture(y + 8, heading, told)

    def _odd(self) -> dict[int, list[str]]:
        """Places of points that signal in the upper chart, each with the rules it is told for;
        with none where the same signal is told at a later point.
        """
        found: dict[int, list[str]] = {}
        for signal in self.chart.signals:
            if signal.rule in (rules.JUMP, rules.DRIFT):
                continue
            first = signal.at if signal.first is None else signal.first
            for place in range(first, signal.at + 1):
                told = found.setdefault(place, [])
                if place == signal.at or signal.rule == rules.BEYOND:
                    told.append(signal.rule)
        return found

    def _shown(self, value: float) -> str:
        return number(value, self.unit, self.words)

    # The upper chart

    def _values_scale(self) -> Scale:
        values = [point.value for point in self.points]
        if self.limits:
            far = _FAR * self.limits.sigma
            near = [it for it in values if abs(it - self.limits.centre) <= far]
            values = [*near, self.limits.lower, self.limits.upper]
        floor = 0.0 if self.chart.characteristic in SIZES else None
        return covering(values, self.middle, _TOP, floor)

    def _panel(self, scale: Scale, top: float, bottom: float) -> None:
        """The ground of a chart with its scale at the left."""
        ticks = scale.ticks(4 if bottom - top > 100 else 2)
        places = decimals(ticks)
        for tick in ticks:
            y = scale.place(tick)
            self.pen.line((_LEFT, y, self.right, y), FILL)
            shown = self.words.digits(f"{tick:z.{places}f}")
            self.pen.text(_LEFT - 5, y + 4, shown, tone=QUIET, anchor="end")
        self.pen.line((_LEFT, top, _LEFT, bottom), RULE)
        self.pen.line((_LEFT, bottom, self.right, bottom), RULE)

    def _limit_lines(self, scale: Scale) -> None:
        limits, say = self.limits, self.words.say
        if limits is None:
            return
        rows = [
            (limits.upper, say("upper {value}", value=self._shown(limits.upper)), "6 3"),
            (limits.centre, say("centre {value}", value=self._shown(limits.centre)), ""),
            (limits.lower, say("lower {value}", value=self._shown(limits.lower)), "6 3"),
        ]
        self._named(scale, rows, limits.provisional)
        if not limits.provisional and 0 <= self.at.begin < limits.baseline < len(self.points):
            x = (self.at.x(limits.baseline - 1) + self.at.x(limits.baseline)) / 2
            self.pen.line((x, _TOP, x, self.middle), QUIET, 0.8, "1 3")

    def _named(self, scale: Scale, rows: list[tuple[float, str, str]], provisional: bool) -> None:
        """Lines across a chart, with their names at the right."""
        heights = apart([scale.place(value) for value, _, _ in rows], 13.0)
        for (value, text, dash), height in zip(rows, heights, strict=True):
            y = scale.place(value)
            tone, thick = (QUIET, 1.2) if dash else (self.look.own, 1.2)
            self.pen.line((_LEFT, y, self.right, y), tone, thick, "2 3" if provisional else dash)
            room = self.look.width - self.right - 6
            self.pen.text(self.right + 4, height + 4, shortened(text, room))

    def _drifts(self) -> None:
        """A bar over the points of each drift."""
        for signal in self.chart.signals:
            if signal.rule != rules.DRIFT or signal.at < self.at.begin:
                continue
            left = self.at.x(max(signal.since, self.at.begin))
            right = self.at.x(signal.at)
            self.pen.box(left - 2, _TOP - 8, right - left + 4, 4, self.look.own)
            middle = (left + right) / 2
            self.pen.text(middle, _TOP - 11, rules.LETTERS[rules.DRIFT], anchor="middle", bold=True)

    def _earlier(self, scale: Scale, values: list[float]) -> None:
        """Groups of points: from the lowest to the highest, with the mean."""
        for group in self.at.groups:
            held = values[group.first : group.last + 1]
            wide = group.wide * 0.6
            top, low = scale.place(max(held)), scale.place(min(held))
            self.pen.box(group.x - wide / 2, top, wide, max(low - top, 1.0), "#a9b7ba")
            y = scale.place(sum(held) / len(held))
            self.pen.line((group.x - wide / 2, y, group.x + wide / 2, y), INK, 1.6)
        if self.at.edge is not None:
            self.pen.line((self.at.edge, scale.end, self.at.edge, scale.start), QUIET, 0.8, "1 3")

    def _individuals(self, scale: Scale) -> None:
        shown = range(self.at.begin, len(self.points))
        for place in shown:
            self._whisker(scale, place)
        self.pen.way(
            [(self.at.x(place), scale.place(self.points[place].value)) for place in shown],
            QUIET,
            0.8,
        )
        radius = 2.6 if self.at.each >= 7 else 2.0
        for place in shown:
            point = self.points[place]
            x, y = self.at.x(place), scale.place(point.value)
            if not scale.low <= point.value <= scale.high:
                self._beyond_the_edge(x, y, point.value > scale.high)
            elif place in self.odd:
                self.pen.diamond(x, y, radius + 2, INK, point.below)
            else:
                self.pen.dot(x, y, radius, INK, point.below)
            letters = "".join(rules.LETTERS[rule] for rule in self.odd.get(place, []))
            low = (
                y > scale.end + 14 and self.limits is not None and point.value >= self.limits.centre
            )
            if letters:
                below = min(y + 16, scale.start + 10)
                self.pen.text(x, y - 7 if low else below, letters, anchor="middle", bold=True)

    def _whisker(self, scale: Scale, place: int) -> None:
        point = self.points[place]
        if point.U is not None and not point.below and self.at.shows_uncertainty:
            x = self.at.x(place)
            ends = scale.place(point.value - point.U), scale.place(point.value + point.U)
            self.pen.line((x, *ends[:1], x, *ends[1:]), "#a9b7ba", 1.4)

    def _beyond_the_edge(self, x: float, y: float, up: bool) -> None:
        side = -1 if up else 1
        self.pen.path(f"M{x - 4:.2f} {y:.2f}h8l-4 {side * 7}z", INK)

    # The lower chart

    def _ranges(self) -> None:
        ranges = [point.moving_range or 0.0 for point in self.points]
        tops = [*ranges]
        if self.limits:
            far = _FAR * self.limits.sigma
            tops = [*(it for it in ranges if it <= far), self.limits.range_upper]
        scale = covering([0.0, *tops], self.bottom, self.low_top, 0.0)
        self._panel(scale, self.low_top, self.bottom)
        self.pen.text(_LEFT + 2, self.low_top - 6, self.words.say("Moving range"), tone=QUIET)
        if self.limits:
            upper, centre = self.limits.range_upper, self.limits.range_centre
            say = self.words.say
            rows = [
                (upper, say("upper {value}", value=self._shown(upper)), "6 3"),
                (centre, say("mean {value}", value=self._shown(centre)), ""),
            ]
            self._named(scale, rows, self.limits.provisional)
        self._earlier(scale, ranges)
        jumps = {it.at for it in self.chart.signals if it.rule == rules.JUMP} | {
            place
            for it in self.chart.signals
            if it.rule == rules.JUMP and it.first is not None
            for place in range(it.first, it.at)
        }
        shown = range(max(self.at.begin, 1), len(self.points))
        self.pen.way([(self.at.x(it), scale.place(ranges[it])) for it in shown], QUIET, 0.8)
        for place in shown:
            x, y = self.at.x(place), scale.place(ranges[place])
            if place not in jumps:
                self.pen.dot(x, y, 1.8, INK)
                continue
            self.pen.diamond(x, y, 4, INK)
            letter = rules.LETTERS[rules.JUMP]
            self.pen.text(x + 7, max(y, self.low_top) + 4, letter, bold=True)

    # Under the charts

    def _dates(self) -> None:
        """Days of some points, the first and the newest among them."""
        bottom = self.bottom if len(self.points) > 1 else self.middle
        first, last = self.at.begin, len(self.points) - 1
        room = width("2026-11-26", SMALL) + 12
        start = self.at.x(first)
        count = int((self.at.x(last) - start) // room) + 1
        steps = max(min(count, last - first + 1), 1)
        places = {first + round((last - first) * n / max(steps - 1, 1)) for n in range(steps)}
        for place in sorted(places):
            x = self.at.x(place)
            self.pen.line((x, bottom, x, bottom + 4), QUIET)
            shown = day(self.chart.points[place].at, self.look.zone)
            if len(places) == 1 or first < place < last:
                anchor = "middle"
            else:
                anchor = "start" if place == first else "end"
            if self.at.groups and place == first:
                anchor = "middle"
            self.pen.text(x, bottom + 16, shown, tone=QUIET, anchor=anchor)
        if self.at.groups:
            x = self.at.groups[0].x
            shown = day(self.chart.points[0].at, self.look.zone)
            self.pen.text(x, bottom + 16, shown, tone=QUIET)

    def _notes(self) -> float:
        """What the marks mean, in lines under the chart; gives the height of the picture."""
        bottom = self.bottom if len(self.points) > 1 else self.middle
        y = bottom + 16 + LINE + 4
        remarks = legend.remarks(self.chart, self.at, self.words)
        for line in in_lines(remarks, self.look.width - 16):
            self.pen.text(8, y, line, tone=QUIET)
            y += LINE - 1
        return y


def _in(point: Point, times: float) -> Point:
    if times == 1.0:
        return point
    U, moved = point.U, point.moving_range
    return point.model_copy(
        update={
            "value": point.value * times,
            "U": None if U is None else U * times,
            "moving_range": None if moved is None else moved * times,
        }
    )


def _limits_in(limits: Limits | None, times: float) -> Limits | None:
    if limits is None or times == 1.0:
        return limits
    names = ("centre", "lower", "upper", "range_centre", "range_upper", "sigma")
    return limits.model_copy(update={it: getattr(limits, it) * times for it in names})
