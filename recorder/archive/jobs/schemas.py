"""The record of a job as programs of other versions wrote it, and the steps to this one's.

::

    schema 1   held what is known of the reports; it now stands beside each PDF
    schema 2   had no events beside it, and no original that was removed
    schema 3   knew no live sessions, and so no recordings of them
    schema 4   held no length of the belt
    schema 5   this one

A new schema is a new step in ``STEPS`` and a stored record of the old one in tests/archive/jobs.
"""

from __future__ import annotations

import contextlib
import json
from collections.abc import Callable
from typing import Any

from pydantic import ValidationError

from recorder.model.job import Job
from recorder.model.report_record import ReportRecord

Values = dict[str, Any]


def job_in(content: bytes) -> Job:
    """The job in a job.json of this schema or an older one. Raises pydantic.ValidationError."""
    try:
        job = Job.model_validate_json(content)
    except ValidationError:
        if version_of(content) not in STEPS:
            raise
    else:
        if job.schema_version not in STEPS:
            return job
    return Job.model_validate_json(json.dumps(_migrated(_values(content))))


def _migrated(values: Values) -> Values:
    version = int(values["schema_version"])
    while version in STEPS:
        values = STEPS[version](values)
        version += 1
    return values | {"schema_version": version}


def reports_in(content: bytes) -> tuple[ReportRecord, ...]:
    """What a job.json of schema 1 says of reports; nothing for a later one. Raises
    pydantic.ValidationError.
    """
    values = _values(content) if b'"reports"' in content else {}
    if values.get("schema_version") != 1 or not isinstance(values.get("reports"), list):
        return ()
    return tuple(ReportRecord.model_validate(each) for each in values["reports"])


def version_of(content: bytes) -> int | None:
    """The schema that a record says to be of; None when it says nothing that can be understood."""
    version = _values(content).get("schema_version")
    return version if isinstance(version, int) else None


def _values(content: bytes) -> Values:
    with contextlib.suppress(ValueError, RecursionError):
        found = json.loads(content)
        if isinstance(found, dict):
            return found
    return {}


def _with_reports_beside(values: Values) -> Values:
    """Schema 1 to 2. Their records are read by ``reports_in``, and written by the next saving."""
    for each in values.get("reports", ()):
        ReportRecord.model_validate(each)
    return {name: value for name, value in values.items() if name != "reports"}


def _with_events_beside(values: Values) -> Values:
    """Schema 2 to 3. Nothing in it changes; the next writing begins the chain of events."""
    return values


def _with_recordings(values: Values) -> Values:
    """Schema 3 to 4. Nothing in it changes: what was recorded came as files."""
    return values


def _with_belt_length(values: Values) -> Values:
    """Schema 4 to 5. Nothing in it changes: nobody had worked one out."""
    return values


# From each older schema to the next one.
STEPS: dict[int, Callable[[Values], Values]] = {
    1: _with_reports_beside,
    2: _with_events_beside,
    3: _with_recordings,
    4: _with_belt_length,
}
