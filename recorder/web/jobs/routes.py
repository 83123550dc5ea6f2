"""The addresses of the pages before and after a job."""

from __future__ import annotations

from starlette.routing import BaseRoute, Route

from recorder.web.jobs import (
    answers,
    archive,
    evidence,
    reporting,
    review,
    signing,
    starting,
)

_JOB = "/jobs/{id}"

ROUTES: list[BaseRoute] = [
    Route("/", starting.show),
    Route("/jobs", starting.begin, methods=["POST"]),
    Route("/archive", archive.show),
    Route("/archive/save", archive.save, methods=["POST"]),
    Route("/archive/forget", archive.forget, methods=["POST"]),
    Route(_JOB, review.show),
    Route(f"{_JOB}/confirm", answers.confirm, methods=["POST"]),
    Route(f"{_JOB}/replace", answers.replace, methods=["POST"]),
    Route(f"{_JOB}/enter", answers.enter, methods=["POST"]),
    Route(f"{_JOB}/clip/{{place:int}}", evidence.sound),
    Route(f"{_JOB}/picture/{{number:int}}/{{kind}}", evidence.picture),
    Route(f"{_JOB}/report", reporting.show, methods=["GET"]),
    Route(f"{_JOB}/report", reporting.write, methods=["POST"]),
    Route(f"{_JOB}/report.pdf", reporting.pdf),
    Route(f"{_JOB}/report/page/{{number:int}}", reporting.picture),
    Route(f"{_JOB}/sign/technician", signing.show, methods=["GET"]),
    Route(f"{_JOB}/sign/customer", signing.show, methods=["GET"]),
    Route(f"{_JOB}/sign/technician", signing.sign, methods=["POST"]),
    Route(f"{_JOB}/sign/customer", signing.sign, methods=["POST"]),
]
