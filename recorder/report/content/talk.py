"""What was said, with times: the transcript of each recording."""

from __future__ import annotations

from recorder.model.job import Job
from recorder.model.transcript import Transcript
from recorder.report.content.entries import clock
from recorder.report.content.sound import told_at
from recorder.report.content.sources import Recording, Utterance
from recorder.report.wording.wording import say


def recordings(job: Job) -> tuple[Recording, ...]:
    """The first hearing of every recording in which something was heard."""
    return tuple(
        Recording(
            heading=_heading(job, heard),
            utterances=tuple(
                Utterance(at=clock(said.start_s), text=said.text) for said in heard.utterances
            ),
        )
        for heard in job.transcripts
        if heard.utterances
    )


def _heading(job: Job, heard: Transcript) -> str:
    """Of a live session with the time of day at which this stretch of it began."""
    at = told_at(job, heard.file, 0.0)
    values = {"file": heard.file, "model": heard.model, "at": at}
    if at and heard.model:
        return say("{file}, from {at}, heard with {model}", **values)
    return say("{file}, heard with {model}", **values) if heard.model else heard.file
