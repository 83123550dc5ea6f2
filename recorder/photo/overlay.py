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
from recorder.photo.pen import (
    DECISION_COLOUR,
    EDGE,
    PAPER,
    QUIET,
    RULE,
    SHADE,
    TEXT,
    WHITE,
    Pen,
    gap_colour,
)
from recorder.photo.rectified import Raster, rectify
from recorder.photo.results import worst_point
from recorder.photo.seen import Seen

Array = NDArray[np.float64]

WIDTH_PX = 1600
_HEAD_PX, _ROW_PX, _FOOT_PX = 140, 96, 84
_USUAL_LIMIT_MM = 0.5  # for the colours where no limit is in force
_RIBBON_MM = 0.75  # from the middle of the gap to the coloured ribbons beside it
_BESIDE_SEAM_MM = 1.5  # the width of the splice is taken up to 2 mm beside the seam
_LENS_PX = 330  # side of the magnified place
_LABEL_PX = 58
_LABEL_ROOM_PX = 460  # for a width in words beside its line

_ROWS = (
    ("Largest gap", "gap_max", "finger_gap"),
    ("Splice width", "splice_width", "splice_width"),
    ("Edge offset", "edge_offset", "edge_offset"),
)
_HEADLINES = {
    Decision.WITHIN: "Within limits",
    Decision.OUTSIDE: "Outside limits",
    Decision.UNDECIDED: "Undecided: near a limit",
    None: "Measured; no limit in force",
}


def draw(bgr: NDArray[np.uint8], seen: Seen, measured: SeamMeasurement, path: Path) -> None:
    """Write the overlay as PNG or JPEG by the name of ``path``; raises OutputUnwritable."""
    view, scale = _square_view(bgr, seen)
    limits = {limit.name: limit for limit in measured.limits}
    gap_limit = limits["finger_gap"].high if "finger_gap" in limits else None
    _mark(view, scale, bgr, seen, measured, gap_limit or _USUAL_LIMIT_MM)
    height = _HEAD_PX + view.image.height + _ROW_PX * len(_ROWS) + _FOOT_PX
    sheet = Image.new("RGB", (WIDTH_PX, height), PAPER)
    sheet.paste(view.image, (0, _HEAD_PX))
    pen = Pen(sheet)
    _head(pen, measured)
    _table(pen, measured, limits, _HEAD_PX + view.image.height)
    _foot(pen, measured)
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
    upper = float(np.min([ends.left_upper.along(x), ends.right_upper.along(x)]))
    lower = float(np.max([ends.left_lower.along(x), ends.right_lower.along(x)]))
    margin = 0.11 * (lower - upper)
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
    _width_line(view, scale, seen, measured.splice_width)
    _magnified(view, scale, bgr, seen, measured)
    _scale_bar(view, scale)
    _colour_bar(view, limit_mm)


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
            view.line(ends, gap_colour(point.gap / limit_mm), 7, halo=2)


def _width_line(view: Pen, scale: _Scale, seen: Seen, width: Measurement | None) -> None:
    """The splice's width at its left rim, named in the half where the worst place is not."""
    ends = seen.ends
    x = ends.reach_mm[0] - _BESIDE_SEAM_MM
    begin, end = scale.px(np.array([(x, ends.left_upper.at(x)), (x, ends.left_lower.at(x))]))
    view.arrow_line(begin, end, WHITE, 4)
    if width is not None:
        at = begin + (end - begin) * (0.25 if worst_point(seen).y > ends.middle_y else 0.75)
        side, anchor = (-34, "rm") if at[0] > _LABEL_ROOM_PX else (34, "lm")
        view.label((float(at[0]) + side, float(at[1])), width.shown(), 46, anchor)


