"""One recording or written narration to readings, without a job."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from recorder.errors import FileEmpty, FileMissing, FileTooLarge, InputRefused
from recorder.flows.progress import Progress
from recorder.model.fields import FIELDS, Level
from recorder.model.job import in_force, last_run, last_splice
from recorder.model.reading import Reading, Spoken, Standing
from recorder.model.transcript import Transcript
from recorder.notes.answer import answer
from recorder.notes.extract import Extraction, extract
from recorder.notes.words.vocabulary import hearing_prompt
from recorder.notes.written import from_text
from recorder.settings import Settings
from recorder.voice.transcribe import transcribe

LONGEST_BYTES = 1_000_000  # a day of talk; more is no narration
WRITTEN_SUFFIXES = frozenset({".txt", ".md"})


def from_file(path: Path, settings: Settings, asked: str | None, progress: Progress) -> Extraction:
    """Readings of a recording or a .txt file. ``asked``: it answers a question on that field."""
    if path.suffix.lower() in WRITTEN_SUFFIXES:
        transcript = from_text(_read(path), path.name)
    else:
        progress.stage(f"hearing {path.name}")
        transcript = transcribe(path, settings.speech, hearing_prompt(()), progress.share)
    return understand(transcript, settings, asked)


def understand(transcript: Transcript, settings: Settings, asked: str | None) -> Extraction:
    if asked is None:
        return extract(transcript, own=settings.trust)
    return answer(transcript, asked, own=settings.trust)


def _read(path: Path) -> str:
    if path.is_dir():
        raise InputRefused(path=path, detail="it is a folder; give a file")
    try:
        size = path.stat().st_size
        if size > LONGEST_BYTES:
            raise FileTooLarge(path=path, size=f"{size} bytes", limit=f"{LONGEST_BYTES} bytes")
        content = path.read_bytes()
    except FileNotFoundError as error:
        raise FileMissing(path=path) from error
    except OSError as error:
        raise InputRefused(path=path, detail=error.strerror) from error
    if not content.strip():
        raise FileEmpty(path=path)
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputRefused(path=path, detail="it is not UTF-8 text") from error


def as_json(file: str, found: Extraction) -> dict[str, Any]:
    """The object of ``seamnote extract``."""
    readings = found.readings
    return {
        "file": file,
        "fields": {name: entry(reading) for name, reading in in_force(readings).items()},
        "splices": [_splice(readings, splice) for splice in range(1, last_splice(readings) + 1)],
        "history": [
            {"field": r.field, "splice": r.splice, "run": r.run, **entry(r)} for r in readings
        ],
        "notes": [note.model_dump() for note in found.notes],
    }


def _splice(readings: tuple[Reading, ...], splice: int) -> dict[str, Any]:
    def level(wanted: Level, run: int | None = None) -> dict[str, Any]:
        held = in_force(readings, splice, run)
        return {n: entry(r) for n, r in held.items() if FIELDS[n].level is wanted}

    runs = range(1, last_run(readings, splice) + 1)
    return {
        "fields": level(Level.SPLICE),
        "runs": [{"fields": level(Level.RUN, run)} for run in runs],
    }


def entry(reading: Reading) -> dict[str, Any]:
    """One reading as JSON shows it."""
    spoken = reading.evidence if isinstance(reading.evidence, Spoken) else None
    return {
        "value": reading.value,
        "unit": reading.unit,
        "standing": reading.standing.value,
        "said": spoken.said if spoken else None,
        "start_s": spoken.start_s if spoken else None,
        "end_s": spoken.end_s if spoken else None,
        "why": reading.why,
        "as_said": reading.as_said.model_dump() if reading.as_said else None,
        "candidates": list(reading.candidates),
    }


def has_doubt(found: Extraction) -> bool:
    return any(
        reading.standing is Standing.DOUBTFUL
        for splice in range(1, last_splice(found.readings) + 1)
        for run in range(1, last_run(found.readings, splice) + 1)
        for reading in in_force(found.readings, splice, run).values()
    )
