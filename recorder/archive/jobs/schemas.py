"""The record of a job as programs of other versions wrote it.

::

    schema 1   held what is known of the reports; it now stands beside each PDF
    schema 2   had no events beside it, and no original that was removed
    schema 3   this one
"""

from __future__ import annotations

import contextlib
import json
from typing import Any

from pydantic import ValidationError

from recorder.model.job import SCHEMA_VERSION, Job
from recorder.model.report_record import ReportRecord


def job_in(content: bytes) -> Job:
    """The job in a job.json of this schema or an older one. Raises pydantic.ValidationError."""
    try:
        job = Job.model_validate_json(content)
    except ValidationError:
        values = _values(content)
        if values.get("schema_version") != 1:
            raise
        reports_in(content)
        values.pop("reports", None)
        return Job.model_validate_json(json.dumps(values | {"schema_version": SCHEMA_VERSION}))
    if job.schema_version < SCHEMA_VERSION:
        return job.model_copy(update={"schema_version": SCHEMA_VERSION})
    return job


def reports_in(content: bytes) -> tuple[ReportRecord, ...]:
    """What a job.json of schema 1 says of reports; nothing for a later one. Raises
    pydantic.ValidationError.
    """
    values = _values(content)
    if values.get("schema_version") != 1 or not isinstance(values.get("reports"), list):
        return ()
    return tuple(ReportRecord.model_validate(each) for each in values["reports"])


def version_of(content: bytes) -> int | None:
    """The schema that a record says to be of; None when it says nothing that can be understood."""
    with contextlib.suppress(KeyError, ValueError, TypeError):
        return int(_values(content)["schema_version"])
    return None


def _values(content: bytes) -> dict[str, Any]:
    with contextlib.suppress(ValueError, RecursionError):
        found = json.loads(content)
        if isinstance(found, dict):
            return found
    return {}
