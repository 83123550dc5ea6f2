"""The overlay: one picture that shows what was measured, where, and what came out.

The belt is drawn square on, so that a millimetre is the same everywhere; the numbers come from
the photo as it was taken.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from recorder.errors import OutputUnwritable
from recorder.model.measurement import Decision, Limit, Measurement, SeamMeasurement
from recorder.photo.gap import GapPoint
from recorder.photo.lines import Line
from recorder.photo.pen import (
    DECISION_COLOUR,
    EDGE,
    PAPER,
    QUIET,
    RULE,
    TEXT,
    WHITE,
    Pen,
    gap_colour,
)
from recorder.photo.rectified import Raster, rectify
from recorder.photo.results import LIMITED, worst_point
from recorder.photo.seen import Seen

Array = NDArray[np.float64]

WIDTH_PX = 1600
_HEAD_PX, _ROW_PX, _FOOT_PX = 116, 74, 96
_USUAL_LIMIT_MM = 0.5  # for the colours where no limit is in force
_RIBBON_MM = 0.75  # from the middle of the gap to the coloured ribbons beside it
_LENS_MM, _LENS_ZOOM = 4.4, 4.2  # the magnified place: side, and times the drawing's scale

_ROWS = (
    ("Largest finger gap", "gap_max", "finger_gap"),
    ("Mean finger gap", "gap_mean", None),
    ("Width at the splice", "splice_width", "splice_width"),
    ("Width beside the splice", "belt_width", None),
    ("Edge offset", "edge_offset", "edge_offset"),
    ("Angle between the ends", "skew", None),
)
_HEADLINES = {
    Decision.WITHIN: "Within limits",
    Decision.OUTSIDE: "Outside limits",
    Decision.UNDECIDED: "Undecided: too close to a limit",
    None: "Measured; no limit in force",
}


def draw(
    bgr: NDArray[np.uint8], seen: Seen, measured: SeamMeasurement, path: Path
) -> None:
    """Write the overlay as PNG or JPEG by the name of ``path``; raises OutputUnwritable."""
    view, scale = _square_view(bgr, seen)
    limits = {limit.name: limit for limit in measured.limits}
    gap_limit = limits["finger_gap"].high if "finger_gap" in limits else None
    _mark(view, scale, bgr, seen, measured, gap_limit or _USUAL_LIMIT_MM)
    sheet = Image.new(
        "RGB", (WIDTH_PX, _HEAD_PX + view.image.height + _ROW_PX * (len(_ROWS) + 1) + _FOOT_PX), PAPER
    )
    sheet.paste(view.image, (0, _HEAD_PX))
    pen = Pen(sheet)
    _head(pen, measured)
    _table(pen, measured, limits, _HEAD_PX + view.image.height)
    _foot(pen, measured, gap_limit or _USUAL_LIMIT_MM)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.suffix.lower() in (".jpg", ".jpeg"):
            sheet.save(path, quality=90)
        else:
            sheet.save(path, "PNG")
    except OSError as error:
        raise OutputUnwritable(path=path, detail=error.strerror or str(error)) from error


class _Scale:
    """Millimetres to pixels of the drawing."""

    def __init__(self, raster: Raster) -> None:
        self.per_mm = 1 / raster.step
        self.origin = np.array([raster.left, raster.top])

    def px(self, mm: Array) -> Array:
        return np.asarray((np.asarray(mm, float) - self.origin) * self.per_mm)


def _square_view(bgr: NDArray[np.uint8], seen: Seen) -> tuple[Pen, _Scale]:
    """The inside of the card, from above the upper to below the lower edge of the belt."""
    left, top, right, bottom = _window(seen)
    x = np.array([left, right])
    ends = seen.ends
    upper = float(np.min([ends.left_upper.at(x), ends.right_upper.at(x)]))
    lower = float(np.max([ends.left_lower.at(x), ends.right_lower.at(x)]))
    margin = 0.10 * (lower - upper)
    box = (left, max(top, upper - margin), right, min(bottom, lower + margin))
    step = (right - left) / (WIDTH_PX - 1)
    raster = rectify(bgr, seen.plane, box, step)
    picture = np.clip(raster.values, 0, 255).astype(np.uint8)[:, :WIDTH_PX, ::-1]
    return Pen(Image.fromarray(np.ascontiguousarray(picture))), _Scale(raster)


def _window(seen: Seen) -> tuple[float, float, float, float]:
    """The card's window in true millimetres: its print scale is that of its corners."""
    left, top, right, bottom = seen.card.layout.window_mm
    across, down = seen.card.print_scale
    return left * across, top * down, right * across, bottom * down


