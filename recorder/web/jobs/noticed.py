"""What of presses and templates somebody should look at before the next job, for the start page."""

from __future__ import annotations

import contextlib

from recorder.archive.disk.home import Home
from recorder.errors import SeamnoteError
from recorder.flows.knowhow import firm, trends
from recorder.knowhow.preparing import checks
from recorder.knowhow.trends.observed import label, stream_label
from recorder.model.base import Value
from recorder.model.inventory import called
from recorder.web.jobs.aside import Aside

MOST_TOLD = 3
_DRIFTING = Aside(trends.drifting)


class Noticed(Value):
    """A line, and the page that tells more. late: whether it is overdue, and not only to be looked
    at.
    """

    text: str
    address: str
    late: bool


def noticed(home: Home) -> tuple[Noticed, ...]:
    """What is overdue before what drifts. What cannot be read is told on its own page: nothing of
    it holds up a job.
    """
    found: list[Noticed] = []
    with contextlib.suppress(SeamnoteError):
        found += [
            Noticed(
                text=f"{called(check.kind.capitalize(), check.name)}: {checks.said(check)}",
                address=f"/inventory#{check.kind}",
                late=True,
            )
            for check in firm.checks_due(home)
            if checks.late(check)
        ]
    with contextlib.suppress(SeamnoteError):
        found += [
            Noticed(
                text=f"{label(drift.characteristic)}, {stream_label(drift.stream, drift.name)}: "
                f"{drift.signal.text}",
                address="/trends",
                late=False,
            )
            for drift in _DRIFTING.of(home) or ()
        ]
    return tuple(found)
