"""A setting against the gap that came of it; the outcome is told by shape."""

from __future__ import annotations

from itertools import pairwise

from recorder.knowhow.charts.look import Look
from recorder.knowhow.charts.pen import INK, LINE, QUIET, RULE, TYPE, Pen, in_lines, width
from recorder.knowhow.charts.scale import Scale, covering, decimals
from recorder.knowhow.trends.chart import Pair, Scatter
from recorder.knowhow.trends.scatter import LEAST_PAIRS
from recorder.knowhow.trends.table import outcome_label
from recorder.model.fields import FIELDS
from recorder.model.units import UNITS, convert
from recorder.model.words import ENGLISH, Words

_LEFT = 46.0
_MOST = 600  # pairs that are drawn one by one; of more, those of one place are one
_OUTCOMES = ("accepted", "rework", "rejected", None)


def svg(
    scatter: Scatter, words: Words = ENGLISH, unit: str | None = None, look: Look | None = None
) -> str:
    """The picture of pairs. unit: of the setting, None for the canonical one; gaps stay in mm. The
    same arguments give the same text.
    """
    look = look or Look()
    pen, say = Pen(look), words.say
    field = FIELDS[scatter.field]
    unit = unit or str(field.unit)
    what = words.say(field.label)
    title = say("{setting} and finger gap", setting=what)
    pen.text(8, 20, title, size=TYPE + 1, bold=True)
    if not scatter.pairs:
        told = say("Nothing to show yet: no job has both.")
        pen.text(8, 64, told, size=TYPE, tone=QUIET)
        return pen.picture(88, title, told)
    top = _legend(pen, words, scatter, 38.0)
    bottom = top + (220.0 if look.narrow else 260.0)
    settings = [convert(it.setting, str(field.unit), unit) for it in scatter.pairs]
    across = covering(settings, _LEFT, look.width - 12.0)
    up = covering([it.gap for it in scatter.pairs], bottom, top, 0.0)
    _ground(pen, across, up, words)
    lanes = _lanes(across, settings)
    places = [
        (across.place(setting) + lanes.get(pair.outcome, 0.0), up.place(pair.gap), pair)
        for setting, pair in zip(settings, scatter.pairs, strict=True)
    ]
    for x, y, pair in _thinned(places):
        _mark(pen, x, y, pair.outcome, pair.below)
    pen.text((_LEFT + look.width - 12) / 2, bottom + 34, f"{what}, {UNITS[unit].symbol}",
             anchor="middle", tone=QUIET)  # fmt: skip
    note = _correlated(scatter, words)
    y = bottom + 36 + LINE + 2
    for line in in_lines([note], look.width - 16):
        pen.text(8, y, line, tone=QUIET)
        y += LINE - 1
    return pen.picture(y, title, f"{say('Points: {n}.', n=len(scatter.pairs))} {note}")


def _correlated(scatter: Scatter, words: Words) -> str:
    if scatter.correlation is not None:
        shown = words.digits(f"{scatter.correlation:z.2f}")
        return words.say(
            "Rank correlation {value} of {n} points. It shows what went together, and not what "
            "came of what.",
            value=shown,
            n=len(scatter.pairs),
        )
    if len(scatter.pairs) < LEAST_PAIRS:
        return words.say("Too few points for a correlation: it wants {n}.", n=LEAST_PAIRS)
    return words.say("No correlation: all values of one are the same.")


def _ground(pen: Pen, across: Scale, up: Scale, words: Words) -> None:
    ticks = up.ticks(5)
    for tick in ticks:
        y = up.place(tick)
        pen.line((across.start, y, across.end, y), "#e3e9ea")
        shown = words.digits(f"{tick:z.{decimals(ticks)}f}")
        pen.text(_LEFT - 6, y + 4, shown, tone=QUIET, anchor="end")
    pen.text(8, up.end - 8, f"{words.say('Finger gap')}, mm", tone=QUIET)
    pen.line((across.start, up.start, across.end, up.start), RULE)
    ticks = across.ticks(4 if pen.look.narrow else 8)
    for tick in ticks:
        x = across.place(tick)
        pen.line((x, up.start, x, up.start + 4), QUIET)
        shown = words.digits(f"{tick:z.{decimals(ticks)}f}")
        pen.text(x, up.start + 17, shown, tone=QUIET, anchor="middle")


def _lanes(across: Scale, settings: list[float]) -> dict[str | None, float]:
    """How far each outcome stands beside its setting: settings are told in whole degrees, and
    points of one setting would hide one another. Nothing where settings lie close to one another.
    """
    places = sorted({across.place(setting) for setting in settings})
    least = min((after - before for before, after in pairwise(places)), default=60.0)
    if least < 36.0:
        return {}
    return {outcome: 8.0 * (n - 1.5) for n, outcome in enumerate(_OUTCOMES)}


def _thinned(places: list[tuple[float, float, Pair]]) -> list[tuple[float, float, Pair]]:
    """Of very many, one for each place, so that a picture stays small; what failed comes last, on
    top of what did not.
    """
    if len(places) > _MOST:
        kept: dict[tuple[int, int, str | None, bool], tuple[float, float, Pair]] = {}
        for x, y, pair in places:
            kept.setdefault((round(x / 3), round(y / 3), pair.outcome, pair.below), (x, y, pair))
        places = list(kept.values())
    order = {"rejected": 3, "rework": 2, None: 1}
    return sorted(places, key=lambda it: (order.get(it[2].outcome, 0), it[0], it[1]))


def _mark(pen: Pen, x: float, y: float, outcome: str | None, below: bool = False) -> None:
    """Accepted a dot, rework a diamond, rejected a cross, open a ring; under a bound a bar."""
    if outcome == "accepted":
        pen.dot(x, y, 2.8, pen.look.own)
    elif outcome == "rework":
        pen.diamond(x, y, 4.2, INK, True)
    elif outcome == "rejected":
        pen.cross(x, y, 3.8, INK)
    else:
        pen.dot(x, y, 3.0, QUIET, True)
    if below:
        pen.line((x - 4, y - 5, x + 4, y - 5), INK, 1.2)


def _legend(pen: Pen, words: Words, scatter: Scatter, y: float) -> float:
    """The mark and the name of each outcome there is; gives the place under it."""
    x = 14.0
    notes: list[tuple[str | None, bool, str]] = [
        (it, False, outcome_label(it, words))
        for it in _OUTCOMES
        if any(pair.outcome == it for pair in scatter.pairs)
    ]
    if any(pair.below for pair in scatter.pairs):
        notes.append(("", True, words.say("too narrow to tell, at its upper bound")))
    for outcome, below, text in notes:
        wide = 12 + width(text) + 16
        if x > 14 and x + wide > pen.look.width:
            x, y = 14.0, y + LINE
        if below:
            pen.line((x - 4, y, x + 4, y), INK, 1.2)
        else:
            _mark(pen, x, y, outcome)
        pen.text(x + 10, y + 4, text, tone=QUIET)
        x += wide
    return y + LINE + 22
