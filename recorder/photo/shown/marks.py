"""What is drawn on the picture of the belt: the seam by its gap, edges, dimensions, flags.

Nothing here is a word but the length of the scale bars: letters and numbers stand for rows of the
sheet around the picture, so that the picture stays clear whatever the words are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from recorder.model.measurement import Place, SeamMeasurement
from recorder.photo.geometry.lines import Line
from recorder.photo.numbers.seen import Seen
from recorder.photo.shown.gap_colours import GapColours
from recorder.photo.shown.pen import SHADE, WHITE, Pen, width
from recorder.photo.shown.placing import Room
from recorder.photo.shown.stretches import stretches, widest
from recorder.photo.shown.view import View, square_on

Array = NDArray[np.float64]

FINE = 2  # pixels of the drawing for one of the sheet, so that slanting strokes come out smooth

# Letters of the dimensions, as the sheet lists them.
LEFT_WIDTH, SPLICE_WIDTH, RIGHT_WIDTH, UPPER_OFFSET, LOWER_OFFSET = "A", "B", "C", "D", "E"

RADIUS = 29  # of balloons and flags, in pixels of the sheet
_RING = 30
_PAIR_PX = 22 * FINE  # between flanks, from where two ribbons fit beside each gap
_RIM = 8
_MARGIN = 66  # above and below the belt
_BESIDE_SEAM_MM = 1.5  # the width of the splice is taken up to 2 mm beside the seam
_OUTER = 40  # from the picture's side to the dimension of the belt's width there


@dataclass(frozen=True)
class _Drawing:
    """pen: on the view, in fine pixels. reach: columns between which the seam lies."""

    view: View
    seen: Seen
    measured: SeamMeasurement
    pen: Pen
    room: Room
    reach: tuple[float, float]

    def px(self, places: Sequence[Place]) -> Array:
        """(n, 2) pixels of the view."""
        if not places:
            return np.empty((0, 2))
        return self.view.px(self.seen.plane.to_mm(np.array([place.px for place in places])))


def belt_picture(
    bgr: NDArray[np.uint8],
    seen: Seen,
    measured: SeamMeasurement,
    colours: GapColours,
    most: tuple[int, int],
) -> Image.Image:
    """The inside of the card with its marks, at most ``most`` pixels wide and high."""
    left, right = _window(seen)
    ends, x = seen.ends, np.array(_window(seen))
    upper = float(np.min([ends.left_upper.along(x), ends.right_upper.along(x)]))
    lower = float(np.max([ends.left_lower.along(x), ends.right_lower.along(x)]))
    per_mm = min(most[0] / (right - left), (most[1] - 2 * _MARGIN) / (lower - upper))
    margin = _MARGIN / per_mm
    view = square_on(bgr, seen.plane, (left, upper - margin, right, lower + margin), per_mm * FINE)
    image = Image.fromarray(view.rgb)
    low, high = (float(view.px(np.array([edge, 0.0]))[0]) for edge in ends.reach_mm)
    drawing = _Drawing(view, seen, measured, Pen(image), Room(image.size, _RIM * FINE), (low, high))
    _edges(drawing)
    _ribbons(drawing, colours)
    _worst(drawing)
    _scale_bar(drawing)
    _dimensions(drawing)
    _offsets(drawing)
    _flags(drawing)
    return image.reduce(FINE)


def _window(seen: Seen) -> tuple[float, float]:
    """Left and right of the card's window in true millimetres, as its corners were printed."""
    left, _, right, _ = seen.card.layout.window_mm
    across = seen.card.print_scale[0]
    return left * across, right * across


def _edges(drawing: _Drawing) -> None:
    """Each end's edges, dashed; on to the middle of the splice, where they show the offset."""
    (left, right), ends = _window(drawing.seen), drawing.seen.ends
    for line, x0, x1 in (
        (ends.left_upper, left, ends.x), (ends.left_lower, left, ends.x),
        (ends.right_upper, ends.x, right), (ends.right_lower, ends.x, right),
    ):  # fmt: skip
        points = drawing.view.px(np.array([(x0, line.at(x0)), (x1, line.at(x1))]))
        drawing.pen.line(points, WHITE, 2 * FINE, halo=FINE, dash=11 * FINE)


