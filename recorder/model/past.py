"""One press run of a past job as know-how needs it: flat, so that thousands are cheap."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from recorder.model.belt import Belt
from recorder.model.fields import FIELDS

# Settings of a press run that a recipe holds, by field.
SETTINGS = (
    "pressure",
    "preheat_temperature",
    "preheat_time",
    "top_temperature",
    "bottom_temperature",
    "dwell_time",
    "cool_down_temperature",
)
OUTCOMES = FIELDS["outcome"].choices  # accepted first
# Whose jobs are held against one another.
STREAMS = ("press", "template", "technician", "customer")


@dataclass(frozen=True, slots=True)
class PastRun:
    """One press run of a job that is complete, in canonical units; None for what nobody told, and
    for what nobody settled: a doubtful value is none.

    job: its id. at: when the job was made, with zone. splice, run: as in a reading. outcome:
    accepted, rework or rejected; of a run after which the splice was pressed again it is rework.
    finger_gap, splice_width, edge_offset: measured in a photo of this run after pressing, the
    worst of several; gap_below: under the quantification limit, and finger_gap its upper bound.
    The U: expanded uncertainty, k = 2. Words as they were written.
    """

    job: str
    at: datetime
    splice: int = 1
    run: int = 1
    outcome: str | None = None
    job_number: str | None = None
    customer: str | None = None
    technician: str | None = None
    press: str | None = None
    template: str | None = None
    belt_material: str | None = None
    belt_thickness: float | None = None
    belt_width: float | None = None
    guide_profile: str | None = None
    splice_type: str | None = None
    finger_length: float | None = None
    finger_pitch: float | None = None
    pressure: float | None = None
    preheat_temperature: float | None = None
    preheat_time: float | None = None
    top_temperature: float | None = None
    bottom_temperature: float | None = None
    dwell_time: float | None = None
    cool_down_temperature: float | None = None
    cycle_time: float | None = None
    ambient_temperature: float | None = None
    finger_gap: float | None = None
    finger_gap_U: float | None = None
    gap_below: bool = False
    splice_width: float | None = None
    splice_width_U: float | None = None
    edge_offset: float | None = None
    edge_offset_U: float | None = None

    @property
    def belt(self) -> Belt:
        return Belt(
            belt_material=self.belt_material,
            belt_thickness=self.belt_thickness,
            belt_width=self.belt_width,
            guide_profile=self.guide_profile,
            splice_type=self.splice_type,
            finger_length=self.finger_length,
            finger_pitch=self.finger_pitch,
        )


def last_runs(runs: Iterable[PastRun]) -> list[PastRun]:
    """Of each splice its last press run, which decides what came of it; in the order of splices."""
    found: dict[tuple[str, int], PastRun] = {}
    for run in runs:
        place = (run.job, run.splice)
        if place not in found or found[place].run < run.run:
            found[place] = run
    return list(found.values())
