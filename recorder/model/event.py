"""One event in the life of a job: who did what, when. A line of events.jsonl."""

from __future__ import annotations

from enum import StrEnum

from pydantic import AwareDatetime, JsonValue

from recorder.model.base import Value
from recorder.model.digests import Sha256, Size

FILE_NAME = "events.jsonl"
NOTHING_BEFORE = "0" * 64  # what the first event of a chain says of the event before it


class What(StrEnum):
    """What happened. The data of each kind stand beside it.

    began: the job was made. job, originals (name, path, sha256, size_bytes).
    adopted: the record was taken as it was found, of an earlier version or changed by other hands.
    job, reason, reports (SHA-256 of those that were there), chain (SHA-256 of the file of events
    that was put aside, where it was broken).
    restored: the job came out of a signed report. job, report, sha256.
    heard: a reading came out of a recording or a written narration. reading.
    entered: a person typed a reading, also on a job card. reading.
    confirmed: a person said yes to the value that was there. reading, before (value, unit,
    standing).
    corrected: a person gave another value than the one that was there. reading, before.
    withdrawn: a person took a value back. reading: the value, withdrawn.
    changed: other parts of the record. parts: their names, with the number of entries of each.
    reported: a report was written, or approved, or came along from elsewhere. report: its record.
    arrived: true for one from elsewhere.
    merged: what another device held was taken in. chain, chains (SHA-256 of its files of events),
    readings, parts.
    removed: original files were taken out on request. originals (path, name, sha256, size_bytes),
    reason, transcripts: files whose words went too.
    """

    BEGAN = "began"
    ADOPTED = "adopted"
    RESTORED = "restored"
    HEARD = "heard"
    ENTERED = "entered"
    CONFIRMED = "confirmed"
    CORRECTED = "corrected"
    WITHDRAWN = "withdrawn"
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
    """seq: counted from 1. at: with zone, by the clock of the device. more: how many further events
    the same saving wrote behind this one. record: SHA-256 of job.json once all of them are in
    force. previous: ``hash`` of the event before. hash: SHA-256 of this line up to its own hash
    (see ``recorder.archive.jobs.events``).
    """

    seq: int
    at: AwareDatetime
    who: Actor
    what: What
    data: dict[str, JsonValue] = {}
    more: Size = 0
    record: Sha256
    previous: Sha256
    hash: Sha256
