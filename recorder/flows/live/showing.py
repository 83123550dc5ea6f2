"""What a page shows of a session, put together from the job, the talk and what runs now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from recorder.flows.live.memory import Told
from recorder.live import photos, shown
from recorder.live.talk import Talk
from recorder.live.view import Said, Shot, Sign, View
from recorder.model.job import Job, MediaFile, MediaKind
from recorder.model.measurement import SeamMeasurement
from recorder.model.recording import Recording, gaps

MOST_LINES = 60
_LATELY = 2  # of what the recorder said last


@dataclass(frozen=True)
class Now:
    """What stands in no file. microphone: name of the device, '' without. report: whether there is
    a signed one. The rest as in ``View``.
    """

    speaking: bool
    thinking: bool
    hearing: str
    saved_s: float
    backlog_s: float
    microphone: str
    can_speak: bool
    measuring: tuple[str, ...]
    finished: bool
    report: bool
    trouble: str


def view(
    job: Job, talk: Talk, recordings: tuple[Recording, ...], told: tuple[Told, ...], now: Now
) -> View:
    """recordings: as they are now. told: what the recorder said."""
    return View(
        job=job.id,
        title=job.title(),
        sign=_sign(talk, now),
        moment=talk.moment,
        now=datetime.now().astimezone(),
        began_at=job.created_at.astimezone(),
        hearing=now.hearing,
        saved_s=now.saved_s,
        backlog_s=now.backlog_s,
        microphone=now.microphone,
        cards=shown.cards(talk, job),
        lines=_lines(job, recordings, told),
        question=shown.asked(talk, job),
        missing=shown.missing(talk, job),
        timers=shown.timers(talk),
        shots=_shots(job, now.measuring, told),
        gaps=gaps([each for each in recordings if each.samples]),
        splice=talk.splice,
        run=talk.run,
        can_undo=shown.can_undo(talk),
        can_speak=now.can_speak,
        finished=now.finished,
        report=now.report,
        trouble=now.trouble,
        known=talk.known,
    )


def _sign(talk: Talk, now: Now) -> Sign:
    if now.finished:
        return Sign.FINISHED
    if now.speaking:
        return Sign.SPEAKING
    if now.thinking:
        return Sign.THINKING
    if not now.microphone:
        return Sign.OFF
    return Sign.PAUSED if talk.paused else Sign.LISTENING


def _lines(job: Job, recordings: tuple[Recording, ...], told: tuple[Told, ...]) -> tuple[Said, ...]:
    """The newest lines of the conversation, in the order of the clock."""
    began = {each.file: each for each in recordings}
    lines = [Said(who="recorder", text=each.text, at=each.at) for each in told[-MOST_LINES:]]
    for transcript in job.transcripts:
        recording = began.get(transcript.file)
        if recording is None:
            continue
        for said in transcript.utterances[-MOST_LINES:]:
            at_s = said.start_s or 0.0
            at = recording.moment(at_s)
            lines.append(Said(who="person", text=said.text, at=at, file=transcript.file, at_s=at_s))
    lines.sort(key=lambda line: line.at)
    return tuple(lines[-MOST_LINES:])


def _shots(job: Job, measuring: tuple[str, ...], told: tuple[Told, ...]) -> tuple[Shot, ...]:
    seams = {seam.file: seam for seam in job.measurements}
    kept = [media for media in job.media if media.kind is MediaKind.PHOTO and not media.removed]
    return tuple(
        _shot(number, media, job, seams.get(media.name), media.name in measuring, told[-_LATELY:])
        for number, media in enumerate(kept, 1)
    )


def _shot(
    number: int,
    media: MediaFile,
    job: Job,
    seam: SeamMeasurement | None,
    measuring: bool,
    lately: tuple[Told, ...],
) -> Shot:
    if seam is None:
        return Shot(number=number, name=media.name, text=media.refused, measuring=measuring)
    splice = next((note.splice for note in job.photos if note.file == media.name), 1)
    said = photos.said_of(seam, job, splice)
    return Shot(
        number=number,
        name=media.name,
        text=seam.reason or " ".join(said),
        decision=seam.decision or "",
        shown=bool(seam.overlay),
        fresh=any(each.text.startswith(said[0]) for each in lately),
    )
