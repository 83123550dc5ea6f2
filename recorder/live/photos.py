"""What is said of a photo that was measured: the values with their uncertainty, the decision, and
where it disagrees with what was told.
"""

from __future__ import annotations

import re
from collections.abc import Collection

from recorder.live.saying import sentences
from recorder.live.saying.numbers import number
from recorder.live.saying.values import value
from recorder.live.saying.words import capital, listed, of, sentence
from recorder.model.job import Job, in_force
from recorder.model.measurement import (
    LIMITED_AS,
    MEASURED_AS,
    Decision,
    Measurement,
    SeamMeasurement,
)
from recorder.model.reading import Reading
from recorder.model.splices import photos_of

# Read back in any case, where a photo gives them; the others when they are not within.
_ALWAYS = ("gap_max", "edge_offset")
# A person measures these too. The other sizes are told as they should be, and not as they are.
_COMPARED = ("finger_gap", "splice_width", "edge_offset")


def said_of(found: SeamMeasurement, job: Job, splice: int) -> list[str]:
    """Sentences for one photo, the important ones first."""
    if found.status == "refused":
        remedy = found.reason.rpartition("; ")[2]
        return [sentence("photo_refused", remedy=f"{capital(remedy)}.")]
    limited = {LIMITED_AS[name]: decision for name, decision in found.decisions.items()}
    said = []
    for name in sorted(_of_interest(limited), key=lambda each: _weight(limited.get(each))):
        measured, decision = getattr(found, name), limited.get(name)
        words = of("decisions", decision.value) if decision else ""
        if measured is not None:
            said.append(f"{_measured(name, measured)} {words}".strip())
        elif decision is not None:
            label = capital(of("measured", name))
            said.append(sentence("photo_without", name=label, decision=words))
    said += _against(found, job, splice, _COMPARED)
    flags = [of("flagged", flag.kind.value) for flag in found.flags]
    if flags:
        said.append(sentence("photo_flags", flags=listed(list(dict.fromkeys(flags)))))
    return said or [sentence("photo_nothing")]


def disagreements(job: Job, splice: int, told: Collection[str]) -> list[str]:
    """Where what was told of these fields disagrees with the last photo of the splice."""
    seams = [seam for _, seam in photos_of(job, splice) if seam and seam.status == "measured"]
    return _against(seams[-1], job, splice, told) if seams else []


def _against(found: SeamMeasurement, job: Job, splice: int, fields: Collection[str]) -> list[str]:
    known = in_force(job.readings, splice)
    said = []
    for field in (each for each in _COMPARED if each in fields):
        reading, measured = known.get(field), getattr(found, MEASURED_AS[field])
        if reading is not None and measured is not None and _disagree(reading, measured):
            spoken = _number(measured)[0]
            said.append(sentence("disagrees", said=_named(reading), measured=spoken))
    return said


def _of_interest(limited: dict[str, Decision]) -> list[str]:
    return [
        name
        for name in dict.fromkeys((*_ALWAYS, *limited))
        if name in _ALWAYS or limited[name] is not Decision.WITHIN
    ]


def _weight(decision: Decision | None) -> int:
    order = (Decision.OUTSIDE, Decision.UNDECIDED, Decision.WITHIN)
    return order.index(decision) if decision else len(order)


def _measured(name: str, found: Measurement) -> str:
    spoken, uncertainty = _number(found)
    label = capital(of("measured", name))
    if found.below:
        return sentence("photo_below", name=label, value=spoken)
    return sentence("photo_value", name=label, value=spoken, uncertainty=uncertainty)


def _number(found: Measurement) -> tuple[str, str]:
    """Value and uncertainty, rounded as the page rounds them; the unit unless it is mm."""
    numbers = [number(float(each)) for each in re.findall(r"-?\d+(?:\.\d+)?", found.shown())]
    unit = "" if found.unit == "mm" else " " + of("units", found.unit, found.unit)
    spoken = numbers[0] + unit
    return spoken, numbers[1] + unit if len(numbers) > 1 else ""


def _disagree(said: Reading, found: Measurement) -> bool:
    """Whether a told value lies beyond the uncertainty of the measured one."""
    if isinstance(said.value, bool | str):
        return False
    return said.value > found.value if found.below else abs(said.value - found.value) > found.U


def _named(reading: Reading) -> str:
    return f"{sentences.name(reading.field)} {value(reading)}"
