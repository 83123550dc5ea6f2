"""A transcript to readings and notes: the narrated path of this package."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from recorder.model.calibration import Calibration
from recorder.model.reading import Note, Reading
from recorder.model.stages import StageMark
from recorder.model.transcript import Transcript
from recorder.notes.hearing.signals import Signals
from recorder.notes.hearing.trust import calibration_of
from recorder.notes.narration import NONE_OWN, Narration
from recorder.notes.reconcile import reconcile


@dataclass(frozen=True)
class Extraction:
    """readings: new ones in the order told; superseded ones stay. notes: all that was not
    understood, with its place. stages: of the press runs, as they begin. signals: of what was
    heard, for the calibration; each with the reading before it was reconciled with the others.
    """

    readings: tuple[Reading, ...]
    notes: tuple[Note, ...]
    stages: tuple[StageMark, ...] = ()
    signals: tuple[tuple[Reading, Signals], ...] = ()


def extract(
    transcript: Transcript,
    known: tuple[Reading, ...] = (),
    own: Mapping[str, Calibration] = NONE_OWN,
) -> Extraction:
    """Readings and notes of one file. ``known``: the readings before it, oldest first. ``own``: the
    home's calibrations, by name of the speech model.
    """
    narration = Narration(transcript.file, known, calibration_of(transcript.model, own))
    for utterance in transcript.utterances:
        narration.hear(utterance)
    narration.end()
    readings = reconcile(known, tuple(narration.readings))
    return Extraction(
        readings, tuple(narration.notes), tuple(narration.stages), tuple(narration.signals)
    )
