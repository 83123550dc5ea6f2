"""The form of what lies on disk, as JSON Schema: made from the models, so that it is the truth."""

from __future__ import annotations

from typing import Any

from pydantic.json_schema import GenerateJsonSchema

from recorder.model.base import Value
from recorder.model.event import Event
from recorder.model.evidence import Evidence
from recorder.model.job import SCHEMA_VERSION, Job
from recorder.model.report_record import ReportRecord

DIALECT = "https://json-schema.org/draft/2020-12/schema"

# Name on the command line -> the model of job.json, of a line of events.jsonl, of evidence.json in
# a report, and of the file beside a report.
KINDS: dict[str, type[Value]] = {
    "job": Job,
    "event": Event,
    "evidence": Evidence,
    "report-record": ReportRecord,
}


class _AsWritten(GenerateJsonSchema):
    """Whatever may be left out for a program, this one writes it."""

    schema_dialect = DIALECT

    def field_is_required(self, *_: Any, **__: Any) -> bool:
        return True


def schema_of(kind: str) -> dict[str, Any]:
    """The schema of what this version writes. kind: a key of ``KINDS``."""
    schema = KINDS[kind].model_json_schema(mode="serialization", schema_generator=_AsWritten)
    if kind == "job":  # older ones are read too, but written as this one
        schema["properties"]["schema_version"]["const"] = SCHEMA_VERSION
    return {"$schema": DIALECT, "$id": f"urn:seamnote:{kind}", **schema}
