"""job.json as bytes: a job written and read, and the stamp by which a change of it is seen."""

from __future__ import annotations

import os
from pathlib import Path

from pydantic import ValidationError

from recorder.archive.jobs import schemas
from recorder.errors import BadJobFolder, JobTooNew
from recorder.model.job import SCHEMA_VERSION, Job


def dump(job: Job) -> bytes:
    """The content of job.json: UTF-8, indented, in the order of the model."""
    return job.model_dump_json(indent=2).encode() + b"\n"


def parse(content: bytes, path: Path) -> Job:
    """The job in the job.json of the folder ``path``. Raises BadJobFolder, JobTooNew."""
    try:
        job = schemas.job_in(content)
    except ValidationError as error:
        _refuse_newer(content, path)
        fault = error.errors(include_url=False)[0]
        place = ".".join(str(part) for part in fault["loc"])
        detail = f"job.json, {place}: {fault['msg']}" if place else f"job.json: {fault['msg']}"
        raise BadJobFolder(path=path, detail=detail) from error
    if job.schema_version > SCHEMA_VERSION:
        _refuse_newer(content, path)
    if job.id != path.name:
        raise BadJobFolder(path=path, detail=f"job.json belongs to job {job.id}")
    return job


def _refuse_newer(content: bytes, path: Path) -> None:
    """JobTooNew when the record, which does not fit the model, says that it need not."""
    version = schemas.version_of(content)
    if version is not None and version > SCHEMA_VERSION:
        detail = f"it was written by a newer Seamnote, schema {version}"
        raise JobTooNew(path=path, detail=detail)


def stamp_of(stat: os.stat_result) -> str:
    """Another text after each writing of the file."""
    return f"{stat.st_mtime_ns}:{stat.st_size}"
