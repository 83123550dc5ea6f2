"""A made-up seam without a photo: what the pictures of a measurement are drawn from."""

from types import SimpleNamespace

import numpy as np

from recorder.model.measurement import (
    Decision,
    Flag,
    FlagKind,
    FlankGap,
    GapReading,
    Limit,
    Measurement,
    Place,
    SeamMeasurement,
)
from recorder.photo.card.layout import CARD_SIZES
from recorder.photo.geometry.lines import Line
from recorder.photo.geometry.plane import Plane

BELT_GREY = 150
LIMIT = Limit(name="finger_gap", high=0.5, source="house rule 7")
PX_PER_MM = 9.0


def mm(value: float, U: float = 0.04, below: bool = False) -> Measurement:
    return Measurement(value=value, unit="mm", U=U, below=below)


def seam(
    gaps: tuple[float, ...],
    width: float = 70.0,
    length: float = 30.0,
    below: float = 0.0,
    unseen: tuple[int, ...] = (),
    card: str = "M",
    **more,
) -> SeamMeasurement:
    """One flank a gap, zig-zag from the upper to the lower edge, four readings each 2 mm long.

    below: gaps up to here are upper bounds. unseen: numbers of flanks without readings.
    """
    down = width / len(gaps)
    flank_mm = float(np.hypot(length, down))
    readings, flanks = [], []
    for index, gap in enumerate(gaps):
        way = 1 if index % 2 else -1
        begin = np.array([way * length / 2, index * down - width / 2])
        end = np.array([-way * length / 2, (index + 1) * down - width / 2])
        if index + 1 in unseen:
            continue
        number = mm(gap, below=gap <= below)
        flanks.append(
            FlankGap(
                flank=index + 1, begin=place(begin, card), end=place(end, card),
                gap_mean=number, gap_max=number,
            )
        )  # fmt: skip
        for step in range(4):
            s = flank_mm / 2 - 3 + 2 * step
            at = place(begin + (end - begin) * s / flank_mm, card)
            readings.append(
                GapReading(s_mm=index * flank_mm + s, at=at, flank=index + 1, gap=number)
            )
    worst = max(readings, key=lambda reading: reading.gap.value)
    given = {
        "file": "photo.jpg",
        "status": "measured",
        "gap_max": worst.gap,
        "gap_mean": mm(float(np.mean(gaps))),
        "gap_max_at": worst.at,
        "gap_profile": tuple(readings),
        "flanks": tuple(flanks),
        "splice_width": mm(width, 0.4),
        "belt_width": mm(width + 1, 0.4),
        "belt_width_left": mm(width + 2, 0.4),
        "belt_width_right": mm(width + 3, 0.4),
        "edge_offset": mm(0.31),
        "edge_offset_upper": mm(0.31),
        "edge_offset_lower": mm(-0.02),
        "skew": Measurement(value=0.2, unit="deg", U=0.1),
        "bow": mm(0.1),
        "finger_count": len(gaps) // 2,
        "finger_pitch": mm(2 * down),
        "finger_length": mm(length),
    }
    return SeamMeasurement.model_validate(given | more)


def decided(decision: Decision, limit: Limit = LIMIT) -> dict[str, object]:
    """The fields of a measurement with one limit and the decision on it."""
    return {"limits": (limit,), "decision": decision, "decisions": {limit.name: decision}}


def flags(count: int, at: Place) -> tuple[Flag, ...]:
    """All of one place, so that their signs get in each other's way."""
    return tuple(
        Flag(kind=FlagKind.OPEN_FINGER, text=f"finger {i} may be open; bend it and look", at=at)
        for i in range(1, count + 1)
    )


def place(xy: np.ndarray, card: str = "M") -> Place:
    """A place by millimetres from the middle of the splice."""
    x, y = xy + CARD_SIZES[card].splice_centre_mm
    return Place(
        x_mm=float(xy[0]), y_mm=float(xy[1]), px=(float(x) * PX_PER_MM, float(y) * PX_PER_MM)
    )


def seen(width: float = 70.0, length: float = 30.0, card: str = "M"):
    """As much of ``Seen`` as is drawn: plane, edges and card, seen square on."""
    layout = CARD_SIZES[card]
    x, y = layout.splice_centre_mm

    def edge(down: float) -> Line:
        return Line(x, y + down, 0.0, np.zeros((2, 2)))

    upper, lower = edge(-width / 2), edge(width / 2)
    return SimpleNamespace(
        plane=Plane(np.diag([PX_PER_MM, PX_PER_MM, 1.0]), np.zeros((8, 8)), 0.0),
        card=SimpleNamespace(layout=layout, print_scale=(1.0, 1.0)),
        ends=SimpleNamespace(
            left_upper=upper, left_lower=lower, right_upper=upper, right_lower=lower,
            x=x, middle_y=y, reach_mm=(x - length / 2, x + length / 2),
        ),
    )  # fmt: skip


def photo(card: str = "M") -> np.ndarray:
    """An even grey that holds the card."""
    wide, high = (round(size * PX_PER_MM) for size in CARD_SIZES[card].size_mm)
    return np.full((high, wide, 3), BELT_GREY, np.uint8)
