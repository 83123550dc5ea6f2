"""The words as the answer to a question about one field: "yes", "no, one seventy two", "later"."""

from __future__ import annotations

from collections.abc import Mapping

from recorder.model.calibration import Calibration
from recorder.model.fields import FIELDS, Field, Kind, Level
from recorder.model.reading import Note, Reading, Role, Spoken, Standing
from recorder.model.transcript import Transcript, Word
from recorder.notes.extract import NONE_OWN, Extraction, Narration
from recorder.notes.fields.mentions import Mention
from recorder.notes.fields.scope import fillers
from recorder.notes.fields.slot import Told
from recorder.notes.hearing.sameness import same
from recorder.notes.hearing.trust import calibration_of
from recorder.notes.place import Place
from recorder.notes.reconcile import corrects, reconcile
from recorder.notes.typed import known_field
from recorder.notes.words.lexer import Sort, tokens_of
from recorder.notes.words.vocabulary import words

# Of a word of yes or no on which all hearings agree. A voice that says "correct" clearly is heard
# with 0.1 to 0.4 (ten synthetic voices); less is what a recogniser makes of a noise.
_HARDLY_HEARD = 0.1


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
    asked = question if isinstance(question, Reading) else None
    field = FIELDS[asked.field] if asked else known_field(str(question))
    if asked is not None and asked not in known:
        known = (*known, asked)
    yes = yes_or_no(transcript)
    if yes is not None and (asked is not None or field.kind is Kind.FLAG):
        return _by_yes_or_no(transcript, field, asked, yes, known)
    place = Place.after(known)
    if asked is not None:
        place = Place(asked.splice, asked.run, begun=True, pressed=True)
    pending = Mention(((field.name,),), -1, -1) if field.kind is Kind.QUANTITY else None
    told = Told(pending=pending, asked=field.name)
    calibration = calibration_of(transcript.model, own)
    narration = Narration(transcript.file, known, calibration, told, place)
    for utterance in transcript.utterances:
        narration.hear(utterance)
    narration.end()
    readings = reconcile(known, tuple(narration.readings))
    return Extraction(
        tuple(_restated(r, asked) if asked else r for r in readings),
        tuple(narration.notes),
        tuple(narration.stages),
        tuple(narration.signals),
    )


def _restated(reading: Reading, asked: Reading) -> Reading:
    """The same value told once more, and told well, is a yes."""
    if reading.field != asked.field or reading.standing is not Standing.CLEAR:
        return reading
    if not same(reading, asked):
        return reading
    return reading.model_copy(update={"standing": Standing.CONFIRMED, "why": "told once more"})


def yes_or_no(transcript: Transcript) -> bool | None:
    """What a bare yes or no says; None for anything else, when the hearings differ, or when a word
    of it was hardly heard: a yes makes a value as sure as it can be.
    """
    said = [word.probability for utterance in transcript.utterances for word in utterance.words]
    if any(probability is not None and probability < _HARDLY_HEARD for probability in said):
        return None
    first = [_bare(utterance.words) for utterance in transcript.utterances]
    if not first or None in first or len(set(first)) != 1:
        return None
    others = [_bare(h.words) for u in transcript.utterances for h in u.others]
    return first[0] if all(said == first[0] for said in others) else None


def _bare(said: tuple[Word, ...]) -> bool | None:
    tokens = tokens_of(" ".join(word.text for word in said))
    text = [token.text for token in tokens if token.sort is not Sort.SIGN]
    for value, key in ((True, "yes"), (False, "no")):
        phrases = words("answers", key)
        if " ".join(text) in phrases or " ".join(dict.fromkeys(text)) in phrases:
            return value
        single = {phrase for phrase in phrases if " " not in phrase}
        if text and text[0] in single and all(t in single | fillers() for t in text):
            return value
    return None


def _by_yes_or_no(
    transcript: Transcript,
    field: Field,
    asked: Reading | None,
    yes: bool,
    known: tuple[Reading, ...],
) -> Extraction:
    said = _evidence(transcript)
    if asked is None:
        place = Place.after(known)
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


def _evidence(transcript: Transcript) -> Spoken:
    said = [word for utterance in transcript.utterances for word in utterance.words]
    return Spoken(
        file=transcript.file,
        said=" ".join(word.text for word in said),
        start_s=said[0].start_s if said else None,
        end_s=said[-1].end_s if said else None,
    )
