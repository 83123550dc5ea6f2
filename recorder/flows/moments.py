"""A stretch of time as a person writes it: a year, a month, a day, or one moment."""

from __future__ import annotations

import re
from datetime import datetime, timedelta

from recorder.errors import BadValue

_DATE = re.compile(r"(\d{4})(?:-(\d\d))?(?:-(\d\d))?", re.ASCII)


def stretch(text: str, field: str) -> tuple[datetime, datetime]:
    """Where '2026', '2026-03' or '2026-03-09' begins and where it is over; a full ISO 8601 time
    begins and ends at once. In the local zone unless it names one. Raises BadValue.

    field: what it is given for, to be told in the error.
    """
    date = _DATE.fullmatch(text.strip())
    try:
        if date:
            start, end = _whole(*(int(part or 0) for part in date.groups()))
        else:
            start = end = datetime.fromisoformat(text.strip())
        return start.astimezone(), end.astimezone()
    except (ValueError, OverflowError) as error:
        hint = "write a date like 2026-03-09, or a time like 2026-03-09T08:00"
        raise BadValue(value=text, field=field, hint=hint) from error


def _whole(year: int, month: int = 0, day: int = 0) -> tuple[datetime, datetime]:
    start = datetime(year, month or 1, day or 1)
    if day:
        return start, start + timedelta(days=1)
    if month:
        return start, start.replace(year=year + month // 12, month=month % 12 + 1)
    return start, start.replace(year=year + 1)
