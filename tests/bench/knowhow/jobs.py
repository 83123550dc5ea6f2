"""Light jobs of a synthetic firm: readings and measured photos, without sound and pictures.

A job of a number is the same in every run, and a larger number is a later job. In some a value is
doubtful, taken back or corrected, a few are not complete: what a person would not count either.
"""

from __future__ import annotations

import bisect
import functools
import itertools
import random
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import NamedTuple

from recorder.model.fields import FIELDS
from recorder.model.job import Job, MediaFile, MediaKind, PhotoNote
from recorder.model.measurement import Measurement, SeamMeasurement
from recorder.model.reading import Reading, Spoken, Standing, Typed
from tests.bench.archive import words
from tests.bench.knowhow import belts
from tests.bench.knowhow.belts import STABLE, Kind

FIRST, LAST = datetime(2022, 9, 1, tzinfo=UTC), datetime(2026, 11, 1, tzinfo=UTC)
DAYS = (LAST - FIRST).days
AUDIO, CARD = "narration.flac", "job.toml"
BOUND = 0.30  # a gap below is only known to be that
STEPS = {"pressure": 0.1, "dwell_time": 15.0}  # of other settings 1
FAILED = {"top_temperature": 9.0, "dwell_time": -45.0}  # what runs that fail have otherwise


class Truth(NamedTuple):
    """One press run that counts, by what the generator put in; NaN and "" for what is unsettled.

    belt: its place in ``belts.kinds``. ordinal: of the job among those of its press, from 0.
    settings: in the order of ``Kind.settings``. measured: in that of ``STABLE``.
    """

    job: str
    number: int
    splice: int
    run: int
    belt: int
    press: int
    ordinal: int
    outcome: str
    settings: tuple[float, ...]
    measured: tuple[float, ...]
    below: bool


class Draft:
    """A job that is being written down."""

    def __init__(self, dice: random.Random) -> None:
        self.dice = dice
        self.readings: list[Reading] = []
        self.photos: list[tuple[PhotoNote, SeamMeasurement]] = []

    def card(self, name: str, value: float | str) -> None:
        self._add(name, value, Standing.CONFIRMED, card=True)

    def tell(
        self, name: str, value: float | str, splice: int = 1, run: int = 1, wrong: float = 40.0
    ) -> float | str | None:
        """Say it; what counts of it in the end. Now and then a number is ``wrong`` at first, or
        doubtful in the end.
        """
        chance = self.dice.random()
        if chance < 0.05 and isinstance(value, float):
            self._add(name, value + wrong, Standing.CLEAR, splice, run)
        self._add(name, value, Standing.CLEAR, splice, run)
        if chance < 0.98:
            return value
        if isinstance(value, float):
            value += wrong
        self._add(name, value, Standing.DOUBTFUL, splice, run)
        return None

    def _add(
        self, name: str, value: float | str, standing: Standing, splice: int = 1, run: int = 1,
        card: bool = False,
    ) -> None:  # fmt: skip
        evidence = Typed(file=CARD) if card else Spoken(file=AUDIO, said=f"{name} {value}")
        self.readings.append(
            Reading(field=name, value=value, unit=FIELDS[name].unit, standing=standing,
                    evidence=evidence, splice=splice, run=run)
        )  # fmt: skip

    def photo(self, splice: int, run: int, stage: str, sizes: dict[str, float]) -> None:
        """sizes: in mm, by the name in ``SeamMeasurement``."""
        name = f"photo_{splice}_{run}_{stage}.jpg"
        gap = sizes["gap_max"]
        found = {
            size: Measurement(value=value, unit="mm", U=0.036) for size, value in sizes.items()
        }
        if gap < BOUND:
            found["gap_max"] = Measurement(value=BOUND, unit="mm", U=0.05, below=True)
        note = PhotoNote(file=name, stage=stage, splice=splice, run=run)
        self.photos.append((note, SeamMeasurement(file=name, status="measured", **found)))


def job(number: int, jobs: int) -> tuple[Job, list[Truth]]:
    """Job ``number`` (from 0) of a firm with so many, and the truth of its press runs."""
    dice = random.Random(f"know-how {number}")
    day, within = divmod(number * DAYS / jobs, 1)
    at = FIRST + timedelta(days=day, hours=5 + 12 * within, milliseconds=number % 1000)
    job_id = f"{at:%Y%m%d-%H%M%S}-{number % 65536:04x}"
    place = _chosen(dice, jobs)
    kind = belts.kinds(jobs)[place]
    press, ordinal = number % belts.presses(jobs), number // belts.presses(jobs)
    draft = Draft(dice)
    _begin(draft, number, kind, press)
    complete = dice.random() >= 0.01
    truths = [
        Truth(job_id, number, splice, run, place, press, ordinal, *of_run)
        for splice in range(1, dice.choice((1, 1, 1, 1, 2)) + 1)
        for run, of_run in enumerate(_splice(draft, splice, kind, press, ordinal, jobs), 1)
    ]
    made = Job(
        id=job_id,
        created_at=at,
        version="0.1.0",
        complete=complete,
        media=tuple(
            MediaFile(name=note.file, path=f"media/{note.file}", kind=MediaKind.PHOTO,
                      sha256="0" * 64, size_bytes=1)
            for note, _ in draft.photos
        ),
        readings=tuple(draft.readings),
        photos=tuple(note for note, _ in draft.photos),
        measurements=tuple(seam for _, seam in draft.photos),
    )  # fmt: skip
    return made, truths if complete else []