def _ribbons(drawing: _Drawing, colours: GapColours) -> None:
    """The gap stays visible between two ribbons that carry its colour: broad where it is wider than
    the limit, hollow where its number is only an upper bound. Where flanks lie too close together
    for two, one ribbon covers the gap.
    """
    measured, per_mm = drawing.measured, drawing.view.per_mm
    ways = _ways(drawing)
    parts = stretches(measured)
    middles = drawing.px([part.reading.at for part in parts])
    between = _between_flanks_px(drawing)
    pair = between >= _PAIR_PX
    thick = float(np.clip(between / 9, 2.5 * FINE, 6 * FINE)) if pair else 4.0 * FINE
    for part, middle in zip(parts, middles, strict=True):
        gap, along = part.reading.gap, ways[part.reading.flank]
        normal = np.array([-along[1], along[0]])
        half = along * (part.end_mm - part.begin_mm) * per_mm * 0.47
        wide = thick * (1.7 if colours.too_wide(gap.value) else 1.0)
        away = gap.value * per_mm / 2 + 3 * FINE + wide / 2
        for side in (-1, 1) if pair else (0,):
            centre = middle + side * away * normal
            ends = np.array([centre - half, centre + half])
            drawing.pen.line(ends, colours.of(gap.value), round(wide), halo=FINE + 1)
            if gap.below:
                drawing.pen.line(ends, SHADE, round(wide * 0.45))


def _between_flanks_px(drawing: _Drawing) -> float:
    pitch = drawing.measured.finger_pitch
    return np.inf if pitch is None else pitch.value * drawing.view.per_mm / 2


def _ways(drawing: _Drawing) -> dict[int, Array]:
    """Unit vector along each flank, in the view."""
    flanks = drawing.measured.flanks
    ways = drawing.px([one.end for one in flanks]) - drawing.px([one.begin for one in flanks])
    return {flank.flank: way / np.linalg.norm(way) for flank, way in zip(flanks, ways, strict=True)}


def _worst(drawing: _Drawing) -> None:
    place = drawing.measured.gap_max_at
    if place is not None:
        (centre,) = drawing.px([place])
        drawing.pen.ring(centre, _RING * FINE, WHITE, 5 * FINE, rim=3 * FINE)
        reach = (_RING + 8) * FINE
        drawing.room.take((*(centre - reach), *(centre + reach)))


def _dimensions(drawing: _Drawing) -> None:
    """The widths of the two ends and of the splice, each with its letter."""
    (left, right), ends, measured = _window(drawing.seen), drawing.seen.ends, drawing.measured
    splice = ends.reach_mm[0] - _BESIDE_SEAM_MM
    outer = min(_OUTER * FINE / drawing.view.per_mm, 0.4 * (splice - left))
    lines = {
        letter: drawing.view.px(np.array([(x, upper.at(x)), (x, lower.at(x))]))
        for letter, number, x, upper, lower in (
            (LEFT_WIDTH, measured.belt_width_left, left + outer,
             ends.left_upper, ends.left_lower),
            (RIGHT_WIDTH, measured.belt_width_right, right - outer,
             ends.right_upper, ends.right_lower),
            (SPLICE_WIDTH, measured.splice_width, splice, ends.left_upper, ends.left_lower),
        )
        if number is not None
    }  # fmt: skip
    for begin, end in lines.values():
        drawing.pen.arrow_line(begin, end, WHITE, 3 * FINE)
    for letter, (begin, end) in lines.items():
        centres = [begin + share * (end - begin) for share in (0.5, 0.35, 0.65, 0.2, 0.8)]
        drawing.pen.balloon(drawing.room.choose(centres, _half()), letter, RADIUS * FINE)


def _offsets(drawing: _Drawing) -> None:
    """A letter beside each edge where the two ends meet."""
    ends, measured = drawing.seen.ends, drawing.measured
    for letter, number, lines, way in (
        (UPPER_OFFSET, measured.edge_offset_upper, (ends.left_upper, ends.right_upper), -1),
        (LOWER_OFFSET, measured.edge_offset_lower, (ends.left_lower, ends.right_lower), 1),
    ):  # fmt: skip
        if number is not None:
            step = drawing.view.px(np.array([ends.x, _between(lines, ends.x)]))
            away = np.array([0.0, way * (_MARGIN / 2 + 1) * FINE])
            sideways = [np.array([share * RADIUS * FINE, 0.0]) for share in (0, -3, 3, -6, 6)]
            centre = drawing.room.choose([step + away + aside for aside in sideways], _half())
            drawing.pen.line(np.array([centre, step]), WHITE, 3 * FINE, halo=FINE)
            drawing.pen.balloon(centre, letter, RADIUS * FINE)


def _between(lines: tuple[Line, Line], x: float) -> float:
    return float(np.mean([line.at(x) for line in lines]))


def _half() -> tuple[float, float]:
    return (RADIUS + 3) * FINE, (RADIUS + 3) * FINE


