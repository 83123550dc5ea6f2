"""What the photos of one splice gave, as a table: a column a characteristic, a row a photo."""

from __future__ import annotations

from collections.abc import Sequence

from recorder.model import units
from recorder.model.characteristics import CHARACTERISTICS, Characteristic
from recorder.model.fields import FIELDS
from recorder.model.measurement import LIMITED_AS, Decision, Measurement, SeamMeasurement
from recorder.model.reading import Reading
from recorder.report.content import formats
from recorder.report.content.context import Column, Entry, Measured, Measurements, PhotoRow
from recorder.report.content.entries import NOTHING_ASKED, CustomerUnits, Readings, entry
from recorder.report.content.frame import Mark
from recorder.report.wording.wording import count, noted, say

_DECISION = {
    Decision.WITHIN: ("✓", noted("within limit")),
    Decision.OUTSIDE: ("✗", noted("outside limit")),
    Decision.UNDECIDED: ("?", noted("undecided")),
}
# What a person finds and says of a splice too.
ALWAYS = ("gap_max", "splice_width", "edge_offset")
_BESIDES = {
    "gap_mean": noted("mean gap {value}"),
    "belt_width": noted("belt width {value}"),
    "skew": noted("skew {value}"),
    "bow": noted("bow {value}"),
}


def decision_mark(decision: Decision) -> Mark:
    sign, word = _DECISION[decision]
    return Mark(kind=decision.value, sign=sign, word=say(word))


def table(
    headings: Sequence[str],
    photos: Sequence[SeamMeasurement],
    known: Readings,
    customer: CustomerUnits,
) -> Measurements | None:
    """headings: of the photos, in their order. known: readings of the splice. None if empty.

    Gap, width and offset have a column when they were said or measured, and all else that is
    limited has one too.
    """
    limited = {limit.name for photo in photos for limit in photo.limits}
    shown = [
        each
        for name, each in CHARACTERISTICS.items()
        if each.limited in limited
        or (
            name in ALWAYS
            and (each.limited in known or any(getattr(photo, name) for photo in photos))
        )
    ]
    if not shown:
        return None
    return Measurements(
        columns=tuple(_column(each, photos, known, customer) for each in shown),
        photos=tuple(
            PhotoRow(
                heading=heading,
                values=tuple(
                    _measured(
                        getattr(photo, each.name), photo.decisions.get(each.limited or ""), customer
                    )
                    for each in shown
                ),
            )
            for heading, photo in zip(headings, photos, strict=True)
        ),
        spoken=any(each.limited in known for each in shown),
        coverage=_coverage(photos),
        sources=_sources(photos),
    )


def besides(photo: SeamMeasurement) -> str:
    """What else says most, in one line: 'mean gap 0.09 ± 0.05 mm, skew 0.20 ± 0.11°, 7 fingers'.

    The annex has the rest.
    """
    limited = {LIMITED_AS[limit.name] for limit in photo.limits}
    parts = [
        say(text, value=formats.measurement(value))
        for name, text in _BESIDES.items()
        if name not in limited and (value := getattr(photo, name))
    ]
    if photo.finger_count is not None:
        parts.append(count("{n} finger", "{n} fingers", photo.finger_count))
    return ", ".join(parts)


def _column(
    what: Characteristic,
    photos: Sequence[SeamMeasurement],
    known: Readings,
    customer: CustomerUnits,
) -> Column:
    limits = [limit for photo in photos for limit in photo.limits if limit.name == what.limited]
    values = [getattr(photo, what.name) for photo in photos]
    return Column(
        label=say(what.label),
        limit=formats.limit(limits[-1]) if limits else say("no limit"),
        said=_said(what.limited or "", values, known, customer),
    )


def _said(
    field: str,
    values: Sequence[Measurement | None],
    known: Readings,
    customer: CustomerUnits,
) -> Entry:
    """The spoken value, marked where it disagrees with the last photo beyond U."""
    if field not in FIELDS:
        return Entry(label=field, value=NOTHING_ASKED, absent=True)
    found = entry(field, known, customer, NOTHING_ASKED)
    last = next((value for value in reversed(values) if value is not None), None)
    if found.absent or last is None:
        return found
    apart = disagree(known[field], last)
    return found.model_copy(update={"mark": differs()}) if apart else found


def disagree(said: Reading, found: Measurement) -> bool:
    """Whether a spoken value lies beyond the uncertainty of the measured one."""
    value = float(said.value)
    return value > found.value if found.below else abs(value - found.value) > found.U


def differs() -> Mark:
    return Mark(kind="doubtful", sign="▲", word=say("differs from photo"))


def _measured(
    value: Measurement | None, decision: Decision | None, customer: CustomerUnits
) -> Measured:
    mark = decision_mark(decision) if decision else None
    if value is None:
        return Measured(value=say("not measured") if mark else NOTHING_ASKED, decision=mark)
    other = _in_customer_unit(value, customer)
    return Measured(
        value=formats.measurement(value),
        also=formats.measurement(other) if other else "",
        decision=mark,
    )


def shown_or_not(value: Measurement | None) -> str:
    return say("not measured") if value is None else formats.measurement(value)


def _in_customer_unit(value: Measurement, customer: CustomerUnits) -> Measurement | None:
    """Lengths only: they scale, so that U does too."""
    dimension = units.UNITS[value.unit].dimension
    wanted = customer.get(dimension, value.unit)
    if wanted == value.unit or dimension != "length":
        return None
    scale = units.convert(1.0, value.unit, wanted)
    return value.model_copy(
        update={"value": value.value * scale, "U": value.U * scale, "unit": wanted}
    )


def _coverage(photos: Sequence[SeamMeasurement]) -> str:
    found = [
        value for photo in photos for name in CHARACTERISTICS if (value := getattr(photo, name))
    ]
    if any(value.k == 2 for value in found):
        return say(
            "± gives the expanded uncertainty U (k = 2, about 95 %). “Within limit” means that the "
            "whole range keeps the limit."
        )
    return say(
        "± gives the expanded uncertainty U. “Within limit” means that the whole range keeps the "
        "limit."
    )


def _sources(photos: Sequence[SeamMeasurement]) -> tuple[str, ...]:
    applied = {limit.name: limit for photo in photos for limit in photo.limits}
    by_source: dict[str, list[str]] = {}
    for each in CHARACTERISTICS.values():
        if each.limited in applied:
            source = applied[each.limited].source or say("source not given")
            by_source.setdefault(source, []).append(say(each.label))
    return tuple(
        say("Limit ({what}): {source}", what=", ".join(which), source=source)
        for source, which in by_source.items()
    )
