"""What the firm owns and whom it serves: presses, templates, customers' conveyors."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta

from pydantic import Field as Constraint
from pydantic import model_validator

from recorder.model.base import Value
from recorder.model.belt import Belt, folded
from recorder.model.length import Drive

Span = tuple[float, float]  # from and to, both included


def says_kind(kind: str, name: str) -> bool:
    """Whether a name says itself what it is the name of: 'Press 2' of a press."""
    return folded(name).startswith(f"{folded(kind)} ")


def called(kind: str, name: str) -> str:
    """'press P2'; 'Press 2' where the name says it."""
    return name if says_kind(kind, name) else f"{kind} {name}"


class Checked(Value):
    """Something that is checked again and again. name: as people call it. last_check: the day.
    check_days: from one check to the next; None where none is due.
    """

    name: str = Constraint(min_length=1, max_length=80)
    last_check: date | None = None
    check_days: int | None = Constraint(None, ge=1, le=3650)
    note: str = ""

    @property
    def due(self) -> date | None:
        """The day of the next check; of something never checked there is none."""
        if self.last_check is None or self.check_days is None:
            return None
        return self.last_check + timedelta(days=self.check_days)


class Press(Checked):
    """platen_width: that it takes across the belt, platen_length: along it; mm. top: highest
    platen temperature, degC. pressure: highest, bar.
    """

    platen_width: float | None = Constraint(None, gt=0)
    platen_length: float | None = Constraint(None, gt=0)
    top: float | None = None
    pressure: float | None = Constraint(None, gt=0)


class Template(Checked):
    """A punch or guide for one shape of fingers; mm. guide_profiles: that it leaves room for, none
    for any. width, thickness: of belts that it takes, None for any.
    """

    splice_type: str
    finger_length: float | None = Constraint(None, gt=0)
    finger_pitch: float | None = Constraint(None, gt=0)
    guide_profiles: tuple[str, ...] = ()
    width: Span | None = None
    thickness: Span | None = None


class Inventory(Value):
    """Names are unique within presses and within templates, whatever the case."""

    presses: tuple[Press, ...] = ()
    templates: tuple[Template, ...] = ()

    @model_validator(mode="after")
    def _names_once(self) -> Inventory:
        for kind, owned in (("press", self.presses), ("template", self.templates)):
            names = [folded(each.name) for each in owned]
            counts = Counter(names)
            double = next((name for name in names if counts[name] > 1), None)
            if double:
                raise ValueError(f"{kind} {double!r} stands in it twice")
        return self


class Conveyor(Value):
    """A customer's conveyor, as the firm's list has it. name: unique with customer and site.
    belt: that lies on it. drive: None where it was not entered. press, template: used on it.
    """

    customer: str = Constraint(min_length=1)
    site: str = ""
    name: str = Constraint(min_length=1)
    belt: Belt = Belt()
    drive: Drive | None = None
    press: str = ""
    template: str = ""
    note: str = ""

    @property
    def full_name(self) -> str:
        """'Larkfield Bakery / Packing hall 2 / Oven outfeed 3'."""
        return " / ".join(filter(None, (self.customer, self.site, self.name)))
