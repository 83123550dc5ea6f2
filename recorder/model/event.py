"""One event in the life of a job: who did what, when. A line of events.jsonl."""

from __future__ import annotations

from enum import StrEnum

from pydantic import AwareDatetime, JsonValue

from recorder.model.base import Value
from recorder.model.digests import Sha256

FILE_NAME = "events.jsonl"
NOTHING_BEFORE = "0" * 64  # what the first event of a chain says of the event before it


class What(StrEnum):
    """What happened. The data of each kind stand beside it.

    began: the job was made. job, originals (name, path, sha256, size_bytes).
    adopted: the record was taken as it was found, of an earlier version or changed by other hands.
    job, reason.
    restored: the job came out of a signed report. job, report, sha256.
    heard: a reading came out of a recording or a written narration. reading.
    entered: a person typed a reading, also on a job card. reading.
    confirmed: a person said yes to the value in force. reading, before.
    corrected: a person gave another value than the one in force. reading, before.
    changed: other parts of the record. parts: their names, with the number of entries of each.
    reported: a report was written, or approved. path, sha256, signatures.
    merged: what another device held was taken in. chain, readings, parts.
    removed: original files were taken out on request. originals, reason.
    """

    BEGAN = "began"
    ADOPTED = "adopted"
    RESTORED = "restored"
    HEARD = "heard"
    ENTERED = "entered"
    CONFIRMED = "confirmed"
    CORRECTED = "corrected"
    CHANGED = "changed"
    REPORTED = "reported"
    MERGED = "merged"
    REMOVED = "removed"


class Actor(Value):
    """person: as the settings, the certificate or the system call them. device: name of the
    machine. program: with its version.
    """

    person: str = ""
    device: str = ""
    program: str = ""


class Event(Value):
    """seq: counted from 1. at: with zone, by the clock of the device. record: SHA-256 of job.json
    once this and the events written along with it are in force. previous: ``hash`` of the event
    before. hash: SHA-256 of this line up to its own hash (see ``recorder.archive.jobs.events``).
    """

    seq: int
    at: AwareDatetime
    who: Actor
    what: What
    data: dict[str, JsonValue] = {}
    record: Sha256
    previous: Sha256
    hash: Sha256
