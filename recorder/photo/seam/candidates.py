"""Which of the lines on a belt is the seam, and where it turns back."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recorder.photo.image.refusal import Refusal
from recorder.photo.seam.course import Course, Lines, beside, best_course, lines
from recorder.photo.seam.rows import Rows

Array = NDArray[np.float64]

LEAST_FINGER_MM = 3.0  # shorter zig-zags are a straight seam with a rough edge
_TURNS = 0.45  # of the reach of the fingers, from where the course is said to turn back
_OUTER, _LEAST_OUTER_MM = 0.12, 2.0  # the same beside an edge of the belt
_UNBROKEN = 0.75  # share of a course's way that must show
SHOWS = 0.2  # of a course's usual contrast, from where it shows
_STRAIGHT_UNBROKEN = 0.93
_ENDS_MM = 1.5
_LEAST_LEVEL = 0.03  # of the light
_SECOND = 0.3  # contrast of a second seam in that of the first, from where both may be the seam
APART = (
    "the fingers of the seam cannot be told apart; go closer, focus on the splice, and light it "
    "evenly"
)


@dataclass(frozen=True)
class Candidate:
    """x, y: of a course, mm of the rows. turns: rows where it turns back. level: its contrast.
    unbroken: share of its way that shows.
    """

    course: Course
    x: Array
    y: Array
    turns: list[int]
    level: float
    unbroken: float


def plainest(light: NDArray[np.float32], face: Rows) -> tuple[Lines, Candidate]:
    """The course that shows best, dark or light, with what it was found in."""
    step = face.raster.step
    both = [lines(light, face.inside, step, dark) for dark in (True, False)]
    # between the flanks of a dark slot narrow fingers are light lines, but not so many
    if both[1].strength < 0.5 * both[0].strength:
        both = both[:1]
    made = [(found, _candidate(best_course(found), face)) for found in both]
    found, candidate = max(made, key=_rank)
    if not candidate.turns:
        # a straight line counts no more than a zig-zag that lies beside it
        taken = beside(candidate.course, light.shape, round(2.0 / step))
        other = _candidate(best_course(found, taken), face)
        if other.turns and _is_seam(found, other):
            return found, other
    if not _is_seam(found, candidate):
        if candidate.level > 3 * noise_of(found) and len(candidate.turns) > 1:
            raise Refusal(
                "the seam cannot be followed from edge to edge: something lies on it, or shadow, "
                "glare or dirt hides it; clear and clean the splice, and light it evenly"
            )
        raise Refusal(
            "no seam can be told from the belt's surface; light the splice from the side, "
            "go closer, and show the whole seam inside the card"
        )
    if not _is_even(candidate):
        raise Refusal(APART)
    return found, candidate


def _candidate(course: Course, face: Rows) -> Candidate:
    x = face.raster.x_mm(course.columns.astype(float))
    y = face.raster.y_mm(np.arange(len(x), dtype=float))
    level, way = course.usual, course.way
    shows = course.level > SHOWS * level
    unbroken = float((way * shows).sum() / way.sum())
    return Candidate(course, x, y, _turning_points(x, y), level, unbroken)


def _rank(made: tuple[Lines, Candidate]) -> tuple[bool, bool, bool, float]:
    """A zig-zag before a straight line, an even one before a ragged one.

    A dark slot is the rule; its fingers, where they are narrow, are light lines.
    """
    found, candidate = made
    weight = candidate.course.gain * (1.0 if found.dark else 0.7)
    return _is_seam(*made), len(candidate.turns) > 1, _is_even(candidate), weight


def _is_even(candidate: Candidate) -> bool:
    """Whether the fingers are about as wide as each other."""
    pitch = np.array(candidate.turns[2:]) - np.array(candidate.turns[:-2])
    if len(pitch) < 3:
        return True
    usual = float(np.median(pitch))
    return float(np.mean(np.abs(pitch - usual) > 0.3 * usual)) < 0.3


def noise_of(found: Lines) -> float:
    return float(np.median(found.noise))


def _is_seam(found: Lines, candidate: Candidate) -> bool:
    """A straight seam must show all the way, as a scratch or a stroke seldom does."""
    shows = candidate.course.level > SHOWS * candidate.level
    ends = round(_ENDS_MM / found.step_mm)
    whole = bool(shows[:ends].any() and shows[-ends:].any())
    straight = len(candidate.turns) < 2
    return (
        candidate.level > max(_LEAST_LEVEL, 1.5 * noise_of(found))
        and candidate.unbroken > (_STRAIGHT_UNBROKEN if straight else _UNBROKEN)
        and (whole or not straight)
        and candidate.course.gain > 0
    )


def no_second(found: Lines, first: Candidate, face: Rows) -> None:
    """Refuses two zig-zags, or two straight lines, from edge to edge."""
    taken = beside(first.course, found.share.shape, round(1.5 / found.step_mm))
    least = _SECOND * first.level
    other = _candidate(best_course(found, taken, least), face)
    alike = (len(other.turns) > 1) == (len(first.turns) > 1)
    slot = _slot(found, other) > _SECOND * _slot(found, first)  # and no border of a shadow
    if alike and slot and _is_seam(found, other) and other.level > least:
        what = "two seams" if first.turns else "two lines that may each be the seam"
        raise Refusal(
            f"{what} cross the belt inside the card; show one splice, wipe off pen strokes, and "
            "take the photo again"
        )


def _slot(found: Lines, candidate: Candidate) -> float:
    """Usual share of the light that is missing along a course, steps between tones left out."""
    columns = candidate.course.columns
    return float(np.median(found.share[np.arange(len(columns)), columns]))


def _turning_points(x: Array, y: Array) -> list[int]:
    """Rows where the course turns back along the belt by a good part of its whole reach."""
    level = x - np.polyval(np.polyfit(y, x, 1), y)
    reach = float(np.percentile(level, 97) - np.percentile(level, 3))
    if reach < LEAST_FINGER_MM:
        return []
    need = _TURNS * reach
    turns: list[int] = []
    high = low = 0
    way = 0
    for i in range(1, len(level)):
        high = i if level[i] > level[high] else high
        low = i if level[i] < level[low] else low
        if way >= 0 and level[high] - level[i] > need:
            if way or high > 0:
                turns.append(high)
            way, low = -1, i
        elif way <= 0 and level[i] - level[low] > need:
            if way or low > 0:
                turns.append(low)
            way, high = 1, i
    return _with_outer(turns, level, max(_LEAST_OUTER_MM, _OUTER * reach))


def _with_outer(turns: list[int], level: Array, need: float) -> list[int]:
    """With the tips next to the edges of the belt, beyond which little of a flank is left."""
    if not turns:
        return turns
    made = list(turns)
    way = np.sign(level[turns[1]] - level[turns[0]]) if len(turns) > 1 else 0.0
    before = level[: turns[0] + 1] * (way or 1.0)
    first = int(np.argmax(before))
    if way and first > 0 and before[first] - before[0] > need:
        made.insert(0, first)
    way = np.sign(level[turns[-2]] - level[turns[-1]]) if len(turns) > 1 else 0.0
    after = level[turns[-1] :] * (way or 1.0)
    last = int(np.argmax(after))
    if way and last < len(after) - 1 and after[last] - after[-1] > need:
        made.append(turns[-1] + last)
    return made
