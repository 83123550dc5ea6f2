"""Synthetic jobs of realistic content and size, each with the truth about it.

A job of a number is the same in every run, and a larger number is a later job. It has the parts of
what the program writes of a narrated job: utterances in four hearings with times and probabilities,
readings with corrections, measured photos with the gap all along the seam. How often each part
occurs is common practice, no source.
"""

from __future__ import annotations

import functools
import hashlib
import itertools
import random
import unicodedata
from datetime import UTC, datetime, timedelta, timezone
from typing import NamedTuple

from recorder.model.fields import FIELDS, Kind
from recorder.model.job import Job, MediaFile, MediaKind, PhotoNote
from recorder.model.measurement import GapReading, Measurement, Place, SeamMeasurement
from recorder.model.quantity import Quantity
from recorder.model.reading import Note, Reading, Role
from recorder.model.transcript import Hearing, Transcript, Utterance, Word
from tests.bench.archive import words
from tests.bench.archive.drafts import AUDIO, CARD, Draft

FIRST = datetime(2016, 11, 1, 6, tzinfo=UTC)
YEARS = timedelta(days=3652)
ZONE = timezone(timedelta(hours=1))
OTHER_HEARINGS = ("in words", "without hint", "slower")
PHOTOS_MEASURED = 0.15  # of the splices
GAP_READINGS = 280  # of a photo of the demo job there are about so many
OUTCOMES = ("accepted", "accepted", "accepted", "rework", "rejected")


class Truth(NamedTuple):
    """What is to be found of one job, by what the generator put in.

    terms: every word of its text, without case and accents, and the parts of what has hyphens.
    values: field, low, high of each value in force or measured.
    """

    id: str
    at: float
    terms: frozenset[str]
    values: list[tuple[str, float, float]]
    outcome: str
    readings: int


def job(number: int, jobs: int, media_bytes: int = 0) -> tuple[Job, Truth, dict[str, bytes]]:
    """Job ``number`` (from 0) of an archive of ``jobs``, its truth, and its originals by their
    path in the folder; each is padded by ``media_bytes``.
    """
    dice = random.Random(f"job {number}")
    at = FIRST + (number + dice.random() * 0.9) * YEARS / jobs
    at = at.replace(microsecond=dice.randrange(1000) * 1000).astimezone(ZONE)
    job_id = f"{at.astimezone(UTC):%Y%m%d-%H%M%S}-{number % 65536:04x}"
    draft = Draft(dice)
    _before(draft, number)
    seams = [_splice(draft, splice) for splice in range(1, dice.choice((1, 1, 1, 2, 2, 3)) + 1)]
    draft.tell("test_run", dice.choice(("ok", "ok", "ok", "not_ok")))
    fillers = [_filler(dice) for _ in range(dice.randint(6, 20))]
    originals = _originals(job_id, [seam.file for seam in seams], dice, media_bytes)
    made = Job(
        id=job_id,
        created_at=at,
        version="0.1.0",
        complete=True,
        media=tuple(originals),
        transcripts=(_transcript(_interleaved(draft.said, fillers), dice),),
        readings=tuple(draft.readings),
        notes=tuple(Note(text=text, file=AUDIO, start_s=9.5, end_s=12.0) for text in fillers[:3]),
        photos=tuple(
            PhotoNote(file=seam.file, caption="after pressing", stage="after", splice=splice)
            for splice, seam in enumerate(seams, 1)
        ),
        measurements=tuple(seams),
    )
    truth = _truth(made, draft.in_force, [*draft.said, *fillers])
    return made, truth, {media.path: content for media, content in originals.items()}


def _interleaved(told: list[str], fillers: list[str]) -> list[str]:
    both = itertools.zip_longest(told, fillers)
    return [text for pair in both for text in pair if text is not None]


def _originals(
    job_id: str, photos: list[str], dice: random.Random, padding: int
) -> dict[MediaFile, bytes]:
    kinds = {AUDIO: MediaKind.AUDIO, CARD: MediaKind.CARD} | dict.fromkeys(photos, MediaKind.PHOTO)
    found = {}
    for name, kind in kinds.items():
        content = f"{name} of {job_id}\n".encode() + dice.randbytes(padding)
        sha256 = hashlib.sha256(content).hexdigest()
        path = f"media/{sha256[:12]}_{name}"
        size = len(content)
        media = MediaFile(name=name, path=path, kind=kind, sha256=sha256, size_bytes=size)
        found[media] = content
    return found


def _before(draft: Draft, number: int) -> None:
    """What the job card and the first words say."""
    dice = draft.dice
    customer = words.CUSTOMERS[min(int(dice.paretovariate(0.6)) - 1, len(words.CUSTOMERS) - 1)]
    draft.card("job_number", f"{dice.choice('JKS')}{100000 + number}")
    draft.card("customer", customer)
    draft.card("site", f"{customer.split()[0]}, packing hall {dice.randint(1, 9)}")
    draft.card("technician", f"{dice.choice(words.PLACES)} {dice.choice(words.SURNAMES[:40])}")
    draft.card("belt_material", f"TPU {dice.choice(words.IDENTIFIERS)}")
    draft.card("belt_width", float(dice.randrange(20, 1200, 10)))
    draft.card("belt_thickness", dice.randrange(8, 60) / 10)
    draft.card("guide_profile", dice.choice(("flat", "flat", "v_guided", "notched_v_guided")))
    draft.card("top_temperature", float(dice.randrange(150, 190)), Role.ASKED)
    draft.tell("isolation_confirmed", True)
    draft.tell("conveyor", f"{dice.choice(('outfeed', 'infeed', 'incline'))} {dice.randint(1, 99)}")
    draft.tell("belt_serial", f"BS-{number * 7919 % 1000003:06d}")
    draft.tell("press", f"P{dice.randint(1, 12)}")
    draft.tell("ambient_temperature", float(dice.randrange(2, 38)))


