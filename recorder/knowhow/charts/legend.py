"""The words of a control chart: its name, what its marks mean, what a screen reader says of it."""

from __future__ import annotations

from collections.abc import Callable

from recorder.knowhow.charts.columns import Columns
from recorder.knowhow.charts.pen import name
from recorder.knowhow.trends import rules
from recorder.knowhow.trends.chart import Chart, Limits
from recorder.knowhow.trends.individuals import BASELINE, ENOUGH
from recorder.knowhow.trends.observed import label, stream_label
from recorder.model.words import Words


def heading(chart: Chart, words: Words) -> str:
    """'Finger gap, press P2'."""
    stream = stream_label(chart.stream, name(chart.name, 60), words)
    return f"{label(chart.characteristic, words)}, {stream}"


def told(
    chart: Chart, limits: Limits | None, shown: Callable[[float], str], symbol: str, words: Words
) -> str:
    """How many points, the limits, and the signals of the newest point. limits: as drawn."""
    say = words.say
    parts = [say("Points: {n}.", n=len(chart.points))]
    if limits:
        parts.append(
            say(
                "Centre {centre}, limits {lower} and {upper} {unit}.",
                centre=shown(limits.centre),
                lower=shown(limits.lower),
                upper=shown(limits.upper),
                unit=symbol,
            )
        )
    last = [it for it in chart.signals if it.at == len(chart.points) - 1]
    if last:
        texts = "; ".join(rules.text_of(it, words) for it in last)
        parts.append(say("Newest point: {signals}.", signals=texts))
    elif len(chart.points) >= ENOUGH:
        parts.append(say("The newest point signals nothing."))
    return " ".join(parts)


def remarks(chart: Chart, at: Columns, words: Words) -> list[str]:
    """What stands under the chart: where the limits come from, and what was put together."""
    say, limits = words.say, chart.limits
    found = []
    if limits is None:
        found.append(
            say("One point has no limits yet: they come from the steps between points.")
            if len(chart.points) == 1
            else say("No limits: no two points in a row were measured.")
        )
    elif limits.provisional:
        found.append(
            say("Limits are provisional until there are {n} points.", n=BASELINE)
            if len(chart.points) >= ENOUGH
            else say(
                "Limits are provisional until there are {n} points, and nothing is judged before "
                "there are {least}.",
                n=BASELINE,
                least=ENOUGH,
            )
        )
    else:
        found.append(say("Limits come from the first {n} points.", n=limits.baseline))
    if at.groups:
        found.append(
            say(
                "Left of the dotted line: {n} earlier points in groups of {of}, from lowest to "
                "highest, with the mean.",
                n=at.begin,
                of=at.groups[0].last - at.groups[0].first + 1,
            )
        )
    return found


def marks(chart: Chart, at: Columns, words: Words) -> list[str]:
    """What the marks mean that are drawn, each in a few words."""
    say, shown = words.say, chart.points[at.begin :]
    found = []
    if at.shows_uncertainty and any(point.U is not None and not point.below for point in shown):
        found.append(say("thin bars: ± U, k = 2"))
    if any(point.below for point in shown):
        found.append(say("outline: too narrow to tell, at its upper bound"))
    signalled = {it.rule for it in chart.signals if it.at >= at.begin}
    for rule, letter in rules.LETTERS.items():
        if rule in signalled:
            found.append(f"{letter}: {rules.rule_text(rule, words)}")
    return found
