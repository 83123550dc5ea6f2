"""Who did what in a job, when: its events in words."""

from __future__ import annotations

from pydantic import AwareDatetime, JsonValue

from recorder.archive.jobs import events
from recorder.archive.jobs.folder import JobFolder
from recorder.model.base import Value
from recorder.model.event import Event, What
from recorder.model.fields import FIELDS
from recorder.model.plural import counted
from recorder.model.reading import show_value

MOST_SHOWN = 300
_PARTS = {
    "media": "original files", "transcripts": "what was heard", "notes": "notes",
    "stages": "stages of the press runs", "photos": "what photos show",
    "measurements": "measurements", "software": "software that took part",
    "recordings": "stretches of sound", "complete": "whether it is finished",
}  # fmt: skip


class Deed(Value):
    """at: by the clock of that device. who: person and device."""

    at: AwareDatetime
    who: str
    what: str


class History(Value):
    """deeds: the newest first, at most ``MOST_SHOWN``. earlier: how many are not shown."""

    deeds: tuple[Deed, ...]
    earlier: int


def history(folder: JobFolder) -> History:
    """Raises BadJobFolder."""
    every = events.read(folder.events).events
    shown = every[-MOST_SHOWN:]
    return History(
        deeds=tuple(
            Deed(at=event.at, who=_who(event), what=_told(event)) for event in reversed(shown)
        ),
        earlier=len(every) - len(shown),
    )


def _who(event: Event) -> str:
    return ", ".join(filter(None, (event.who.person, event.who.device))) or "not told"


def _told(event: Event) -> str:
    data = event.data
    match event.what:
        case What.HEARD:
            return f"heard: {_value(data.get('reading'))}"
        case What.ENTERED:
            return f"typed: {_value(data.get('reading'))}"
        case What.CONFIRMED:
            return f"confirmed: {_value(data.get('reading'))}"
        case What.CORRECTED:
            return f"corrected: {_value(data.get('reading'))}"
        case What.WITHDRAWN:
            return f"took back: {_value(data.get('reading'))}"
        case What.CHANGED:
            return _changed(data.get("parts"))
        case What.REPORTED:
            return _reported(data.get("report"))
        case What.BEGAN:
            return "began the job"
        case What.RESTORED:
            return "restored the job from a signed report"
        case What.MERGED:
            return "took in what another device held"
        case What.REMOVED:
            return f"removed original files on request: {data.get('reason', '')}"
        case What.ADOPTED:
            return f"took the record as it was found: {data.get('reason', '')}"


def _value(reading: JsonValue) -> str:
    """'Dwell 180 s', of a reading as it stands in an event, which may be of an older program."""
    told = reading if isinstance(reading, dict) else {}
    name, value = str(told.get("field", "")), told.get("value")
    if name not in FIELDS or not isinstance(value, (bool, int, float, str)):
        return "a value"
    shown = show_value(name, value if isinstance(value, (bool, str)) else float(value))
    return f"{FIELDS[name].label} {shown}"


def _changed(parts: JsonValue) -> str:
    known = parts if isinstance(parts, dict) else {}
    named = [_PARTS[name] for name in known if name in _PARTS]
    return f"kept: {', '.join(named)}" if named else "changed the record"


def _reported(record: JsonValue) -> str:
    told = record if isinstance(record, dict) else {}
    number = told.get("signatures")
    signed = f" with {counted(number, 'signature')}" if isinstance(number, int) else ""
    return f"wrote a report{signed}"
