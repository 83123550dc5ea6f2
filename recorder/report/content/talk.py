"""What was said, with times: the transcript of each recording."""

from __future__ import annotations

from recorder.model.job import Job
from recorder.report.content.context import Recording, Utterance
from recorder.report.content.entries import clock
from recorder.report.wording.wording import say


def recordings(job: Job) -> tuple[Recording, ...]:
    """The first hearing of every recording in which something was heard."""
    return tuple(
        Recording(
            heading=say("{file}, heard with {model}", file=heard.file, model=heard.model)
            if heard.model
            else heard.file,
            utterances=tuple(
                Utterance(at=clock(said.start_s), text=said.text) for said in heard.utterances
            ),
        )
        for heard in job.transcripts
        if heard.utterances
    )
