"""How many spoken values come out right, asked, wrong or missing, by noise.

``python -m tests.bench.speech [--set report] [--count N] [--conditions clean,15,fan5] [--text]``
reads narrations aloud with synthetic voices, without a job card, hears and understands each, and
prints per condition the share of all values that should be found that are

right and clear · right but asked · wrong and asked · WRONG AND CLEAR · missing

and how many readings fit nothing that was said: invented, and of those clear. 'silent' is wrong or
invented and clear, as a share of all readings: the promise's failure, and listed in full. 'x real'
is the time to hear and understand against the length of the sound.

``--text`` takes the written lines instead of sound. ``--speed`` measures time and memory alone.
"""

from __future__ import annotations

import argparse
import itertools
import json
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from recorder.errors import NoSpeech
from recorder.model.transcript import Transcript
from recorder.notes.extract import extract
from recorder.notes.words.vocabulary import hearing_prompt
from recorder.notes.written import from_text
from recorder.settings import SpeechSettings
from recorder.voice.transcribe import transcribe
from tests.bench import speed
from tests.bench.narrations import Narration, load
from tests.bench.plant import Condition, condition, in_plant
from tests.bench.scoring import SILENT, Counts, Judged, Outcome, judge
from tests.bench.sound_file import write
from tests.bench.voices import VOICES, Voice, narrate

_BUNDLED = SpeechSettings()
_COLUMNS = ("right", "asked", "wrong", "W+CLEAR", "missing", "invented", "I+CLEAR", "silent",
            "x real")  # fmt: skip
_SHARES = (Outcome.RIGHT_CLEAR, Outcome.RIGHT_ASKED, Outcome.WRONG_ASKED, Outcome.WRONG_CLEAR,
           Outcome.MISSING)  # fmt: skip


@dataclass(frozen=True)
class Told:
    """One narration under one condition, heard and judged. took_s: to hear and understand it."""

    condition: str
    noise: str
    voice: str
    transcript: Transcript
    judged: list[Judged]
    length_s: float
    took_s: float


def main() -> None:
    wanted = _parse()
    narrations = load(wanted.set)[: wanted.count]
    slots = sum(len(narration.truth) for narration in narrations)
    print(f"{wanted.set}: {len(narrations)} narrations, {slots} values that should be found")
    if wanted.speed:
        voices = itertools.cycle(VOICES)
        speed.measure([narrate(n.lines, next(voices), n.name) for n in narrations])
        return
    print(" " * 22 + "".join(f"{column:>9}" for column in _COLUMNS))
    told: list[Told] = []
    for name, heard in _conditions(wanted, narrations):
        told += (here := list(heard))
        _print_row(name, here)
        for one in (one for t in here for one in t.judged if one.outcome in SILENT):
            print(f"    {one.line()}")
    if wanted.details:
        _print_details(told)
    if wanted.json:
        wanted.json.write_text(json.dumps([_as_json(one) for one in told], indent=1))


def _parse() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--set", choices=("development", "report"), default="report")
    parser.add_argument("--count", type=int, help="only the first N narrations")
    parser.add_argument("--conditions", default="clean,15,10,5", help=condition.__doc__)
    parser.add_argument("--text", action="store_true", help="the written lines, no sound")
    parser.add_argument("--speed", action="store_true", help="time and memory, nothing else")
    parser.add_argument("--details", action="store_true", help="rows by field, voice and noise")
    parser.add_argument("--json", type=Path, metavar="FILE", help="every value's outcome")
    kept = "keep what was heard there, and do not hear again what lies there"
    parser.add_argument("--transcripts", type=Path, metavar="FOLDER", help=kept)
    return parser.parse_args()


def _conditions(
    wanted: argparse.Namespace, narrations: tuple[Narration, ...]
) -> Iterator[tuple[str, Iterator[Told]]]:
    if wanted.text:
        yield "text", (_read(narration) for narration in narrations)
        return
    for where in map(condition, wanted.conditions.split(",")):
        yield (
            where.name,
            (
                hear(narration, VOICES[number % len(VOICES)], where, number, wanted.transcripts)
                for number, narration in enumerate(narrations)
            ),
        )


def _read(narration: Narration) -> Told:
    began = time.monotonic()
    transcript = from_text("\n".join(narration.lines), narration.name)
    judged = judge(narration, extract(transcript).readings)
    return Told("text", "", "", transcript, judged, 0.0, time.monotonic() - began)


def hear(
    narration: Narration,
    voice: Voice,
    where: Condition,
    number: int,
    folder: Path | None,
    settings: SpeechSettings = _BUNDLED,
) -> Told:
    """Read a narration aloud in a condition, hear and judge it. ``folder``: keeps transcripts."""
    kept = folder and folder / f"{narration.name}.{where.name.replace(' ', '')}.json"
    noise = where.kind_for(number) if where.snr_db is not None else ""
    if kept and kept.is_file():
        length_s = took_s = 0.0
        transcript = Transcript.model_validate_json(kept.read_text())
    else:
        sound = in_plant(narrate(narration.lines, voice, narration.name).sound, where, number)
        with tempfile.TemporaryDirectory() as place:
            path, length_s = write(Path(place) / f"{narration.name}.wav", sound)
            began = time.monotonic()
            transcript = _transcript(path, settings)
            took_s = time.monotonic() - began
    if kept:
        kept.parent.mkdir(parents=True, exist_ok=True)
        kept.write_text(transcript.model_dump_json())
    began = time.monotonic()
    judged = judge(narration, extract(transcript).readings)
    took_s += time.monotonic() - began
    return Told(where.name, noise, voice.name, transcript, judged, length_s, took_s)


def _transcript(path: Path, settings: SpeechSettings) -> Transcript:
    try:
        return transcribe(path, settings, hearing_prompt(()))
    except NoSpeech:
        return Transcript(file=path.name, utterances=())


def _print_row(name: str, told: list[Told]) -> None:
    counts = Counts.over(one for t in told for one in t.judged)
    length_s = sum(t.length_s for t in told)
    factor = f"{sum(t.took_s for t in told) / length_s:9.2f}" if length_s else f"{'':9}"
    print(f"{name:22}"
          + "".join(f"{counts.share(outcome):9.1%}" for outcome in _SHARES)
          + f"{counts.of[Outcome.INVENTED_ASKED] + counts.of[Outcome.INVENTED_CLEAR]:9}"
          + f"{counts.of[Outcome.INVENTED_CLEAR]:9}"
          + f"{counts.of_readings(*SILENT):9.2%}{factor}", flush=True)  # fmt: skip


def _print_details(told: list[Told]) -> None:
    """Rows over all conditions together."""
    keys: tuple[tuple[str, Callable[[Told, Judged], str]], ...] = (
        ("by field", lambda _, one: one.field),
        ("by voice", lambda t, _: t.voice),
        ("by noise", lambda t, _: f"{t.condition} {t.noise}"),
    )
    for title, key in keys:
        print(f"\n{title}")
        rows: dict[str, list[Told]] = {}
        for t in told:
            for one in t.judged:
                alone = Told(t.condition, t.noise, t.voice, t.transcript, [one], 0.0, 0.0)
                rows.setdefault(key(t, one), []).append(alone)
        for name in sorted(rows):
            _print_row(name, rows[name])


def _as_json(told: Told) -> dict[str, Any]:
    return {
        "condition": told.condition,
        "noise": told.noise,
        "voice": told.voice,
        "heard": [
            [one.text, *(other.text for other in one.others)] for one in told.transcript.utterances
        ],
        "values": [asdict(one) for one in told.judged],
    }


if __name__ == "__main__":
    main()
