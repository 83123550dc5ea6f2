"""The belt as it is cut, and the marks to draw on it: a drawing for the bench, not to scale.

::

          |<------ mark spacing ------>|
    ┊    /|                            |    /┊
    ┊trim<|============================|===< ┊
    ┊    \\|                            |    \\┊
    ┊    |<--------- punched --------->|     ┊
    |<---------------- cut ----------------->|
"""

from __future__ import annotations

from collections.abc import Iterator
from xml.sax.saxutils import escape

from recorder.model.length import BeltLength
from recorder.report.content.belt_length import length
from recorder.report.content.entries import CustomerUnits
from recorder.report.wording.wording import say

ADDRESS = "seamnote:belt_length.svg"
_SIZE = (1760, 365)  # tenths of a millimetre on the page
_INK, _QUIET, _BELT, _OFF = "#17212b", "#56636f", "#e3e9ea", "#ffffff"
_LEFT, _RIGHT, _TOP, _BOTTOM = 60, 1700, 100, 205
_TRIM, _FINGER, _ROWS = 80, 150, 4
_MARKS = (600, 1160)


def told(belt: BeltLength, customer: CustomerUnits) -> str:
    """All that the drawing shows, in words."""
    parts = [
        say("Cut, square to square: {length}.", length=length(belt.cut, customer)),
        say(
            "Between the ends, punched and trimmed: {length}.",
            length=length(belt.punched, customer),
        ),
        _marks(belt, customer) + ".",
    ]
    return " ".join(parts)


def svg(belt: BeltLength, fingers: bool, customer: CustomerUnits) -> str:
    """fingers: whether the ends are punched into fingers, or cut straight."""
    width, height = _SIZE
    inner_left = _LEFT + (_TRIM if belt.allowances.trim else 0)
    inner_right = _RIGHT - (_TRIM if belt.allowances.trim else 0)
    depth = _FINGER if fingers and belt.allowances.fingers else 0
    shape = [
        *_end(inner_left, depth, range(2 * _ROWS + 1), tip_first=True),
        *_end(inner_right - depth, depth, range(2 * _ROWS, -1, -1), tip_first=False),
    ]
    points = " ".join(f"{x:g},{y:g}" for x, y in shape)
    middle = (_MARKS[0] + _MARKS[1]) // 2
    parts = [
        f'<rect x="{_LEFT}" y="{_TOP}" width="{_RIGHT - _LEFT}" height="{_BOTTOM - _TOP}" '
        f'fill="{_OFF}" stroke="{_QUIET}" stroke-width="3" stroke-dasharray="14 10"/>',
        f'<polygon points="{points}" fill="{_BELT}" stroke="{_INK}" stroke-width="5"/>',
        # The belt goes on for longer than the page is wide.
        *(
            f'<path d="M{x} {_TOP - 14} l24 {(_BOTTOM - _TOP) // 2 + 14} l-24 '
            f'{(_BOTTOM - _TOP) // 2 + 14}" fill="none" stroke="{stroke}" stroke-width="{wide}"/>'
            for x, stroke, wide in (
                (middle, _OFF, 26), (middle - 14, _INK, 4), (middle + 14, _INK, 4)
            )
        ),
        *(
            f'<path d="M{x} {_TOP - 44} V{_BOTTOM + 10}" stroke="{_INK}" stroke-width="9"/>'
            for x in _MARKS
        ),
        *_dimension(*_MARKS, _TOP - 30),
        _text(middle, _TOP - 58, _marks(belt, customer), 38),
        *_punched(belt, (inner_left, inner_right), bool(depth), customer),
        *_dimension(_LEFT, _RIGHT, _BOTTOM + 140),
        _extension(_LEFT, _BOTTOM, _BOTTOM + 152),
        _extension(_RIGHT, _BOTTOM, _BOTTOM + 152),
        _text(middle, _BOTTOM + 127, say("cut, square to square: {length}",
              length=length(belt.cut, customer)), 50, 600),
    ]  # fmt: skip
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
        f'width="{width / 10:g}mm" height="{height / 10:g}mm">\n' + "\n".join(parts) + "\n</svg>\n"
    )


def _punched(
    belt: BeltLength, ends: tuple[int, int], fingers: bool, customer: CustomerUnits
) -> Iterator[str]:
    """What is left between the ends; nothing where that is what was cut."""
    if not fingers and belt.punched == belt.cut:
        return
    mm = length(belt.punched, customer)
    told = say("trimmed: {length}", length=mm)
    if fingers:
        told = say("punched, tip to tip: {length}", length=mm)
    yield from _dimension(*ends, _BOTTOM + 68)
    yield from (_extension(x, _BOTTOM, _BOTTOM + 80) for x in ends)
    yield _text(sum(_MARKS) // 2, _BOTTOM + 56, told, 40)


def _marks(belt: BeltLength, customer: CustomerUnits) -> str:
    slack = length(belt.mark_spacing, customer)
    if belt.mark_tensioned is None:
        return say("tension marks {slack} apart on the slack belt", slack=slack)
    return say(
        "tension marks {slack} apart on the slack belt, {tensioned} when it runs",
        slack=slack, tensioned=length(belt.mark_tensioned, customer),
    )  # fmt: skip


def _end(x: float, depth: float, rows: range, tip_first: bool) -> Iterator[tuple[float, float]]:
    """One edge from top to bottom or back: straight without depth. The tips of both ends point the
    same way out, so that one end's lie where the other's gaps are.
    """
    if not depth:
        yield x, _TOP if rows[0] == 0 else _BOTTOM
        yield x, _BOTTOM if rows[0] == 0 else _TOP
        return
    step = (_BOTTOM - _TOP) / (2 * _ROWS)
    for row in rows:
        out = row % 2 == 1 if tip_first else row % 2 == 0
        left_end = tip_first
        yield (x if out == left_end else x + depth), _TOP + row * step


def _dimension(left: float, right: float, y: float) -> Iterator[str]:
    yield f'<path d="M{left} {y} H{right}" stroke="{_INK}" stroke-width="3"/>'
    for x, way in ((left, 1), (right, -1)):
        yield f'<path d="M{x} {y} l{way * 22} -9 v18 z" fill="{_INK}"/>'


def _extension(x: float, start: float, end: float) -> str:
    return f'<path d="M{x} {start + 6} V{end}" stroke="{_QUIET}" stroke-width="2"/>'


def _text(x: float, y: float, text: str, size: int, weight: int = 500) -> str:
    return (
        f'<text x="{x}" y="{y}" font-family="Seamnote" font-size="{size}" font-weight="{weight}" '
        f'text-anchor="middle" fill="{_INK}">{escape(text)}</text>'
    )
