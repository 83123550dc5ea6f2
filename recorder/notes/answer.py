"""The words as the answer to a question about one field: "yes", "no, one seventy two", "later"."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from recorder.model.calibration import Calibration
from recorder.model.fields import FIELDS, Field, Kind, Level
from recorder.model.reading import Note, Reading, Role, Spoken, Standing
from recorder.model.transcript import Transcript, Utterance
from recorder.notes.extract import Extraction
from recorder.notes.fields.mentions import Mention
from recorder.notes.fields.slot import Told
from recorder.notes.hearing.sameness import same
from recorder.notes.hearing.trust import calibration_of
from recorder.notes.narration import NONE_OWN, Narration
from recorder.notes.place import Place
from recorder.notes.reconcile import corrects, reconcile
from recorder.notes.short_answers import yes_or_no
from recorder.notes.typed import known_field


def answer(
    transcript: Transcript,
    question: Reading | str,
    known: tuple[Reading, ...] = (),
    own: Mapping[str, Calibration] = NONE_OWN,
) -> Extraction:
    """Readings that the words give as the answer to a question about one field.

    ``question``: the reading that is to be confirmed, or the name of a field that has no value
    yet. "Yes" confirms; a value replaces; a bare number takes the field's unit when only one is
    likely. What gives no value ("later", "no") becomes a note. Raises UnknownField.
    """
    asked = question_of(question, Place.after(known))
    if asked.reading is not None and asked.reading not in known:
        known = (*known, asked.reading)
    yes = yes_or_no(transcript.utterances)
    if yes is not None and asked.takes_yes_or_no:
        return by_yes_or_no(asked, yes, evidence_of(transcript.file, transcript.utterances))
    calibration = calibration_of(transcript.model, own)
    narration = Narration(transcript.file, known, calibration, asked.told, asked.place)
    for utterance in transcript.utterances:
        narration.hear(utterance)
    narration.end()
    readings = reconcile(known, tuple(narration.readings))
    return Extraction(
        tuple(asked.restated(reading) for reading in readings),
        tuple(narration.notes),
        tuple(narration.stages),
        tuple(narration.signals),
    )


@dataclass(frozen=True)
class Question:
    """field: that is asked for. reading: the one to be confirmed, None for a field without a
    value. place: the splice and run that are meant.
    """

    field: Field
    reading: Reading | None
    place: Place

    @property
    def told(self) -> Told:
        """What an answer builds on."""
        quantity = self.field.kind is Kind.QUANTITY
        pending = Mention(((self.field.name,),), -1, -1) if quantity else None
        return Told(pending=pending, asked=self.field.name)

    @property
    def takes_yes_or_no(self) -> bool:
        return self.reading is not None or self.field.kind is Kind.FLAG

    def restated(self, reading: Reading) -> Reading:
        """The same value told once more, and told well, is a yes."""
        asked = self.reading
        if asked is None or reading.field != asked.field or not same(reading, asked):
            return reading
        if reading.standing is not Standing.CLEAR:
            return reading
        return reading.model_copy(update={"standing": Standing.CONFIRMED, "why": "told once more"})


def question_of(question: Reading | str, here: Place) -> Question:
    """``here``: where the job is, for a field that has no value yet. Raises UnknownField."""
    if not isinstance(question, Reading):
        return Question(known_field(question), None, here)
    place = Place(question.splice, question.run, begun=True, pressed=True)
    return Question(FIELDS[question.field], question, place)


def by_yes_or_no(question: Question, yes: bool, said: Spoken) -> Extraction:
    """What a bare yes or no makes of the reading, or of a finding that has no value."""
    asked, field, place = question.reading, question.field, question.place
    if asked is None:
        reading = Reading(
            field=field.name,
            value=yes,
            standing=Standing.CONFIRMED,
            evidence=said,
            splice=1 if field.level is Level.JOB else place.splice,
            run=place.run if field.level is Level.RUN else 1,
        )
        return Extraction((reading,), ())
    if yes:
        update = {"standing": Standing.CONFIRMED, "why": "", "candidates": (), "evidence": said}
        return Extraction((asked.model_copy(update={**update, "role": Role.USED}),), ())
    if isinstance(asked.value, bool):
        # "No" may deny the reading or name the finding, so the opposite is asked once more.
        update = {
            "value": not asked.value,
            "standing": Standing.DOUBTFUL,
            "why": corrects(asked.value, asked.field) + "; only 'no' was said",
            "candidates": (asked.value,),
            "evidence": said,
        }
        return Extraction((asked.model_copy(update=update),), ())
    note = Note(text=said.said, file=said.file, start_s=said.start_s, end_s=said.end_s)
    return Extraction((), (note,))


def evidence_of(file: str, utterances: Sequence[Utterance]) -> Spoken:
    """All their words."""
    said = [word for utterance in utterances for word in utterance.words]
    return Spoken(
        file=file,
        said=" ".join(word.text for word in said),
        start_s=said[0].start_s if said else None,
        end_s=said[-1].end_s if said else None,
    )
