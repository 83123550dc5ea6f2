"""One value of one field, with its evidence and its standing."""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum
from typing import Annotated, Literal

from pydantic import Field as Constraint
from pydantic import model_validator

from recorder.model import units
from recorder.model.base import Number, Value
from recorder.model.fields import FIELDS, Kind, Level, choice_label
from recorder.model.quantity import Quantity
from recorder.model.words import ENGLISH, Words


class Standing(StrEnum):
    """confirmed: a person said or typed yes. clear: the program stands by it. doubtful: ask.
    withdrawn: a person took the value back, and nothing is in force until it is told anew.
    """

    CONFIRMED = "confirmed"
    CLEAR = "clear"
    DOUBTFUL = "doubtful"
    WITHDRAWN = "withdrawn"


class Role(StrEnum):
    """asked: what the job card wants. recipe: what held on such a belt before. meant: what the job
    card wants although it differs from what is kept, as a person confirmed. used: what was done and
    found.
    """

    ASKED = "asked"
    RECIPE = "recipe"
    MEANT = "meant"
    USED = "used"


class Spoken(Value):
    """Heard in a file (or read in a written narration, then without times).

    said: the words that carry the value, as recognised. start_s, end_s: their place in the file.
    """

    source: Literal["spoken"] = "spoken"
    file: str
    said: str
    start_s: float | None = None
    end_s: float | None = None


class Typed(Value):
    """Entered by a person: on a job card (``file``), or as an answer to a question."""

    source: Literal["typed"] = "typed"
    file: str | None = None
    at: datetime | None = None


Evidence = Annotated[Spoken | Typed, Constraint(discriminator="source")]


class Reading(Value):
    """One value of one field.

    field: a name of ``fields.FIELDS``.
    value, unit: in the field's canonical unit; words, flags and counts have unit None.
    as_said: the quantity in the unit in which it was given, when that differs.
    standing, role, evidence: see there.
    why: for people, why it is doubtful, or what it replaces; empty when there is nothing to say.
    candidates: other values that it may have been, in the canonical unit, likeliest first.
    splice, run: counted from 1; a job-level field has both at 1, a splice-level field has run 1.
    """

    field: str
    value: bool | float | str
    unit: str | None = None
    as_said: Quantity | None = None
    standing: Standing
    role: Role = Role.USED
    evidence: Evidence
    why: str = ""
    candidates: tuple[bool | float | str, ...] = ()
    splice: Number = 1
    run: Number = 1

    @model_validator(mode="after")
    def _fits_its_field(self) -> Reading:
        field = FIELDS.get(self.field)
        if field is None:
            raise ValueError(f"unknown field {self.field!r}")
        if self.unit != field.unit:
            raise ValueError(f"{self.field} is kept in {field.unit}, not {self.unit}")
        wanted = {Kind.FLAG: bool, Kind.QUANTITY: float, Kind.COUNT: float}.get(field.kind, str)
        if type(self.value) is not wanted:
            raise ValueError(f"{self.field} wants a {wanted.__name__}, not {self.value!r}")
        if field.kind is Kind.CHOICE and self.value not in field.choices:
            raise ValueError(f"{self.field} is one of {', '.join(field.choices)}")
        if (field.level is Level.JOB and self.splice != 1) or (
            field.level is not Level.RUN and self.run != 1
        ):
            raise ValueError(f"{self.field} belongs to a {field.level}")
        return self

    def shown(self, words: Words = ENGLISH) -> str:
        """The value for a person, with what was said when that was in another unit."""
        text = show_value(self.field, self.value, words)
        return f"{text} ({self.as_said.shown(words)})" if self.as_said else text


def show_value(field: str, value: bool | float | str, words: Words = ENGLISH) -> str:
    """A value of ``field`` in canonical units as a page shows it: '180 °C', 'no', 'V-guided'."""
    if isinstance(value, bool):
        return words.say("yes") if value else words.say("no")
    if isinstance(value, float):
        unit = FIELDS[field].unit
        return units.show(value, unit, words=words) if unit else words.digits(f"{value:g}")
    return words.say(choice_label(value)) if FIELDS[field].kind is Kind.CHOICE else value


class Note(Value):
    """Something that was said and is not a reading; kept with its place."""

    text: str
    file: str
    start_s: float | None = None
    end_s: float | None = None
