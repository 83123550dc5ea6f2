"""A month as it is asked for: '2026-10'; where it begins and ends here."""

from __future__ import annotations

import re
from datetime import date, datetime

from pydantic import Field as Constraint

from recorder.model.base import Value

_MONTH = re.compile(r"(\d{4})-(\d\d)", re.ASCII)
_MONTHS_SHOWN = 12


class Month(Value):
    """A calendar month in the zone of this machine."""

    year: int
    number: int = Constraint(ge=1, le=12)

    @classmethod
    def read(cls, text: str) -> Month:
        """Of an ISO 8601 month. Raises ValueError."""
        found = _MONTH.fullmatch(text.strip())
        if not found:
            raise ValueError(f"{text!r} is no month")
        month = cls(year=int(found[1]), number=int(found[2]))
        # The calendar may end before it does, or begin after its year has.
        month.end, month.year_before()[0].start
        return month

    @property
    def iso(self) -> str:
        return f"{self.year:04d}-{self.number:02d}"

    @property
    def first_day(self) -> date:
        return date(self.year, self.number, 1)

    @property
    def start(self) -> datetime:
        return datetime(self.year, self.number, 1).astimezone()

    @property
    def end(self) -> datetime:
        """The beginning of the next one."""
        return self.later(1).start

    def later(self, months: int) -> Month:
        at = self.year * 12 + self.number - 1 + months
        return Month(year=at // 12, number=at % 12 + 1)

    def year_before(self) -> tuple[Month, ...]:
        """Twelve months, this one the last."""
        return tuple(self.later(back - _MONTHS_SHOWN + 1) for back in range(_MONTHS_SHOWN))
