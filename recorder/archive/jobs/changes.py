"""Two states of a job to what happened in between."""

from __future__ import annotations

from pydantic import JsonValue

from recorder.archive.jobs.events import Happened
from recorder.model.base import Value
from recorder.model.event import What
from recorder.model.job import Job, on_job_card
from recorder.model.reading import Reading, Standing

_PARTS = tuple(name for name in Job.model_fields if name != "readings")


def began(job: Job) -> Happened:
    """The event of a new job."""
    told = {"name", "path", "sha256", "size_bytes"}
    originals: list[JsonValue] = [
        media.model_dump(mode="json", include=told) for media in job.media
    ]
    return What.BEGAN, {"job": job.id, "originals": originals}


def happened(known: Job, new: Job) -> list[Happened]:
    """One event for each reading that came in, and one for all other parts that differ."""
    places = added(known.readings, new.readings)
    parts: dict[str, JsonValue] = {
        name: _amount(getattr(new, name))
        for name in _PARTS
        if getattr(known, name) != getattr(new, name)
    }
    if places is None:  # an unfinished job that was understood anew
        parts["readings"] = len(new.readings)
        places = list(range(len(new.readings)))
    found = _of_readings(new.readings, set(places))
    return [*found, (What.CHANGED, {"parts": parts})] if parts else found


def added(known: tuple[Reading, ...], new: tuple[Reading, ...]) -> list[int] | None:
    """Where in ``new`` stand the readings that are not in ``known``, whose order it must keep.

    None when it lacks any of them. A merge may place another device's readings in between.
    """
    places: list[int] = []
    met = 0
    for place, reading in enumerate(new):
        if met < len(known) and reading == known[met]:
            met += 1
        else:
            places.append(place)
    return places if met == len(known) else None


def _of_readings(readings: tuple[Reading, ...], came_in: set[int]) -> list[Happened]:
    found: list[Happened] = []
    newest: dict[tuple[object, ...], Reading] = {}
    for place, reading in enumerate(readings):
        key = (reading.field, reading.splice, reading.run, reading.role)
        if place in came_in:
            found.append(_of_reading(reading, newest.get(key)))
        newest[key] = reading
    return found


def _of_reading(reading: Reading, before: Reading | None) -> Happened:
    """before: the reading of the same value that was the newest until then."""
    data: dict[str, JsonValue] = {"reading": reading.model_dump(mode="json")}
    if reading.standing is Standing.WITHDRAWN:
        return What.WITHDRAWN, data
    answers = reading.standing is Standing.CONFIRMED and not on_job_card(reading)
    if before and answers:
        data["before"] = before.model_dump(mode="json", include={"value", "unit", "standing"})
        return What.CONFIRMED if before.value == reading.value else What.CORRECTED, data
    return What.HEARD if reading.evidence.source == "spoken" else What.ENTERED, data


def _amount(part: object) -> JsonValue:
    """How many entries a part has; of a part that has none its value."""
    if isinstance(part, tuple):
        return len(part)
    if isinstance(part, Value):
        return part.model_dump(mode="json")
    return part if isinstance(part, bool | int | str) else str(part)