def _mark(
    view: Pen,
    scale: _Scale,
    bgr: NDArray[np.uint8],
    seen: Seen,
    measured: SeamMeasurement,
    limit_mm: float,
) -> None:
    left, _, right, _ = _window(seen)
    low, high = seen.ends.reach_mm
    ends = seen.ends
    for line, x0, x1 in (
        (ends.left_upper, left, low), (ends.left_lower, left, low),
        (ends.right_upper, high, right), (ends.right_lower, high, right),
    ):  # fmt: skip
        points = scale.px(np.array([(x0, line.at(x0)), (x1, line.at(x1))]))
        view.line(points, EDGE, 3, halo=2, dash=16)
    _ribbons(view, scale, seen.gaps.points, limit_mm)
    _width_line(view, scale, ends.left_upper, ends.left_lower, left + 5.5, measured.belt_width)
    _width_line(view, scale, ends.left_upper, ends.left_lower, left + 5.5, measured.belt_width)
    _magnified(view, scale, bgr, seen, measured)
    _scale_bar(view, scale)


def _ribbons(view: Pen, scale: _Scale, points: tuple[GapPoint, ...], limit_mm: float) -> None:
    """The gap stays visible between two ribbons that carry its colour."""
    for point in points:
        normal = np.array(point.normal)
        along = np.array([normal[1], -normal[0]])
        middle = np.array([point.x, point.y])
        away = max(_RIBBON_MM, point.gap / 2 + 0.35)
        for side in (-1, 1):
            centre = middle + side * away * normal
            half = along * point.weight * 0.51
            ends = scale.px(np.array([centre - half, centre + half]))
            view.line(ends, gap_colour(point.gap / limit_mm), 6)


def _width_line(
    view: Pen, scale: _Scale, upper: Line, lower: Line, x: float, width: Measurement | None
) -> None:
    begin, end = scale.px(np.array([(x, upper.at(x)), (x, lower.at(x))]))
    view.arrow_line(begin, end, WHITE, 4)
    if width is not None:
        at = (begin + end) / 2
        view.label((float(at[0]) + 18, float(at[1])), shown(width), 36, anchor="lm")


def _magnified(
    view: Pen, scale: _Scale, bgr: NDArray[np.uint8], seen: Seen, measured: SeamMeasurement
) -> None:
    """The worst place, ringed, and large beside it with the two sides of the gap marked."""
    worst = worst_point(seen)
    place = np.array([worst.x, worst.y])
    half = _LENS_MM / 2
    box = (worst.x - half, worst.y - half, worst.x + half, worst.y + half)
    zoomed = rectify(bgr, seen.plane, box, 1 / (scale.per_mm * _LENS_ZOOM))
    inset = Pen(Image.fromarray(np.clip(zoomed.values, 0, 255).astype(np.uint8)[:, :, ::-1].copy()))
    near = _Scale(zoomed)
    normal = np.array(worst.normal)
    along = np.array([normal[1], -normal[0]])
    for side in (-1, 1):
        bank = place + side * worst.gap / 2 * normal
        ends = near.px(np.array([bank - along * half * 0.8, bank + along * half * 0.8]))
        inset.line(ends, WHITE, 3, halo=2, dash=12)
    size = inset.image.width
    ring_px = scale.px(place)
    right = ring_px[0] < view.image.width * 0.62
    left_px = view.image.width - size - 34 if right else 34
    if not right:
        left_px = 300
    top_px = int(np.clip(ring_px[1] - size / 2, 30, view.image.height - size - 110))
    frame = (left_px - 5, top_px - 5, left_px + size + 5, top_px + size + 5)
    corner = np.array([left_px if right else left_px + size, top_px + size / 2])
    view.line(np.array([ring_px, corner]), WHITE, 3, halo=2)
    view.draw.rectangle(frame, fill=(12, 16, 22))
    view.draw.rectangle((frame[0] + 2, frame[1] + 2, frame[2] - 2, frame[3] - 2), fill=WHITE)
    view.image.paste(inset.image, (int(left_px), int(top_px)))
    view.ring(ring_px, 26, WHITE, 5)
    if measured.gap_max is not None:
        view.label((left_px + size / 2, top_px + size + 38), shown(measured.gap_max), 40)