def _flags(drawing: _Drawing) -> None:
    """A numbered sign beside the seam for each flag that has a place, and a line to the place."""
    placed = [
        (str(number), flag.at)
        for number, flag in enumerate(drawing.measured.flags, start=1)
        if flag.at is not None
    ]
    centres = drawing.px([place for _, place in placed])
    targets = {number: centre for (number, _), centre in zip(placed, centres, strict=True)}
    dot = 6 * FINE
    for target in targets.values():
        drawing.room.take((*(target - 2 * dot), *(target + 2 * dot)))
    signs = {
        number: drawing.room.choose(_beside(drawing, target), _half())
        for number, target in targets.items()
    }
    for number, target in targets.items():
        end = _outside_ring(drawing, target, signs[number])
        drawing.pen.line(np.array([signs[number], end]), WHITE, 2 * FINE, halo=FINE)
        if end is target:
            drawing.pen.dot(target, dot)
    for number, centre in signs.items():
        drawing.pen.flag(centre, number, (RADIUS + 3) * FINE)


def _beside(drawing: _Drawing, target: Array) -> list[Array]:
    """Places left and right of the seam and near a target on either side of it, nearest first."""
    low, high = drawing.reach
    radius = RADIUS * FINE
    columns = [
        column + way * away * radius
        for column, way in ((low, -1), (high, 1), (target[0], -1), (target[0], 1))
        for away in (1.7, 4.0)
    ]
    outside = [x for x in columns if not low - radius < x < high + radius]
    wishes = [
        np.array([x, target[1] + down * radius])
        for x in outside
        for down in (0, -2.4, 2.4, -4.8, 4.8, -7.2, 7.2)
    ]
    return sorted(wishes, key=lambda wish: float(np.linalg.norm(wish - target)))


def _outside_ring(drawing: _Drawing, target: Array, sign: Array) -> Array:
    """The target, or where the line to it meets the ring that it lies in: the widest place stays
    free of dots.
    """
    place = drawing.measured.gap_max_at
    reach = (_RING + 3) * FINE
    if place is None:
        return target
    (centre,) = drawing.px([place])
    if np.linalg.norm(target - centre) > reach:
        return target
    away = sign - centre
    return np.asarray(centre + reach * away / np.linalg.norm(away))


def _scale_bar(drawing: _Drawing) -> None:
    """A round length, in the lower right of the picture below the belt."""
    wide, high = drawing.pen.image.size
    left = _bar(drawing.pen, drawing.view.per_mm, 10, (wide - 16 * FINE, high - 30 * FINE))
    drawing.room.take((left, high - 56 * FINE, wide, high))


def _bar(
    pen: Pen, per_mm: float, length_mm: float, corner: tuple[float, float], on_left: bool = False
) -> float:
    """A bar with its length beside it, both on dark, that begins or ends at ``corner``; the left
    side of it all.
    """
    (x, y), size, room = corner, 38 * FINE, 10 * FINE
    text = f"{length_mm:g} mm"
    long = width(text, size, bold=True) + 12 * FINE + length_mm * per_mm
    left = x + room if on_left else x - room - long
    plate = (left - room, y - 0.66 * size, left + long + room, y + 0.66 * size)
    pen.draw.rounded_rectangle(plate, radius=8 * FINE, fill=SHADE)
    end = np.array([left + long, y])
    pen.arrow_line(end - (length_mm * per_mm, 0), end, WHITE, 3 * FINE)
    pen.text((left, y), text, size, WHITE, bold=True, anchor="lm")
    return plate[0]


def worst_picture(
    bgr: NDArray[np.uint8], seen: Seen, measured: SeamMeasurement, side: int
) -> Image.Image | None:
    """The widest place large, ``side`` pixels wide and high, with the two banks of the gap marked
    where the photo shows them apart.
    """
    worst = widest(measured)
    if worst is None:
        return None
    gap, flank = worst.gap, worst.flank
    at, begin, end = seen.plane.to_mm(np.array([worst.at.px, flank.begin.px, flank.end.px]))
    half = float(np.clip(5 * gap.value, 1.2, 4.0))
    box = (at[0] - half, at[1] - half, at[0] + half, at[1] + half)
    view = square_on(bgr, seen.plane, box, side * FINE / (2 * half))
    pen = Pen(Image.fromarray(view.rgb))
    along = (end - begin) / np.linalg.norm(end - begin)
    if not gap.below:
        normal = np.array([-along[1], along[0]])
        for way in (-1, 1):
            bank = at + way * gap.value / 2 * normal
            points = view.px(np.array([bank - 0.8 * half * along, bank + 0.8 * half * along]))
            pen.line(points, WHITE, 3 * FINE, FINE, 10 * FINE)
    # where the gap does not run
    on_left = along[0] * along[1] > 0 and abs(along[1]) > 0.5 * abs(along[0])
    corner = (12 * FINE if on_left else (side - 12) * FINE, (side - 36) * FINE)
    _bar(pen, view.per_mm, 1.0 if half >= 2 else 0.5, corner, bool(on_left))
    return pen.image.reduce(FINE)
