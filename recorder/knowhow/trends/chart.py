"""Control charts and the like as values: what is drawn, tabled and told is this."""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum

from recorder.model.base import Value


class Characteristic(StrEnum):
    """What is charted. width_error: measured splice width - told belt width. platen_difference:
    top - bottom platen as told.
    """

    FINGER_GAP = "finger_gap"
    WIDTH_ERROR = "width_error"
    EDGE_OFFSET = "edge_offset"
    CYCLE_TIME = "cycle_time"
    PLATEN_DIFFERENCE = "platen_difference"


class Point(Value):
    """value: in the unit of the chart. U: expanded uncertainty, None where it was not measured.
    moving_range: from the point before, None for the first and where one of both is a bound. below:
    under the quantification limit, and value its upper bound.
    """

    at: datetime
    job: str
    splice: int
    value: float
    U: float | None = None
    moving_range: float | None = None
    below: bool = False


class Signal(Value):
    """A rule that is broken by a point, or by several in a row. at: place of the last of them in
    the points, from 0; first: of the first of them, None where that is ``at``; since: of the first
    point that takes part. rule: its short name in ``rules``. side: 'above', 'below', or empty where
    it has none. text: for people, in English; ``rules.text_of`` says it in other words.
    """

    at: int
    since: int
    rule: str
    text: str
    first: int | None = None
    side: str = ""


class Limits(Value):
    """Of individuals and of moving ranges. baseline: number of points that they come from, from
    the first on; provisional: whether these are fewer than what such limits want. sigma: of one
    point, from the moving ranges.
    """

    centre: float
    lower: float
    upper: float
    range_centre: float
    range_upper: float
    sigma: float
    baseline: int
    provisional: bool


class Chart(Value):
    """stream: press, template, technician, customer, or 'all'. name: of the press and so on, as it
    was written last. unit: of values. limits: None without two points in a row
    that are no bounds.
    """

    characteristic: Characteristic
    stream: str
    name: str
    unit: str
    points: tuple[Point, ...] = ()
    limits: Limits | None = None
    signals: tuple[Signal, ...] = ()


class Drift(Value):
    """What a chart says of the newest job of a stream, for whoever works with it next."""

    stream: str
    name: str
    characteristic: Characteristic
    signal: Signal


class Month(Value):
    """Splices of one month by outcome. month: '2026-10'."""

    month: str
    accepted: int = 0
    rework: int = 0
    rejected: int = 0
    open: int = 0


class Pair(Value):
    """A setting as it was used, and the gap that was measured, in canonical units. below: under
    the quantification limit, and gap its upper bound.
    """

    job: str
    setting: float
    gap: float
    outcome: str | None = None
    below: bool = False


class Scatter(Value):
    """A setting against the measured gap. field: of the setting. correlation: Spearman's, None
    where fewer than ten pairs or one value alone.
    """

    field: str
    pairs: tuple[Pair, ...] = ()
    correlation: float | None = None


class Table(Value):
    """What a picture shows, in words and numbers for those who cannot see it. head: of the columns;
    rows: of as many cells.
    """

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...] = ()