def _scale_bar(view: Pen, scale: _Scale) -> None:
    y = view.image.height - 30.0
    begin = np.array([view.image.width - 40 - 10 * scale.per_mm, y])
    end = np.array([view.image.width - 40.0, y])
    view.arrow_line(begin, end, WHITE, 5)
    view.label((float(begin[0]) - 22, y), "10 mm", 32, anchor="rm")


def shown(number: Measurement) -> str:
    """Value and U as a person reads them: two digits of U, as many decimals in the value."""
    unit = "°" if number.unit == "deg" else f" {number.unit}"
    decimals = 2 if number.U < 1 else 1
    if number.below:
        return f"below {number.value:.{decimals}f}{unit}"
    return f"{number.value:.{decimals}f} ± {max(number.U, 0.01):.{decimals}f}{unit}"


def shown_limit(limit: Limit) -> str:
    if limit.low is not None and limit.high is not None:
        return f"{limit.low:g} to {limit.high:g} {limit.unit}"
    if limit.high is not None:
        return f"at most {limit.high:g} {limit.unit}"
    return f"at least {limit.low:g} {limit.unit}"


def _head(pen: Pen, measured: SeamMeasurement) -> None:
    decision = measured.decision
    pen.sign((74, _HEAD_PX / 2), 36, decision)
    colour = DECISION_COLOUR[decision] if decision else TEXT
    pen.text((132, _HEAD_PX / 2 + 1), _HEADLINES[decision], 54, colour, bold=True, anchor="lm")
    pen.text((WIDTH_PX - 40, _HEAD_PX / 2 + 1), measured.file, 32, QUIET, anchor="rm")


def _table(
    pen: Pen, measured: SeamMeasurement, limits: dict[str, Limit], top: float
) -> None:
    columns = (40, 620, 960, 1310)
    y = top + 50.0
    for x, title in zip(columns, ("", "Measured", "Limit", "Decision"), strict=True):
        pen.text((x, y), title, 30, QUIET)
    for name, key, limit_name in _ROWS:
        number = getattr(measured, key)
        y += _ROW_PX
        pen.draw.line([(40, y - 50), (WIDTH_PX - 40, y - 50)], fill=RULE, width=2)
        limit = limits.get(limit_name or "")
        decision = measured.decisions.get(limit_name or "")
        pen.text((columns[0], y), name, 38, bold=limit is not None)
        pen.text((columns[1], y), shown(number), 38, bold=limit is not None)
        if limit is not None and LIMITED[limit.name] == key:
            pen.text((columns[2], y), shown_limit(limit), 34)
        if decision is not None:
            pen.sign((columns[3] + 20, y - 13), 20, decision)
            pen.text((columns[3] + 54, y), decision.value, 36, DECISION_COLOUR[decision], bold=True)


def _foot(pen: Pen, measured: SeamMeasurement, limit_mm: float) -> None:
    """What the colours and the ± mean."""
    bottom = pen.image.height
    pen.text((40, bottom - 34), "± expanded uncertainty, k = 2", 28, QUIET)
    fingers = measured.finger_count
    if fingers and measured.finger_pitch:
        text = f"{fingers} fingers, pitch {shown(measured.finger_pitch)}"
        pen.text((500, bottom - 34), text, 28, QUIET)
    left, width, height = 1120, 360, 26
    top = bottom - 58
    for i in range(width):
        share = 1.6 * i / width
        pen.draw.line([(left + i, top), (left + i, top + height)], fill=gap_colour(share), width=1)
    at = left + width / 1.6
    pen.draw.line([(at, top - 6), (at, top + height + 6)], fill=TEXT, width=3)
    pen.text((left - 12, top + height - 3), "0", 26, QUIET, anchor="rs")
    pen.text((at, top - 12), f"{limit_mm:g} mm", 26, QUIET, anchor="ms")
