"""Readings as a page shows them: value, what was said, the customer's unit, the standing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from recorder.model import units
from recorder.model.fields import FIELDS, Level
from recorder.model.reading import Reading, Spoken, Standing
from recorder.model.recording import BY_CLOCK
from recorder.report.content import formats
from recorder.report.content.context import Entry
from recorder.report.content.frame import Mark
from recorder.report.wording.wording import noted, say

_STANDING = {
    Standing.CONFIRMED: ("●", noted("confirmed by a person")),
    Standing.CLEAR: ("○", noted("heard clearly, not asked about")),
    Standing.DOUBTFUL: ("▲", noted("not confirmed")),
}
SHOWN = tuple(_STANDING)  # what was withdrawn is never in force, and so on no page
NOTHING_ASKED = "–"

Readings = Mapping[str, Reading]
CustomerUnits = Mapping[str, str]  # unit by dimension, as in the settings


def standing_mark(standing: Standing) -> Mark:
    sign, word = _STANDING[standing]
    return Mark(kind=standing.value, sign=sign, word=say(word))


def entry(name: str, known: Readings, customer: CustomerUnits, absent: str | None = None) -> Entry:
    """The reading in force of one field; ``absent``, or 'not recorded', when there is none."""
    label = formats.label(name)
    reading = known.get(name)
    if reading is None:
        return Entry(label=label, value=absent or say("not recorded"), absent=True)
    return Entry(
        label=label,
        value=formats.value(name, reading.value),
        also=also(reading, customer),
        mark=standing_mark(reading.standing),
    )


def entries(
    names: Iterable[str], known: Readings, customer: CustomerUnits, always: Iterable[str] = ()
) -> tuple[Entry, ...]:
    """Those of the fields that were recorded, and those of ``always`` in any case."""
    wanted = set(always) | known.keys()
    return tuple(entry(name, known, customer) for name in names if name in wanted)


def also(reading: Reading, customer: CustomerUnits) -> str:
    """The same value as it was given and in the customer's unit, where these differ from SI."""
    if isinstance(reading.value, bool | str) or reading.unit is None:
        return ""
    given = reading.as_said
    wanted = customer.get(units.UNITS[reading.unit].dimension, reading.unit)
    parts = []
    if given:
        value = formats.quantity(given)
        spoken = isinstance(reading.evidence, Spoken)
        parts.append(
            say("said {value}", value=value) if spoken else say("typed {value}", value=value)
        )
    if wanted != reading.unit and not (given and given.unit == wanted):
        parts.append(formats.setting(units.convert(reading.value, reading.unit, wanted), wanted))
    if reading.unit == "s" and not parts:
        parts.append(formats.spell_out(reading.value))
    if reading.why.startswith(BY_CLOCK):
        parts.append(say("by the clock"))
    return ", ".join(filter(None, parts))


def place(reading: Reading, splices: int, runs: int) -> str:
    """Which value of the record: 'Splice 2, run 1: Dwell'; numbers only where there are several."""
    level = FIELDS[reading.field].level
    label = formats.label(reading.field)
    which = {"splice": reading.splice, "run": reading.run, "label": label}
    if level is Level.JOB:
        return label
    if level is Level.RUN and runs > 1:
        if splices > 1:
            return say("Splice {splice}, run {run}: {label}", **which)
        return say("Run {run}: {label}", **which)
    return say("Splice {splice}: {label}", **which) if splices > 1 else label


def heard(reading: Reading, at: str = "") -> str:
    """The words in which a value was given, and when: 'said at 1:04: “top one seventy two”'.

    at: the time of day, where it is known; else the time in the recording.
    """
    evidence = reading.evidence
    if not isinstance(evidence, Spoken):
        return say("typed ({file})", file=evidence.file) if evidence.file else say("typed")
    at = at or clock(evidence.start_s)
    if at:
        return say("said at {at}: “{words}”", at=at, words=evidence.said)
    return say("said: “{words}”", words=evidence.said)


def clock(seconds: float | None) -> str:
    """Minutes and seconds in a recording: 64.2 -> '1:04'; empty for None."""
    return "" if seconds is None else f"{int(seconds) // 60}:{int(seconds) % 60:02d}"
