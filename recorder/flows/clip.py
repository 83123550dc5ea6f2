"""The three seconds of sound behind a reading: from the original, or from a recording that runs."""

from __future__ import annotations

from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.sounds import sound_of
from recorder.errors import FileMissing
from recorder.model.job import Job, MediaFile, MediaKind
from recorder.model.reading import Reading, Spoken
from recorder.voice import clip

SECONDS = 3.0
LONGEST_S = 12.0  # of the words of one value; what is longer is no value but a speech
_BREATH_S = 0.3  # before and after words that take longer than ``SECONDS``


def span_s(reading: Reading) -> tuple[float, float] | None:
    """From and to, in the recording: the words of the reading in the middle of three seconds, or
    all of them where they are longer. None for what was not heard.
    """
    evidence = reading.evidence
    if not isinstance(evidence, Spoken) or evidence.start_s is None:
        return None
    start_s, end_s = evidence.start_s, evidence.end_s or evidence.start_s
    more_s = max(_BREATH_S, (SECONDS - (end_s - start_s)) / 2)
    begin_s = max(0.0, start_s - more_s)
    return begin_s, min(max(end_s + more_s, begin_s + SECONDS), begin_s + LONGEST_S)


def sound(folder: JobFolder, job: Job, reading: Reading) -> bytes:
    """WAV. Raises FileMissing where it was not heard or its recording is gone, NotAudio."""
    span, evidence = span_s(reading), reading.evidence
    if span is None or not isinstance(evidence, Spoken):
        raise FileMissing(path=f"a recording of {reading.field}")
    media = _original(job, evidence.file)
    if media is None:
        pcm, rate_hz = sound_of(folder.path, evidence.file, *span)
        if pcm:
            return clip.wav(pcm, rate_hz)
    if media is None or media.removed:
        raise FileMissing(path=f"the recording {evidence.file}")
    return clip.clip(folder.path_of(media.path), *span)


def heard(job: Job, reading: Reading) -> bool:
    """Whether there may be sound to play behind it."""
    evidence = reading.evidence
    if not isinstance(evidence, Spoken) or evidence.start_s is None:
        return False
    media = _original(job, evidence.file)
    running = any(each.file == evidence.file for each in job.recordings)
    return (media is not None and not media.removed) or (media is None and running)


def _original(job: Job, name: str) -> MediaFile | None:
    named = (each for each in job.media if each.kind is MediaKind.AUDIO and each.name == name)
    return next(named, None)
