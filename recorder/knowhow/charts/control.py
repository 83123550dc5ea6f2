"""The control chart as a picture: individuals above, moving ranges below, what signals and why.

A point that signals is a diamond and not a dot, and bears the letter of its rule, so that nothing
depends on a tone. A bar over the chart spans a drift. The outline of a dot alone is an upper bound.
"""

from __future__ import annotations

from recorder.knowhow.charts import legend
from recorder.knowhow.charts.columns import columns
from recorder.knowhow.charts.look import Look
from recorder.knowhow.charts.panel import Level, Panel
from recorder.knowhow.charts.pen import (
    BEHIND,
    INK,
    LINE,
    QUIET,
    SMALL,
    TYPE,
    Pen,
    in_lines,
    name,
    shortened,
    side_by_side,
    width,
)
from recorder.knowhow.charts.scale import Scale, covering
from recorder.knowhow.trends import rules
from recorder.knowhow.trends.chart import Chart, Limits, Point
from recorder.knowhow.trends.observed import SIZES, label, stream_label
from recorder.knowhow.trends.table import day, factor, number
from recorder.model.units import UNITS
from recorder.model.words import ENGLISH, Words

_LEFT = 42.0
_BOLD = 1.2  # wider than plain letters, also where a browser has none of our typefaces
_TOP = 62.0  # under the title and the names of drifts
_FAR = 8.0  # sigma from the centre beyond which a point is drawn at the edge
_BETWEEN = 26.0  # the two charts


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
        self.right = look.width - (76.0 if look.narrow else 92.0)
        self.at = columns(len(self.points), _LEFT + 6, self.right - 6)
        upper, lower = (150.0, 62.0) if look.narrow else (168.0, 66.0)
        self.middle = _TOP + upper
        self.bottom = self.middle
        if len(self.points) > 1:
            self.bottom += _BETWEEN + lower

    def drawn(self) -> str:
        self._title()
        heading = legend.heading(self.chart, self.words)
        if not self.points:
            told = self.words.say("Nothing to show yet: no job told or measured this.")
            high = self._lines([told], 64.0, TYPE)
            return self.pen.picture(high + 8, heading, told)
        self._individuals()
        if len(self.points) > 1:
            self._ranges()
        self._dates()
        marks = side_by_side(legend.marks(self.chart, self.at, self.words), self.look.width - 16)
        remarks = legend.remarks(self.chart, self.at, self.words)
        high = self._lines([*remarks, *marks], self.bottom + 2 * LINE + 4, SMALL)
        told = legend.told(
            self.chart, self.limits, self._shown, UNITS[self.unit].symbol, self.words
        )
        return self.pen.picture(high, heading, told)

    def _shown(self, value: float) -> str:
        return number(value, self.unit, self.words)

    def _title(self) -> None:
        room = self.look.width - 16
        what = f"{label(self.chart.characteristic, self.words)}, {UNITS[self.unit].symbol}"
        self.pen.text(8, 20, what, size=TYPE + 1, bold=True)
        most = 26 if self.look.narrow else 48
        stream = stream_label(self.chart.stream, name(self.chart.name, most), self.words)
        if self.look.narrow:
            self.pen.text(8, 36, shortened(stream, room), tone=QUIET)
        else:
            left = 8 + _BOLD * width(what, TYPE + 1) + 20
            self.pen.text(left, 20, shortened(stream, room - left), size=TYPE, tone=QUIET)

    def _individuals(self) -> None:
        scale = self._values_scale()
        panel = Panel(self.pen, scale, self.at, _LEFT, self.right)
        panel.ground(self.words)
        if self.limits:
            panel.levels(self._levels(self.limits), self.limits.provisional)
            end = self.limits.baseline
            if not self.limits.provisional and self.at.begin < end < len(self.points):
                panel.divide((self.at.x(end - 1) + self.at.x(end)) / 2)
        self._drifts()
        panel.earlier([point.value for point in self.points])
        self._whiskers(scale)
        panel.way([None if point.below else point.value for point in self.points])
        odd = _odd(self.chart)
        for place in range(self.at.begin, len(self.points)):
            point = self.points[place]
            x, y = self.at.x(place), scale.place(point.value)
            if not scale.low <= point.value <= scale.high:
                panel.far(x, point.value)
            elif place in odd:
                self.pen.diamond(x, y, self._radius + 2, INK, point.below)
            else:
                self.pen.dot(x, y, self._radius, INK, point.below)
            letters = "".join(rules.LETTERS[rule] for rule in odd.get(place, []))
            if letters:
                self._letters(scale, x, point.value, letters)

    @property
    def _radius(self) -> float:
        return 2.6 if self.at.each >= 7 else 2.0

    def _values_scale(self) -> Scale:
        values = [point.value for point in self.points]
        if self.limits:
            far = _FAR * self.limits.sigma
            near = [it for it in values if abs(it - self.limits.centre) <= far]
            values = [*near, self.limits.lower, self.limits.upper]
        else:
            sure = [(point.value, point.U) for point in self.points if point.U is not None]
            values += [value + side * U for value, U in sure for side in (-1, 1)]
        floor = 0.0 if self.chart.characteristic in SIZES else None
        return covering(values, self.middle, _TOP, floor)

    def _levels(self, limits: Limits) -> list[Level]:
        say = self.words.say
        upper, centre, lower = map(self._shown, (limits.upper, limits.centre, limits.lower))
        return [
            Level(limits.upper, say("upper {value}", value=upper), upper, True),
            Level(limits.centre, say("centre {value}", value=centre), centre, False),
            Level(limits.lower, say("lower {value}", value=lower), lower, True),
        ]

    def _drifts(self) -> None:
        """A bar over the points of each drift."""
        for signal in self.chart.signals:
            if signal.rule != rules.DRIFT or signal.at < self.at.begin:
                continue
            left = self.at.x(max(signal.since, self.at.begin))
            right = self.at.x(signal.at)
            self.pen.box(left - 2, _TOP - 8, right - left + 4, 4, self.look.own)
            letter = rules.LETTERS[rules.DRIFT]
            self.pen.text((left + right) / 2, _TOP - 11, letter, anchor="middle", bold=True)

    def _whiskers(self, scale: Scale) -> None:
        for place in range(self.at.begin, len(self.points)) if self.at.shows_uncertainty else ():
            point = self.points[place]
            if point.U is not None and not point.below:
                x = self.at.x(place)
                low, high = scale.place(point.value - point.U), scale.place(point.value + point.U)
                self.pen.line((x, low, x, high), BEHIND, 1.4)

    def _letters(self, scale: Scale, x: float, value: float, letters: str) -> None:
        """Away from the centre, where there is room."""
        y = scale.place(value)
        over = self.limits is None or value >= self.limits.centre
        if over and y > scale.end + 14:
            y -= 7
        else:
            y = min(y + 16, scale.start + 10)
        self.pen.text(x, y, letters, anchor="middle", bold=True)

    def _ranges(self) -> None:
        top = self.middle + _BETWEEN
        ranges = [point.moving_range for point in self.points]
        tops = [it for it in ranges if it is not None]
        if self.limits:
            far = _FAR * self.limits.sigma
            tops = [*(it for it in tops if it <= far), self.limits.range_upper]
        scale = covering([0.0, *tops], self.bottom, top, 0.0)
        panel = Panel(self.pen, scale, self.at, _LEFT, self.right)
        panel.ground(self.words)
        self.pen.text(_LEFT + 2, top - 6, self.words.say("Moving range"), tone=QUIET)
        if self.limits:
            say = self.words.say
            upper, mean = map(self._shown, (self.limits.range_upper, self.limits.range_centre))
            levels = [
                Level(self.limits.range_upper, say("upper {value}", value=upper), upper, True),
                Level(self.limits.range_centre, say("mean {value}", value=mean), mean, False),
            ]
            panel.levels(levels, self.limits.provisional)
        panel.earlier(ranges)
        panel.way(ranges)
        jumps = _jumps(self.chart)
        for place in range(self.at.begin, len(self.points)):
            moved = ranges[place]
            if moved is None:
                continue
            x, y = self.at.x(place), scale.place(moved)
            if moved > scale.high:
                panel.far(x, moved)
            elif place in jumps:
                self.pen.diamond(x, y, self._radius + 2, INK)
            else:
                self.pen.dot(x, y, 1.8, INK)
            if jumps.get(place):
                letter = rules.LETTERS[rules.JUMP]
                self.pen.text(x + 7, max(y, top) + 4, letter, bold=True)

    def _dates(self) -> None:
        """Days of some points, the first and the newest among them."""
        last = len(self.points) - 1
        room = width("2026-11-26", SMALL) + 18
        all_of_them = [(place, self.at.x(place)) for place in range(self.at.begin, last + 1)]
        if self.at.groups:
            all_of_them.insert(0, (0, self.at.groups[0].x))
        shown = all_of_them[:1]
        for place, x in all_of_them[1:]:
            of_the_last = place == last or self.at.x(last) - x >= room
            if x - shown[-1][1] >= room and of_the_last:
                shown.append((place, x))
        for place, x in shown:
            self.pen.line((x, self.bottom, x, self.bottom + 4), QUIET)
            text = day(self.chart.points[place].at, self.look.zone)
            self.pen.text(max(x, 36.0), self.bottom + 16, text, tone=QUIET, anchor="middle")

    def _lines(self, texts: list[str], y: float, size: float) -> float:
        """Lines of text from a height on; gives the height under them."""
        for line in in_lines(texts, self.look.width - 16, size):
            self.pen.text(8, y, line, size=size, tone=QUIET)
            y += LINE - 1
        return y


def _odd(chart: Chart) -> dict[int, list[str]]:
    """Places of points that signal in the upper chart, each with the rules that are named there: at
    the last point of each signal.
    """
    found: dict[int, list[str]] = {}
    for signal in chart.signals:
        if signal.rule in (rules.JUMP, rules.DRIFT):
            continue
        for place in range(signal.at if signal.first is None else signal.first, signal.at + 1):
            named = found.setdefault(place, [])
            if place == signal.at or signal.rule == rules.BEYOND:
                named.append(signal.rule)
    return found


def _jumps(chart: Chart) -> dict[int, bool]:
    """Places of jumps, each with whether it is named there."""
    return {
        place: place == signal.at
        for signal in chart.signals
        if signal.rule == rules.JUMP
        for place in range(signal.at if signal.first is None else signal.first, signal.at + 1)
    }


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
