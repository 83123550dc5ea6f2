"""The words as the answer to a question about one field: "yes", "no, one seventy two", "later"."""

from __future__ import annotations

from recorder.model.fields import FIELDS, Field, Kind, Level
from recorder.model.reading import Note, Reading, Role, Spoken, Standing
from recorder.model.transcript import Transcript, Utterance
from recorder.notes.extract import Extraction, extract
from recorder.notes.reconcile import CORRECTS, replaces
from recorder.notes.trust import same
from recorder.notes.typed import known_field
from recorder.notes.vocabulary import words

Value = bool | float | str


def answer(
    transcript: Transcript, question: Reading | str, known: tuple[Reading, ...] = ()
) -> Extraction:
    """Readings that the words give as the answer to a question about one field.

    ``question``: the reading that is to be confirmed, or the name of a field that has no value
    yet. "Yes" confirms; a value replaces; a bare number takes the field's unit when only one is
    likely; "later" and what is not an answer becomes a note. Raises UnknownField.
    """
    asked = question if isinstance(question, Reading) else None
    field = FIELDS[asked.field] if asked else known_field(str(question))
    told = _as_told(transcript, field, known)
    here = [r for r in told.readings if r.field == field.name]
    if here:
        return Extraction(
            tuple(_placed(r, asked) if r.field == field.name else r for r in told.readings),
            told.notes,
        )
    yes = _yes_or_no(transcript)
    if yes is None:
        return told
    if asked is not None:
        return _confirmed(asked, yes, transcript)
    if field.kind is Kind.FLAG:
        return Extraction((_flag(field, yes, transcript, known),), ())
    return told


def _as_told(transcript: Transcript, field: Field, known: tuple[Reading, ...]) -> Extraction:
    """The transcript understood as if the field's name stood before it, when that helps."""
    plain = extract(transcript, known)
    if any(r.field == field.name for r in plain.readings):
        return plain
    if field.kind is Kind.TEXT:
        return _words_as_name(transcript, field, known) or plain
    if field.kind is not Kind.QUANTITY:
        return plain
    led = extract(_led(transcript, field), known)
    return _without_cue(led, field) if any(r.field == field.name for r in led.readings) else plain
