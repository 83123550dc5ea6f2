"""What somebody said: where its sound lies, and when that was by the clock."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from recorder.live.talk import Talk, Turn
from recorder.model.job import Job
from recorder.model.reading import Reading, Spoken
from recorder.model.transcript import Utterance
from recorder.notes.conversation import Conversation

# The clock of the sound may lie this far before that of the machine.
_EARLY_S = 0.5


@dataclass(frozen=True)
class Words:
    """What was said, and where it stands. file: of the sound. model: that heard it."""

    conversation: Conversation
    file: str
    utterance: Utterance
    model: str | None


def placed(turn: Turn, words: Words) -> Turn:
    """Notes of the recorder's own have the place of the words that led to them."""
    if not turn.notes:
        return turn
    said = words.utterance
    place = {"file": words.file, "start_s": said.start_s, "end_s": said.end_s}
    notes = tuple(note.model_copy(update=place) for note in turn.notes)
    return turn.model_copy(update={"notes": notes})


def moment(job: Job, words: Words, at_s: float | None) -> datetime | None:
    """When, by the clock, a place in the sound of the words was; None where nothing tells."""
    sound = next((each for each in job.recordings if each.file == words.file), None)
    return sound.moment(at_s) if sound is not None and at_s is not None else None


def said_since(job: Job, words: Words, asked_at: datetime) -> bool:
    """Whether the words began after that was asked. What was said before, and understood late, is
    no answer to it.
    """
    began = moment(job, words, words.utterance.start_s)
    return began is None or (asked_at - began).total_seconds() <= _EARLY_S


def is_news(reading: Reading, words: Words) -> bool:
    """What later words settle comes with its old evidence, and was read back then."""
    evidence = reading.evidence
    if not isinstance(evidence, Spoken) or evidence.file != words.file:
        return False
    start_s = words.utterance.start_s
    return evidence.start_s is None or start_s is None or evidence.start_s >= start_s - 0.5


def where(talk: Talk, words: Words) -> Talk:
    """Where the words led to."""
    place = {"splice": words.conversation.splice, "run": words.conversation.run}
    return talk.model_copy(update=place)
