"""Two states of one job to one: what another device holds of it taken into what is here.

Nothing of either side is lost. Readings: see ``recorder.archive.sharing.history``. All else that
is only there comes in; where both hold another thing of the same photo, ours stays and theirs is
told. What was removed on request on one side stays removed.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import PurePosixPath
from typing import TypeVar

from pydantic import JsonValue

from recorder.archive.sharing.history import (
    Entry,
    Names,
    aware,
    history,
    interleaved,
    placed,
    questions,
    renamed,
    told_at,
)
from recorder.archive.sharing.measurements import united
from recorder.model.event import Event
from recorder.model.job import Job, MediaFile, MediaKind, PhotoNote, Removal, to_confirm
from recorder.model.measurement import SeamMeasurement
from recorder.model.reading import Note, Reading
from recorder.model.recording import Recording
from recorder.model.stages import StageMark
from recorder.model.transcript import Transcript

LONGEST_SUFFIX_BYTES = 10

Part = TypeVar("Part")
OfFile = TypeVar("OfFile", Note, StageMark, PhotoNote, SeamMeasurement, Transcript, Recording)


@dataclass(frozen=True)
class State:
    """A job as one device holds it.

    events: of its chain. merged: the chains that it had merged in before. written_at: when the
    report was written that it came out of, which has no events.
    """

    job: Job
    events: tuple[Event, ...] = ()
    merged: tuple[tuple[Event, ...], ...] = ()
    written_at: datetime | None = None


@dataclass(frozen=True)
class Merged:
    """job: as it is now, under our id. readings: those that came in, oldest first. questions:
    those that the merge made, because both sides gave another value. waiting: all that waits for a
    person now and did not here before. parts: how many entries of what else came in. apart:
    measurements of theirs that differ from ours, which stay. removed: originals that were removed
    there on request and count as removed here from now on. words_removed: files of which the words
    were removed there and are still here.
    """

    job: Job
    readings: tuple[Entry, ...] = ()
    questions: tuple[Reading, ...] = ()
    waiting: tuple[Reading, ...] = ()
    parts: Mapping[str, int] = field(default_factory=dict)
    apart: tuple[SeamMeasurement, ...] = ()
    removed: tuple[MediaFile, ...] = ()
    words_removed: tuple[str, ...] = ()

    @property
    def news(self) -> bool:
        """Whether anything came in."""
        return bool(self.readings or self.questions or self.parts or self.apart)

    def data(self) -> dict[str, JsonValue]:
        """What the event of the merge says of it."""
        return {
            "readings": [
                {"at": entry.at.isoformat(), "reading": entry.reading.model_dump(mode="json")}
                for entry in self.readings
            ],
            "questions": [reading.model_dump(mode="json") for reading in self.questions],
            "parts": dict(self.parts),
            "removed": [media.path for media in self.removed],
            "measurements": [seam.model_dump(mode="json") for seam in self.apart],
        }


def merge(here: State, there: State) -> Merged:
    """What is here with what another device holds of the same job."""
    names = _names(here.job, there.job)
    readings, came, asked = _readings(here, there, names)
    media, removed = _media(here.job, there.job, names)
    transcripts, words_removed = _transcripts(here.job, there.job, names)
    theirs = _named(there.job.measurements, names)
    measurements, apart = united(here.job.measurements, theirs, here.events)
    without_words = {each.file for each in transcripts if not each.utterances}
    new: dict[str, tuple[object, ...]] = {
        "media": media,
        "transcripts": transcripts,
        "notes": _union(
            here.job.notes,
            (note for note in _named(there.job.notes, names) if note.file not in without_words),
        ),
        "stages": _union(here.job.stages, _named(there.job.stages, names)),
        "photos": _union(here.job.photos, _named(there.job.photos, names)),
        "measurements": measurements,
        "software": _union(here.job.software, there.job.software),
        "recordings": _recordings(here.job, there.job, names),
    }
    complete = here.job.complete or there.job.complete
    length = here.job.belt_length or there.job.belt_length  # of the card that the job began with
    job = here.job.model_copy(
        update={**new, "readings": readings, "complete": complete, "belt_length": length}
    )
    waited = to_confirm(here.job)
    return Merged(
        job=job,
        readings=came,
        questions=asked,
        waiting=tuple(doubt for doubt in to_confirm(job) if doubt not in waited),
        parts={
            name: number
            for name, part in new.items()
            if (number := _news(getattr(here.job, name), part))
        }
        | ({"complete": 1} if complete != here.job.complete else {})
        | ({"belt_length": 1} if length != here.job.belt_length else {}),
        apart=apart,
        removed=removed,
        words_removed=words_removed,
    )


def _readings(
    here: State, there: State, names: Names
) -> tuple[tuple[Reading, ...], tuple[Entry, ...], tuple[Reading, ...]]:
    """The merged history, what of it came in, and the questions in it."""
    known = told_at((here.events, *here.merged), {})
    for same, at in told_at((there.events, *there.merged), names).items():
        known[same] = min(at, known.get(same, at))
    began = min(aware(here.job.created_at), aware(there.job.created_at))
    ours = history(here.job.readings, known, here.written_at, began)
    theirs = history(
        (renamed(reading, names) for reading in there.job.readings),
        known, there.written_at, began,
    )  # fmt: skip
    held, holding = {entry.same for entry in ours}, {entry.same for entry in theirs}
    came = tuple(entry for entry in theirs if entry.same not in held)
    if not came:
        return here.job.readings, (), ()
    merged = interleaved(ours, theirs)
    asked: list[Reading] = []
    for question, *about in questions(ours, theirs):
        if question.same not in held | holding:
            merged = placed(merged, question, about)
            asked.append(question.reading)
    return tuple(entry.reading for entry in merged), came, tuple(asked)


def _names(here: Job, there: Job) -> dict[str, str]:
    """What each original of theirs is called here: as ours of the same bytes; another of that name
    gets a number.
    """
    ours = {media.sha256: media.name for media in reversed(here.media)}
    pairs = {(media.name, media.sha256) for media in here.media}
    taken = {media.name for media in here.media} | {media.name for media in there.media}
    names: dict[str, str] = {}
    for media in there.media:
        if (media.name, media.sha256) in pairs:
            continue
        if media.sha256 in ours:
            names[media.name] = ours[media.sha256]
        elif media.name in {each.name for each in here.media}:
            stem, dot, suffix = media.name.rpartition(".")
            plain = (stem, f".{suffix}") if dot and stem else (media.name, "")
            free = (f"{plain[0]} ({number}){plain[1]}" for number in itertools.count(2))
            names[media.name] = next(name for name in free if name not in taken)
            taken.add(names[media.name])
    return names


def _named(parts: Iterable[OfFile], names: Names) -> Iterator[OfFile]:
    """The parts with their files as they are called here."""
    for part in parts:
        name = names.get(part.file, part.file)
        yield part if name == part.file else part.model_copy(update={"file": name})


def _union(ours: tuple[Part, ...], theirs: Iterable[Part]) -> tuple[Part, ...]:
    """Ours, and behind them what only they have."""
    known = set(ours)
    return (*ours, *dict.fromkeys(part for part in theirs if part not in known))


def _news(ours: tuple[object, ...], merged: tuple[object, ...]) -> int:
    """How many entries of a part came in or are others now; ours stand first in it."""
    changed = sum(now != before for before, now in zip(ours, merged, strict=False))
    return changed + len(merged) - len(ours)


def _media(
    here: Job, there: Job, names: Names
) -> tuple[tuple[MediaFile, ...], tuple[MediaFile, ...]]:
    """The originals of both, and those of ours that are removed because they are so there."""
    theirs = {media.sha256: media for media in there.media}
    merged, removed = [], []
    for media in here.media:
        other = theirs.get(media.sha256, media)
        heard = media.kind is MediaKind.AUDIO  # nothing else is removed on request
        gone = _earlier(media.removed, other.removed if heard else None)
        refused = media.refused if other.refused else ""
        merged.append(media.model_copy(update={"removed": gone, "refused": refused}))
        if gone and not media.removed:
            removed.append(merged[-1])
    known, paths = {media.sha256 for media in here.media}, {media.path for media in here.media}
    for media in there.media:
        if media.sha256 not in known:
            path = PurePosixPath(media.path)
            if media.path in paths:
                suffix = path.suffix if len(path.suffix.encode()) <= LONGEST_SUFFIX_BYTES else ""
                path = path.with_name(f"{media.sha256}{suffix}")
            name = names.get(media.name, media.name)
            merged.append(media.model_copy(update={"name": name, "path": path.as_posix()}))
            paths.add(path.as_posix())
            known.add(media.sha256)
    return tuple(merged), tuple(removed)


def _earlier(one: Removal | None, other: Removal | None) -> Removal | None:
    both = [each for each in (one, other) if each]
    return min(both, key=lambda each: (each.at, each.model_dump_json()), default=None)


def _transcripts(
    here: Job, there: Job, names: Names
) -> tuple[tuple[Transcript, ...], tuple[str, ...]]:
    """The transcripts of both, and the files whose words were removed there and are still here.

    A transcript without utterances is one whose words were removed: they do not come back. Nor are
    ours removed on the word of another device: that is for a person.
    """
    without_words = {each.file for each in here.transcripts if not each.utterances}
    theirs = list(_named(there.transcripts, names))
    merged = _union(
        here.transcripts,
        (each for each in theirs if each.file not in without_words and each.utterances),
    )
    files = {each.file for each in merged}
    emptied = [each for each in theirs if not each.utterances]
    merged += tuple(each for each in emptied if each.file not in files)
    return merged, tuple(e.file for e in emptied if e.file in files - without_words)


def _recordings(here: Job, there: Job, names: Names) -> tuple[Recording, ...]:
    """One for each stretch of sound: a device that had it while it went on has less of it. Where
    they are equally long and differ, ours stays.
    """
    found = {each.file: each for each in here.recordings}
    for each in _named(there.recordings, names):
        ours = found.setdefault(each.file, each)
        if each.samples > ours.samples:
            found[each.file] = each
    return tuple(found.values())
