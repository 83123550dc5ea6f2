"""The reference cards: where every marker lies, as one table.

A card is a frame. Two strips of markers run beside the belt, on both sides of it, so that the
splice lies between known points and is never extrapolated; two bars join the strips and cross the
belt away from the splice; the middle is cut away and the belt shows through. Card coordinates are
millimetres from the card's top left corner, x to the right along the belt, y down across it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

MODULES = 8  # an AprilTag 36h11 is 6 x 6 bits inside a black border of one module
BAR_AWAY = 1.55  # modules from the markers to the bar, whose ticks reach half a module each way


@dataclass(frozen=True)
class CardLayout:
    """One size of card.

    size: its name. size_mm: width and height of the whole card.
    window_mm: left, top, right, bottom of the part that is cut away.
    belt_axis: card axis along which the belt runs. belts_mm: narrowest and widest belt.
    marker_mm: side of the black square. markers: top left corner of each marker by its id.
    bars_mm: nominal length of the caliper bar in x and in y; where they start: bar_x, bar_y.
    """

    size: str
    size_mm: tuple[float, float]
    window_mm: tuple[float, float, float, float]
    belts_mm: tuple[float, float]
    marker_mm: float
    markers: dict[int, tuple[float, float]]
    bars_mm: tuple[float, float]
    bar_x: tuple[float, float]
    bar_y: tuple[float, float]
    belt_axis: Literal["x", "y"] = "x"

    @property
    def splice_centre_mm(self) -> tuple[float, float]:
        """Middle of the window, where the splice belongs."""
        left, top, right, bottom = self.window_mm
        return (left + right) / 2, (top + bottom) / 2

    @property
    def module_mm(self) -> float:
        return self.marker_mm / MODULES

    def serves(self, belt_mm: float) -> bool:
        return self.belts_mm[0] <= belt_mm <= self.belts_mm[1]

    def corners_mm(self, marker: int) -> NDArray[np.float64]:
        """(4, 2): top left, top right, bottom right, bottom left, as the card is read."""
        x, y = self.markers[marker]
        square = np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)])
        return square * self.marker_mm + (x, y)


def _frame(
    size: str,
    size_mm: tuple[float, float],
    belts_mm: tuple[float, float],
    strip_mm: float,
    bar_mm: float,
    marker_mm: float,
    per_strip: int,
    first_id: int,
    bars_mm: tuple[float, float],
) -> CardLayout:
    """A frame whose strips are ``strip_mm`` high and whose cross bars are ``bar_mm`` wide."""
    width, height = size_mm
    rim = marker_mm / MODULES * 1.35  # white around a marker, a little over one module
    step = (width - 2 * rim - marker_mm) / (per_strip - 1)
    rows = (rim, height - rim - marker_mm)
    places = [(rim + step * column, y) for y in rows for column in range(per_strip)]
    return CardLayout(
        size=size,
        size_mm=size_mm,
        window_mm=(bar_mm, strip_mm, width - bar_mm, height - strip_mm),
        belts_mm=belts_mm,
        marker_mm=marker_mm,
        markers={first_id + i: place for i, place in enumerate(places)},
        bars_mm=bars_mm,
        bar_x=((width - bars_mm[0]) / 2, rim + marker_mm + BAR_AWAY * marker_mm / MODULES),
        bar_y=(bar_mm / 2, (height - bars_mm[1]) / 2),
    )


# S has the outer size of an ID-1 card, ISO/IEC 7810: 85.60 mm x 53.98 mm. The belts of the sizes
# overlap, so that none falls between two; the marker ids do not, so that a photo tells which card
# it shows. All fit a sheet of A4.
CARD_SIZES: dict[str, CardLayout] = {
    card.size: card
    for card in (
        _frame("S", (85.60, 53.98), (10, 21), 14.4, 6.0, 10.0, 5, 301, (70.0, 20.0)),
        _frame("SM", (104.0, 84.0), (20, 40), 17.4, 8.0, 12.0, 5, 361, (80.0, 40.0)),
        _frame("M", (124.0, 164.0), (35, 100), 26.0, 10.0, 18.0, 4, 321, (100.0, 100.0)),
        _frame("L", (190.0, 277.0), (90, 200), 34.0, 12.0, 24.0, 5, 341, (150.0, 200.0)),
    )
}
DEFAULT_SIZE = "M"


def for_belt(width_mm: float) -> CardLayout | None:
    """The smallest card for a belt, which shows it largest; None when there is none."""
    return next((card for card in CARD_SIZES.values() if card.serves(width_mm)), None)
