"""The catalogue of fields: everything a job record can hold, as one table.

To add a field, add a row here; the words by which it is spoken stand in ``recorder/notes``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    QUANTITY = "quantity"
    COUNT = "count"
    TEXT = "text"
    CHOICE = "choice"
    FLAG = "flag"
    TIME = "time"


class Level(StrEnum):
    """What a field belongs to: the whole job, one splice of it, or one press run of a splice."""

    JOB = "job"
    SPLICE = "splice"
    RUN = "run"


@dataclass(frozen=True)
class Field:
    """One row.

    name: as JSON and the job card spell it.
    kind, level: see there.
    label: as a page shows it.
    unit: canonical unit, for quantities.
    plausible: lowest and highest value in the canonical unit that needs no question. Common
        practice, no source: set wide, to catch a misheard number, not to judge a setting.
    choices: allowed words, for choices.
    asked: whether a record without it is incomplete, so that the program asks for it.
    """

    name: str
    kind: Kind
    level: Level
    label: str
    unit: str | None = None
    plausible: tuple[float, float] | None = None
    choices: tuple[str, ...] = ()
    asked: bool = False


_Q, _T, _C, _F = Kind.QUANTITY, Kind.TEXT, Kind.CHOICE, Kind.FLAG
_JOB, _SPLICE, _RUN = Level.JOB, Level.SPLICE, Level.RUN

_TABLE = (
    Field("job_number", _T, _JOB, "Job number", asked=True),
    Field("customer", _T, _JOB, "Customer", asked=True),
    Field("site", _T, _JOB, "Site"),
    Field("conveyor", _T, _JOB, "Conveyor"),
    Field("technician", _T, _JOB, "Technician"),
    Field("belt_material", _T, _JOB, "Belt material"),
    Field("belt_serial", _T, _JOB, "Belt serial"),
    Field("belt_width", _Q, _JOB, "Belt width", "mm", (10.0, 3000.0), asked=True),
    Field("belt_thickness", _Q, _JOB, "Belt thickness", "mm", (0.5, 20.0)),
    Field(
        "guide_profile", _C, _JOB, "Guide profile", choices=("flat", "v_guided", "notched_v_guided")
    ),
    Field(
        "splice_type",
        _C,
        _SPLICE,
        "Splice type",
        choices=("finger", "double_finger", "overlap", "butt"),
    ),
    Field("finger_length", _Q, _SPLICE, "Finger length", "mm", (20.0, 250.0)),
    Field("finger_pitch", _Q, _SPLICE, "Finger pitch", "mm", (5.0, 60.0)),
    Field("template", _T, _SPLICE, "Template"),
    Field("press", _T, _JOB, "Press"),
    Field("supply_voltage", _Q, _JOB, "Supply voltage", "V", (12.0, 690.0)),
    Field("supply_current", _Q, _JOB, "Supply current", "A", (1.0, 125.0)),
    Field("supply_phases", Kind.COUNT, _JOB, "Supply phases", plausible=(1.0, 3.0)),
    Field("isolation_confirmed", _F, _JOB, "Isolation confirmed", asked=True),
    Field("ambient_temperature", _Q, _JOB, "Ambient temperature", "degC", (-30.0, 55.0)),
    Field("pressure", _Q, _RUN, "Pressure", "bar", (0.3, 6.0), asked=True),
    Field("preheat_temperature", _Q, _RUN, "Preheat temperature", "degC", (30.0, 200.0)),
    Field("preheat_time", _Q, _RUN, "Preheat time", "s", (5.0, 1800.0)),
    Field("top_temperature", _Q, _RUN, "Top platen", "degC", (120.0, 230.0), asked=True),
    Field("bottom_temperature", _Q, _RUN, "Bottom platen", "degC", (120.0, 230.0), asked=True),
    Field("dwell_time", _Q, _RUN, "Dwell", "s", (10.0, 1800.0), asked=True),
    Field("cool_down_temperature", _Q, _RUN, "Cool-down", "degC", (20.0, 120.0), asked=True),
    Field("cycle_time", _Q, _RUN, "Cycle time", "s", (180.0, 4500.0)),
    Field("finger_gap", _Q, _SPLICE, "Finger gap", "mm", (0.0, 3.0)),
    Field("splice_width", _Q, _SPLICE, "Splice width", "mm", (10.0, 3000.0)),
    Field("edge_offset", _Q, _SPLICE, "Edge offset", "mm", (0.0, 5.0)),
    Field("bubbles", _F, _SPLICE, "Bubbles", asked=True),
    Field(
        "outcome", _C, _SPLICE, "Outcome", choices=("accepted", "rework", "rejected"), asked=True
    ),
    Field("tension_mark_before", _Q, _JOB, "Tension mark before", "mm", (50.0, 20000.0)),
    Field("tension_mark_after", _Q, _JOB, "Tension mark after", "mm", (50.0, 20000.0)),
    Field("elongation", _Q, _JOB, "Elongation", "percent", (-5.0, 15.0)),
    Field("test_run", _C, _JOB, "Test run", choices=("ok", "not_ok")),
    Field("arrived_at", Kind.TIME, _JOB, "Arrived"),
    Field("left_at", Kind.TIME, _JOB, "Left"),
    Field("time_on_site", _Q, _JOB, "Time on site", "s", (60.0, 172800.0)),
    Field("materials", _T, _JOB, "Materials"),
    Field("recommendation", _T, _JOB, "Recommendation"),
    Field("next_check", _T, _JOB, "Next check"),
)

FIELDS: dict[str, Field] = {field.name: field for field in _TABLE}


_CHOICES = {
    "v_guided": "V-guided",
    "notched_v_guided": "notched V-guided",
    "ok": "OK",
    "not_ok": "not OK",
}


def near_or_all(near: Sequence[str]) -> str:
    """What an error says of a name that is no field: the near ones, or all where none is near."""
    return f"did you mean {' or '.join(near)}?" if near else f"the fields are {', '.join(FIELDS)}"


def choice_label(choice: str) -> str:
    """One of a field's choices as a page shows it: 'V-guided', 'double finger'."""
    return _CHOICES.get(choice, choice.replace("_", " "))
