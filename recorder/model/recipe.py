"""Recipes that the firm keeps by name, and the windows that belt makers give."""

from __future__ import annotations

from pydantic import AwareDatetime, model_validator
from pydantic import Field as Constraint

from recorder.model.base import Value
from recorder.model.belt import Belt
from recorder.model.fields import FIELDS
from recorder.model.past import SETTINGS


class Setting(Value):
    """One setting of a recipe. field: one of ``SETTINGS``. value: that was used, in its canonical
    unit. low, high: the smallest and largest of the accepted runs that it rests on; both are the
    value where there is one run.
    """

    field: str
    value: float
    low: float
    high: float

    @model_validator(mode="after")
    def _fits(self) -> Setting:
        if self.field not in SETTINGS:
            raise ValueError(f"{self.field} is no setting of a press; use {', '.join(SETTINGS)}")
        if not self.low <= self.value <= self.high:
            raise ValueError(f"{self.field} lies outside of what it rests on")
        return self

    @property
    def unit(self) -> str:
        return str(FIELDS[self.field].unit)


class Recipe(Value):
    """One version of a recipe; a version never changes, a newer one takes its place.

    name: as people call it. version: from 1. kept_at: when, kept_by: by whom it was kept. jobs:
    ids of those it rests on, the newest first. press: that it was used on, None when several.
    retired: whether it is out of use from this version on; reason: why it was changed or retired.
    """

    name: str = Constraint(min_length=1, max_length=80)
    version: int = Constraint(1, ge=1)
    belt: Belt
    settings: tuple[Setting, ...] = Constraint(min_length=1)
    kept_at: AwareDatetime
    kept_by: str = ""
    jobs: tuple[str, ...] = ()
    press: str | None = None
    retired: bool = False
    reason: str = ""

    def setting(self, field: str) -> Setting | None:
        return next((each for each in self.settings if each.field == field), None)


class Bound(Value):
    """What a belt maker allows of one setting. low, high: in its unit, one may be None."""

    field: str
    low: float | None = None
    high: float | None = None

    @model_validator(mode="after")
    def _fits(self) -> Bound:
        if self.field not in SETTINGS:
            raise ValueError(f"{self.field} is no setting of a press; use {', '.join(SETTINGS)}")
        if self.low is None and self.high is None:
            raise ValueError(f"{self.field}: give from, to or both")
        if self.low is not None and self.high is not None and self.low > self.high:
            raise ValueError(f"{self.field}: from is above to")
        return self


class Window(Value):
    """The settings that a belt maker gives for a kind of belt, as the firm entered them.

    name: of the entry, for people. belt_material: words that the told material contains.
    thickness: from and to in mm, both included; None for any. source: the document.
    """

    name: str = Constraint(min_length=1)
    belt_material: str = Constraint(min_length=1)
    thickness: tuple[float, float] | None = None
    bounds: tuple[Bound, ...] = Constraint(min_length=1)
    source: str = Constraint(min_length=1)