def _splice(draft: Draft, splice: int) -> SeamMeasurement:
    """One splice with its runs; what its photo gave."""
    dice = draft.dice
    draft.tell("template", f"T{dice.choice((20, 30, 40))}-{dice.choice((8, 10, 12))}", splice)
    for run in range(1, dice.choice((1, 1, 1, 2)) + 1):
        psi = float(dice.randrange(15, 50))
        bar = round(psi * 0.0689475729, 6)
        draft.tell("pressure", bar, splice, run, as_said=Quantity(value=psi, unit="psi"))
        draft.tell("preheat_temperature", float(dice.randrange(60, 120)), splice, run)
        draft.tell("top_temperature", round(dice.gauss(172, 6), 0), splice, run)
        draft.tell("bottom_temperature", round(dice.gauss(168, 6), 0), splice, run)
        draft.tell("dwell_time", float(dice.randrange(60, 400, 5)), splice, run)
        draft.tell("cool_down_temperature", float(dice.randrange(40, 71)), splice, run)
        if dice.random() < 0.2:
            draft.confirm("top_temperature", splice, run)
    draft.tell("bubbles", dice.random() < 0.1, splice)
    draft.tell("outcome", dice.choice(OUTCOMES), splice)
    return _seam(dice, splice)


def _seam(dice: random.Random, splice: int) -> SeamMeasurement:
    """Measured, or refused as most photos of a hurried job are, so that the archive fits a disk."""
    name = f"photo_{splice}_after.jpg"
    if dice.random() >= PHOTOS_MEASURED:
        return SeamMeasurement(file=name, status="refused", reason="no card found in the photo")
    gap = dice.random() ** 2 * 1.2
    return SeamMeasurement(
        file=name,
        status="measured",
        gap_max=Measurement(value=gap, unit="mm", U=0.036, below=gap < 0.1),
        gap_mean=Measurement(value=gap * 0.8, unit="mm", U=0.02),
        gap_profile=_profile(),
        edge_offset=Measurement(value=dice.random() * 0.6, unit="mm", U=0.06),
        scale_px_per_mm=14.713385010302293,
        overlay=f"derived/{name}_measured.jpg",
    )


@functools.cache
def _profile() -> tuple[GapReading, ...]:
    """The same for all photos, as nobody looks for it."""
    dice = random.Random("profile")
    return tuple(
        GapReading(
            s_mm=at * 0.75 + dice.random() / 9,
            at=Place(
                x_mm=dice.uniform(-40, 40),
                y_mm=dice.uniform(-40, 40),
                px=(dice.uniform(0, 4000), dice.uniform(0, 3000)),
            ),
            flank=1 + at // 20,
            gap=Measurement(value=dice.random(), unit="mm", U=0.02 + dice.random() / 100),
        )
        for at in range(GAP_READINGS)
    )


def _filler(dice: random.Random) -> str:
    count = min(4 + int(dice.expovariate(0.2)), 18)
    return " ".join(dice.choices(words.SPOKEN, cum_weights=words.WEIGHTS, k=count))


def _transcript(said: list[str], dice: random.Random) -> Transcript:
    utterances, clock_s = [], 1.5
    for text in said:
        heard = []
        for word in f"{text},".split():
            end_s = round(clock_s + 0.28, 2)
            heard.append(
                Word(text=word, start_s=clock_s, end_s=end_s, probability=_probability(dice))
            )
            clock_s = end_s
        clock_s = round(clock_s + 2.1, 2)
        heard_words = tuple(heard)
        utterances.append(
            Utterance(
                words=heard_words,
                others=tuple(Hearing(way=way, words=heard_words) for way in OTHER_HEARINGS),
                start_s=heard_words[0].start_s,
                end_s=heard_words[-1].end_s,
                no_speech=0.0123,
            )
        )
    return Transcript(
        file=AUDIO, utterances=tuple(utterances), duration_s=clock_s, model="synthetic"
    )


def _probability(dice: random.Random) -> float:
    return round(1 - dice.random() ** 3, 4)


def _truth(made: Job, in_force: dict[tuple[str, int, int], Reading], said: list[str]) -> Truth:
    values, lines = [], [made.id, *said]
    for (name, _, _), reading in in_force.items():
        if FIELDS[name].kind in (Kind.TEXT, Kind.CHOICE):
            lines.append(str(reading.value))
        elif not isinstance(reading.value, str):
            values.append((name, float(reading.value), float(reading.value)))
    for seam in made.measurements:
        for name, found in (("finger_gap", seam.gap_max), ("edge_offset", seam.edge_offset)):
            if found:
                values.append((name, 0.0 if found.below else found.value, found.value))
    lines += [media.name for media in made.media]
    lines += [photo.caption for photo in made.photos]
    last = max(splice for name, splice, _ in in_force if name == "outcome")
    return Truth(
        id=made.id,
        at=made.created_at.timestamp(),
        terms=frozenset(term for line in lines for word in line.split() for term in terms(word)),
        values=values,
        outcome=str(in_force["outcome", last, 1].value),
        readings=len(made.readings),
    )


@functools.lru_cache(maxsize=100_000)
def terms(word: str) -> tuple[str, ...]:
    """A word as it can be looked for: without case and accents, whole and, with hyphens or dots in
    it, also by its parts.
    """
    plain = "".join(c for c in unicodedata.normalize("NFD", word) if not unicodedata.combining(c))
    parts = "".join(c if c.isalnum() else " " for c in plain.lower()).split()
    return tuple(dict.fromkeys([*parts, " ".join(parts)])) if parts else ()
