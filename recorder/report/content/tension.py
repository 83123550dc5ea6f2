"""The elongation that follows from the tension marks."""

from __future__ import annotations

from recorder.model.tension import untold
from recorder.report.content import formats
from recorder.report.content.context import Entry
from recorder.report.content.entries import Readings
from recorder.report.wording.wording import say


def entries(known: Readings) -> tuple[Entry, ...]:
    """One where both marks are known, and nobody told the same."""
    percent = untold(known)
    if percent is None:
        return ()
    value = formats.setting(percent, "percent")
    return (Entry(label=formats.label("elongation"), value=value, also=say("from the marks")),)