def press_name(press: int) -> str:
    return f"Press {press:03d}"


def _begin(draft: Draft, number: int, kind: Kind, press: int) -> None:
    dice = draft.dice
    customer = words.CUSTOMERS[min(int(dice.paretovariate(0.8)) - 1, 99)]
    material = str(kind.belt.belt_material)
    written = dice.choice((material, material, material.upper(), material.replace(" ", "  ")))
    name = press_name(press)
    draft.card("job_number", f"K{100000 + number}")
    draft.card("customer", customer)
    for field, value in kind.belt.told().items():
        draft.card(field, written if field == "belt_material" else value)
    draft.card("technician", f"{words.PLACES[dice.randrange(8)]} {words.SURNAMES[3]}")
    draft.card("template", f"T{dice.randrange(20):02d}")
    draft.card("press", dice.choice((name, name, name.lower(), f"{name} ")))


Run = tuple[str, tuple[float, ...], tuple[float, ...], bool]


def _splice(
    draft: Draft, splice: int, kind: Kind, press: int, ordinal: int, jobs: int
) -> Iterator[Run]:
    """The last fields of ``Truth`` of each run."""
    dice = draft.dice
    good = dice.random() < kind.share
    outcome = "accepted" if good else dice.choice(("rework", "rework", "rejected"))
    if outcome == "rework" and dice.random() < 0.6:
        settings, measured, below = _pressed(draft, splice, 1, kind, False, press, ordinal, jobs)
        yield "rework", settings, measured, below
        good = dice.random() < 0.8
        outcome = "accepted" if good else "rejected"
        settings, measured, below = _pressed(draft, splice, 2, kind, good, press, ordinal, jobs)
    else:
        settings, measured, below = _pressed(draft, splice, 1, kind, good, press, ordinal, jobs)
    settled = draft.tell("outcome", outcome, splice)
    yield str(settled or ""), settings, measured, below


def _pressed(
    draft: Draft, splice: int, run: int, kind: Kind, good: bool, press: int, ordinal: int, jobs: int
) -> tuple[tuple[float, ...], tuple[float, ...], bool]:
    dice = draft.dice
    counted = []
    for name, usual in kind.settings.items():
        step = STEPS.get(name, 1.0)
        value = usual if good else usual + FAILED.get(name, 0.0)
        if dice.random() < 0.3:
            value += dice.choice((-2, -1, 1, 2)) * step
        kept = draft.tell(name, round(value, 6), splice, run, wrong=13 * step)
        counted.append(float("nan") if kept is None else float(kept))
    measured = {name: dice.gauss(*about) for name, about in STABLE.items()}
    moved = belts.shift(press)
    if moved and ordinal >= belts.shifted_from(press, jobs):
        name, way = moved
        measured[name] += way * STABLE[name][1]
    kept = draft.tell("cycle_time", measured["cycle_time"], splice, run)
    measured["cycle_time"] = float("nan") if kept is None else float(kept)
    width = kind.belt.belt_width or 0.0
    measured["edge_offset"] = abs(measured["edge_offset"])
    sizes = {
        "gap_max": measured["finger_gap"],
        "splice_width": width + measured["width_error"],
        "edge_offset": measured["edge_offset"],
    }
    if dice.random() < 0.1:
        draft.photo(splice, run, "before", sizes | {"gap_max": 4.0})
    draft.photo(splice, run, "after", sizes)
    below = measured["finger_gap"] < BOUND
    measured["finger_gap"] = BOUND if below else measured["finger_gap"]
    return tuple(counted), tuple(measured.values()), below


@functools.lru_cache(maxsize=4)
def _weights(jobs: int) -> list[float]:
    return list(itertools.accumulate(kind.weight for kind in belts.kinds(jobs)))


def _chosen(dice: random.Random, jobs: int) -> int:
    """The place of a belt, the frequent ones more often."""
    weights = _weights(jobs)
    return bisect.bisect(weights, dice.random() * weights[-1])
