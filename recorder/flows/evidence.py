"""A job to the manifest of what its report rests on, and the software that took part."""

from __future__ import annotations

import platform
from datetime import datetime
from importlib.metadata import version

from recorder import __version__
from recorder.model.evidence import EventsDigest, Evidence, OriginalDigest, RecordDigest, digest
from recorder.model.job import Job, in_force
from recorder.model.report_record import Variant
from recorder.model.software import Software, Use
from recorder.report.page import weasy
from recorder.settings import SpeechSettings
from recorder.voice import bundled, whisper


def gather(
    job: Job, record: bytes, events: EventsDigest, now: datetime, variant: Variant
) -> Evidence:
    """The manifest of a report on ``job``.

    record: the content of its job.json, as it will be attached. events: those that led to it.
    now: when the report is written, with zone. Raises EngineMissing.
    """
    number = in_force(job.readings).get("job_number")
    return Evidence(
        job_id=job.id,
        job_number=str(number.value) if number else "",
        written_at=now,
        variant=variant,
        record=RecordDigest(sha256=digest(record), size_bytes=len(record)),
        originals=tuple(
            OriginalDigest(
                name=media.name,
                kind=media.kind,
                path=media.path,
                sha256=media.sha256,
                size_bytes=media.size_bytes,
            )
            for media in job.media
        ),
        software=(*job.software, *_reporting()),
        events=events,
    )


def hearing(settings: SpeechSettings) -> tuple[Software, ...]:
    """What a recording is heard with now. Raises EngineMissing, ModelDamaged."""
    return (
        *_ours(Use.HEARING),
        Software(use=Use.HEARING, name="faster-whisper", version=whisper.engine_version()),
        Software(
            use=Use.HEARING,
            name=f"speech model {whisper.model_name(settings)}",
            sha256=bundled.WEIGHTS_SHA256 if settings.model == "bundled" else "",
        ),
    )


def measuring() -> tuple[Software, ...]:
    """What a photo is measured with now."""
    opencv = version("opencv-python-headless")
    return (*_ours(Use.MEASURING), Software(use=Use.MEASURING, name="OpenCV", version=opencv))


def _reporting() -> tuple[Software, ...]:
    return (
        *_ours(Use.REPORT),
        Software(use=Use.REPORT, name="WeasyPrint", version=weasy.version()),
        Software(use=Use.REPORT, name="pyHanko", version=version("pyhanko")),
    )


def _ours(use: Use) -> tuple[Software, ...]:
    return (
        Software(use=use, name="Seamnote", version=__version__),
        Software(use=use, name="Python", version=platform.python_version()),
    )
