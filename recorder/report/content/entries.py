"""Readings as a page shows them: value, what was said, the customer's unit, the standing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from recorder.model import units
from recorder.model.fields import FIELDS, Level
from recorder.model.reading import Reading, Spoken, Standing, show_value
from recorder.report.content.context import Entry, Mark

STANDING = {
    Standing.CONFIRMED: Mark(kind="confirmed", sign="●", word="confirmed by a person"),
    Standing.CLEAR: Mark(kind="clear", sign="○", word="heard clearly, not asked about"),
    Standing.DOUBTFUL: Mark(kind="doubtful", sign="▲", word="not confirmed"),
}
NOT_RECORDED = "not recorded"
NOTHING_ASKED = "–"

Readings = Mapping[str, Reading]
CustomerUnits = Mapping[str, str]  # unit by dimension, as in the settings


def entry(name: str, known: Readings, customer: CustomerUnits, absent: str = NOT_RECORDED) -> Entry:
    """The reading in force of one field, or ``absent`` when there is none."""
    label = FIELDS[name].label
    reading = known.get(name)
    if reading is None:
        return Entry(label=label, value=absent, absent=True)
    return Entry(
        label=label,
        value=show_value(name, reading.value),
        also=also(reading, customer),
        mark=STANDING[reading.standing],
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
        verb = "said" if isinstance(reading.evidence, Spoken) else "typed"
        parts.append(f"{verb} {given}")
    if wanted != reading.unit and not (given and given.unit == wanted):
        parts.append(units.show(units.convert(reading.value, reading.unit, wanted), wanted))
    if reading.unit == "s" and not parts:
        parts.append(spell_out(reading.value))
    return ", ".join(filter(None, parts))


def spell_out(seconds: float) -> str:
    """A duration of a minute or more in the two units that people use: 10200 -> '2 h 50 min'."""
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    parts = [(hours, "h"), (minutes, "min"), (0 if hours else rest, "s")]
    return " ".join(f"{n} {unit}" for n, unit in parts if n) if seconds >= 60 else ""


def place(reading: Reading, splices: int, runs: int) -> str:
    """Which value of the record: 'Splice 2, run 1: Dwell'; numbers only where there are several."""
    field = FIELDS[reading.field]
    parts = []
    if field.level is not Level.JOB and splices > 1:
        parts.append(f"splice {reading.splice}")
    if field.level is Level.RUN and runs > 1:
        parts.append(f"run {reading.run}")
    where = ", ".join(parts).capitalize()
    return f"{where}: {field.label}" if where else field.label


def heard(reading: Reading) -> str:
    """The words in which a value was given, and when: 'said at 1:04: “top one seventy two”'."""
    evidence = reading.evidence
    if not isinstance(evidence, Spoken):
        return f"typed ({evidence.file})" if evidence.file else "typed"
    at = clock(evidence.start_s)
    return f"said{f' at {at}' if at else ''}: “{evidence.said}”"


def clock(seconds: float | None) -> str:
    """Minutes and seconds in a recording: 64.2 -> '1:04'; empty for None."""
    return "" if seconds is None else f"{int(seconds) // 60}:{int(seconds) % 60:02d}"