def _magnified(
    view: Pen, scale: _Scale, bgr: NDArray[np.uint8], seen: Seen, measured: SeamMeasurement
) -> None:
    """The worst place, ringed, and large beside it with the two sides of the gap marked."""
    worst = worst_point(seen)
    place = np.array([worst.x, worst.y])
    half = float(np.clip(5 * worst.gap, 1.2, 4.0))
    box = (worst.x - half, worst.y - half, worst.x + half, worst.y + half)
    zoomed = rectify(bgr, seen.plane, box, 2 * half / (_LENS_PX - 1))
    inset = Pen(Image.fromarray(np.clip(zoomed.values, 0, 255).astype(np.uint8)[:, :, ::-1].copy()))
    near = _Scale(zoomed)
    normal = np.array(worst.normal)
    along = np.array([normal[1], -normal[0]])
    for side in (-1, 1):
        bank = place + side * worst.gap / 2 * normal
        ends = near.px(np.array([bank - along * half * 0.8, bank + along * half * 0.8]))
        inset.line(ends, WHITE, 3, halo=2, dash=12)
    size = inset.image.width
    ring = scale.px(place)
    left_px = view.image.width - size - 60 if ring[0] < view.image.width * 0.66 else 60
    top_px = int(np.clip(ring[1] - size / 2, 30, view.image.height - size - 230))
    nearest = left_px if left_px > ring[0] else left_px + size
    corner = np.array([nearest, np.clip(ring[1], top_px + 20, top_px + size - 20)])
    away = (corner - ring) / np.linalg.norm(corner - ring)
    view.line(np.array([ring + 30 * away, corner]), WHITE, 3, halo=2)
    for rim, colour in ((7, SHADE), (5, WHITE)):
        box_px = (left_px - rim, top_px - rim, left_px + size + rim - 1, top_px + size + rim - 1)
        view.draw.rectangle(box_px, fill=colour)
    view.image.paste(inset.image, (int(left_px), int(top_px)))
    view.ring(ring, 30, WHITE, 5)
    if measured.gap_max is not None:
        on_right = nearest == left_px
        x = left_px + size + 5 if on_right else left_px - 5
        anchor = "rm" if on_right else "lm"
        view.label((x, top_px + size + 62), measured.gap_max.shown(), _LABEL_PX, anchor)


def _scale_bar(view: Pen, scale: _Scale) -> None:
    y = view.image.height - 46.0
    begin = np.array([view.image.width - 40 - 10 * scale.per_mm, y])
    end = np.array([view.image.width - 40.0, y])
    view.arrow_line(begin, end, WHITE, 5)
    view.label((float(begin[0]) - 22, y), "10 mm", 44, anchor="rm")


def _colour_bar(view: Pen, limit_mm: float) -> None:
    """What the colours of the ribbons mean."""
    left, width, height = 40, 400, 30
    top = view.image.height - 62
    view.draw.rounded_rectangle(
        (left - 16, top - 14, left + width + 330, top + height + 14), radius=12, fill=SHADE
    )
    for i in range(width):
        colour = gap_colour(1.6 * i / width)
        view.draw.line([(left + i, top), (left + i, top + height)], fill=colour, width=1)
    at = left + width / 1.6
    view.draw.line([(at, top - 6), (at, top + height + 6)], fill=WHITE, width=4)
    words = f"gap, mark {limit_mm:g} mm"
    view.text((left + width + 18, top + height / 2), words, 34, WHITE, anchor="lm")


def _head(pen: Pen, measured: SeamMeasurement) -> None:
    decision = measured.decision
    pen.sign((88, _HEAD_PX / 2), 46, decision)
    colour = DECISION_COLOUR[decision] if decision else TEXT
    pen.text((158, _HEAD_PX / 2 + 1), _HEADLINES[decision], 70, colour, bold=True, anchor="lm")
    pen.text((WIDTH_PX - 40, _HEAD_PX / 2 + 1), measured.file, 38, QUIET, anchor="rm")


def _table(pen: Pen, measured: SeamMeasurement, limits: dict[str, Limit], top: float) -> None:
    columns = (40, 400, 860, 1240)
    y = top + 68.0
    for name, key, limit_name in _ROWS:
        number, limit = getattr(measured, key), limits.get(limit_name)
        decision = measured.decisions.get(limit_name)
        pen.text((columns[0], y), name, 50)
        pen.text((columns[1], y), number.shown(), 52, bold=True)
        if limit is not None:
            pen.text((columns[2], y), limit.shown(), 42, QUIET)
        if decision is not None:
            pen.sign((columns[3] + 26, y - 17), 28, decision)
            pen.text((columns[3] + 70, y), decision.value, 50, DECISION_COLOUR[decision], bold=True)
        pen.draw.line([(40, y + 28), (WIDTH_PX - 40, y + 28)], fill=RULE, width=2)
        y += _ROW_PX


def _foot(pen: Pen, measured: SeamMeasurement) -> None:
    """The lesser numbers, and what ± means."""
    parts = []
    if measured.gap_mean is not None:
        parts.append(f"mean gap {measured.gap_mean.shown()}")
    if measured.finger_count and measured.finger_pitch is not None:
        parts.append(f"{measured.finger_count} fingers, pitch {measured.finger_pitch.shown()}")
    if measured.skew is not None:
        parts.append(f"ends at {measured.skew.shown()}")
    y = pen.image.height - 38
    pen.text((40, y), "    ".join(parts), 30, QUIET)
    pen.text((WIDTH_PX - 40, y), "±: expanded, k = 2", 30, QUIET, anchor="rs")
