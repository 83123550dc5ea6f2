"""How the tests tell and hear things."""

from __future__ import annotations

from recorder.model.calibration import Calibration
from recorder.model.job import in_force
from recorder.model.reading import Reading, Role, Standing, Typed
from recorder.model.transcript import Hearing, Transcript, Utterance, Word
from recorder.notes.extract import Extraction, extract
from recorder.notes.typed import typed_reading
from recorder.notes.written import from_text

Value = bool | float | str


def told(text: str, known: tuple[Reading, ...] = ()) -> Extraction:
    """A written narration, understood."""
    return extract(from_text(text, "told.txt"), known)


def states(text: str, known: tuple[Reading, ...] = ()) -> dict[str, tuple[Value, Standing]]:
    """Value and standing of each field in force after a written narration."""
    return {
        name: (_rounded(reading.value), reading.standing)
        for name, reading in in_force(told(text, known).readings).items()
    }


def values(text: str) -> dict[str, Value]:
    return {name: value for name, (value, _) in states(text).items()}


def _rounded(value: Value) -> Value:
    return round(value, 4) if isinstance(value, float) else value


def utterance(
    first: str, second: str | None = None, probability: float = 0.95, start_s: float = 0.0
) -> Utterance:
    """Heard speech: half a second a word. ``second``: the second hearing, '=' for the same."""
    heard_twice = first if second == "=" else second or ""
    return Utterance(
        words=_words(first, probability, start_s),
        others=(Hearing(way="in words", words=said),)
        if (said := _words(heard_twice, probability, start_s))
        else (),
        start_s=start_s,
        end_s=start_s + 0.5 * len(first.split()),
    )


def _words(text: str, probability: float, start_s: float) -> tuple[Word, ...]:
    return tuple(
        Word(
            text=word,
            start_s=start_s + 0.5 * i,
            end_s=start_s + 0.5 * i + 0.4,
            probability=probability,
        )
        for i, word in enumerate(text.split())
    )


def heard(
    *utterances: Utterance, known: tuple[Reading, ...] = (), trust: Calibration | None = None
) -> Extraction:
    """``trust``: in the model that heard it, when not the one that ships."""
    transcript = Transcript(file="heard.wav", utterances=utterances, model="heard")
    return extract(transcript, known, {"heard": trust} if trust else {})


def card(
    used: dict[str, str] | None = None, asked: dict[str, str] | None = None
) -> tuple[Reading, ...]:
    """Readings as a job card gives them."""
    at = Typed(file="job.toml")
    return (
        *(typed_reading(name, text, at) for name, text in (used or {}).items()),
        *(typed_reading(name, text, at, Role.ASKED) for name, text in (asked or {}).items()),
    )
