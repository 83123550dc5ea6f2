"""What a report rests on, on its last pages: words, sound, measurements, files, programs."""

from __future__ import annotations

from recorder.model.base import Value
from recorder.report.content.frame import Mark
from recorder.report.content.text import Text


class Utterance(Value):
    """at: minutes and seconds in the recording, or empty."""

    at: Text
    text: Text


class Recording(Value):
    """What was heard in one file, with times. heading: its name, and with what it was heard."""

    heading: Text
    utterances: tuple[Utterance, ...]


class Program(Value):
    """A piece of software. use: what it did. digest: of a model's weights, or empty."""

    use: Text
    name: Text
    digest: Text


class Silence(Value):
    """A gap in the sound of a live session. at: from when to when, by the clock."""

    at: Text
    length: Text
    why: Text


class SoundStretch(Value):
    """Sound without a gap. at: when it began. samples: how many. device: its microphone."""

    file: Text
    at: Text
    length: Text
    samples: Text
    device: Text


class Sound(Value):
    """What a live session recorded. told: with what, from when to when, in a sentence."""

    told: Text
    silences: tuple[Silence, ...]
    stretches: tuple[SoundStretch, ...]


class Finding(Value):
    """One characteristic in the annex. value: with U, or why there is none. limit, source: in
    force, or empty. conformity: probability of lying within the limit, or empty. u: combined
    standard uncertainty in the unit of the value. terms: what it is made of; both may be empty.
    """

    label: Text
    value: Text
    decision: Mark | None
    limit: Text
    source: Text
    conformity: Text
    u: Text
    terms: Text


class Annex(Value):
    """All that one photo gave. facts: where the gap is largest, fingers, lens, scale, flanks.
    remarks: flags and warnings.
    """

    heading: Text
    decision: Mark | None
    findings: tuple[Finding, ...]
    facts: tuple[Text, ...]
    remarks: tuple[Text, ...]


class Original(Value):
    """An original file of the record. digest: SHA-256 in hex. refused: why it was not used.
    removed: the day on which it was taken out on request, or empty. with_words: and what was said
    in it too, but for the words that carry a value.
    """

    name: Text
    size: Text
    digest: Text
    refused: Text
    removed: Text
    with_words: bool
