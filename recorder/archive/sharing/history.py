"""Two histories of the readings of one job to one, the same on both devices.

Both began alike; then each device added what it heard and what its people said. In the merged
history every reading of either side stands once, those of each side in their own order, and among
the two sides the earlier told first. So it is the same whoever merges, and merging it once more
changes nothing.
"""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime
from typing import NamedTuple

from pydantic import JsonValue, ValidationError

from recorder.model.event import Event, What
from recorder.model.job import in_force
from recorder.model.reading import Reading, Standing, Typed, show_value

_DIFFER = "two devices differ"

Names = Mapping[str, str]  # name of an original there -> its name here


class Same(NamedTuple):
    """By what a reading of one history is known in another. text: its JSON. number: 1 for the
    first reading of that text, 2 for the second.
    """

    text: str
    number: int


class Entry(NamedTuple):
    """A reading in a history. at: when it was told."""

    reading: Reading
    same: Same
    at: datetime

    @property
    def turn(self) -> tuple[datetime, Same]:
        """What is told at one moment stands in an order that both devices find."""
        return self.at, self.same


def renamed(reading: Reading, names: Names) -> Reading:
    """The reading with its file as it is called here."""
    file = reading.evidence.file
    if file is None or names.get(file, file) == file:
        return reading
    evidence = reading.evidence.model_copy(update={"file": names[file]})
    return reading.model_copy(update={"evidence": evidence})


def told_at(chains: Iterable[Sequence[Event]], names: Names) -> dict[Same, datetime]:
    """When each reading was told first, as the events of several chains know it.

    A chain may be anybody's: what in it is no reading is passed over.
    """
    found: dict[Same, datetime] = {}
    for chain in chains:
        numbers: Counter[str] = Counter()
        for at, values in _readings_in(chain):
            try:
                text = renamed(Reading.model_validate(values), names).model_dump_json()
            except ValidationError:
                continue
            numbers[text] += 1
            same = Same(text, numbers[text])
            found[same] = min(at, found.get(same, at))
    return found


def _readings_in(chain: Sequence[Event]) -> Iterable[tuple[datetime, JsonValue]]:
    for event in chain:
        if event.what is not What.MERGED:
            if "reading" in event.data:
                yield event.at, event.data["reading"]
            continue
        came = event.data.get("readings")
        for each in came if isinstance(came, list) else ():
            if isinstance(each, dict) and (at := _moment(each.get("at"))):
                yield at, each.get("reading")


def _moment(value: JsonValue) -> datetime | None:
    try:
        return aware(datetime.fromisoformat(value)) if isinstance(value, str) else None
    except ValueError:
        return None


def history(
    readings: Iterable[Reading], known: Mapping[Same, datetime], otherwise: datetime | None,
    began: datetime,
) -> list[Entry]:  # fmt: skip
    """The readings with the time of each.

    ``known`` is what the events say. Without them a typed reading tells its time itself; then
    ``otherwise`` holds, and without it the time of the reading before, or ``began``.
    """
    entries: list[Entry] = []
    numbers: Counter[str] = Counter()
    last = aware(began)
    for reading in readings:
        text = reading.model_dump_json()
        numbers[text] += 1
        same = Same(text, numbers[text])
        told = reading.evidence.at if isinstance(reading.evidence, Typed) else None
        last = known.get(same) or (aware(told) if told else otherwise or last)
        entries.append(Entry(reading, same, last))
    return entries


def aware(at: datetime) -> datetime:
    """A time without zone counts as UTC, so that every device understands it alike."""
    return at if at.tzinfo else at.replace(tzinfo=UTC)


def interleaved(ours: Sequence[Entry], theirs: Sequence[Entry]) -> list[Entry]:
    """Both histories in one, each reading once.

    Whose turn it is stands at the head of every history that holds it; of two such readings the
    earlier told goes first. Where the two have the same readings in opposite order, ours holds: a
    history on disk only grows.
    """
    left, right = deque(ours), deque(theirs)
    held, holding = ({entry.same for entry in side} for side in (left, right))
    merged: list[Entry] = []
    early: set[Same] = set()  # shared readings that ours had before theirs came to them
    while left and right:
        ours_next, theirs_next = left[0], right[0]
        waits = ours_next.same in holding
        if theirs_next.same in early:
            right.popleft()
        elif ours_next.same == theirs_next.same:
            merged.append(left.popleft())
            right.popleft()
        elif theirs_next.same in held:
            merged.append(left.popleft())
            early |= {ours_next.same} if waits else set()
        elif waits or theirs_next.turn < ours_next.turn:
            merged.append(right.popleft())
        else:
            merged.append(left.popleft())
    return [*merged, *left, *(entry for entry in right if entry.same not in early)]


def questions(ours: Sequence[Entry], theirs: Sequence[Entry]) -> list[tuple[Entry, Entry, Entry]]:
    """What both sides answered differently after they had parted: a doubtful reading for each,
    behind the two readings that it is about.

    It is made of these two alone, so that both devices ask the same.
    """
    ours, theirs = ([e for e in side if not _is_question(e)] for side in (ours, theirs))
    here, there = ({entry.same for entry in side} for side in (ours, theirs))
    alone_here = _by_place(entry for entry in ours if entry.same not in there)
    alone_there = _by_place(entry for entry in theirs if entry.same not in here)
    all_here, all_there = _by_place(ours), _by_place(theirs)
    asked = []
    for place in sorted(alone_here.keys() & alone_there.keys()):
        if _holding(all_here[place]).same == _holding(all_there[place]).same:
            continue  # both have settled it since
        pair = _holding(alone_here[place]), _holding(alone_there[place])
        if _differ(*pair):
            older, newer = sorted(pair, key=lambda entry: entry.turn)
            asked.append((_question(older, newer), older, newer))
    return asked


def placed(merged: Sequence[Entry], question: Entry, about: Sequence[Entry]) -> list[Entry]:
    """The merged history with a question in its turn, behind the readings that it is about."""
    asked_of = {entry.same for entry in about}
    start = 1 + max(n for n, entry in enumerate(merged) if entry.same in asked_of)
    while start < len(merged) and merged[start].turn < question.turn:
        start += 1
    return [*merged[:start], question, *merged[start:]]


def _place(reading: Reading) -> tuple[str, int, int, str]:
    """What a reading is a value of."""
    return reading.field, reading.splice, reading.run, reading.role


def _by_place(entries: Iterable[Entry]) -> dict[tuple[str, int, int, str], list[Entry]]:
    found: dict[tuple[str, int, int, str], list[Entry]] = {}
    for entry in entries:
        found.setdefault(_place(entry.reading), []).append(entry)
    return found


def _holding(entries: Sequence[Entry]) -> Entry:
    """The one of the readings of one place that is in force; the last one where a person withdrew
    what was.
    """
    first = entries[0].reading
    chosen = in_force(
        tuple(entry.reading for entry in entries), first.splice, first.run, first.role
    ).get(first.field)
    if chosen is None:
        return entries[-1]
    return next(entry for entry in reversed(entries) if entry.reading is chosen)


def _differ(one: Entry, other: Entry) -> bool:
    """Whether a person must choose. What was only doubtful on one side is settled by what a
    person of the other side confirmed, and asked already where it is the newer one.
    """
    standings = {one.reading.standing, other.reading.standing}
    return standings != {Standing.CONFIRMED, Standing.DOUBTFUL} and _shown(one) != _shown(other)


def _shown(entry: Entry) -> str:
    return show_value(entry.reading.field, entry.reading.value).casefold()


def _is_question(entry: Entry) -> bool:
    doubtful = entry.reading.standing is Standing.DOUBTFUL
    return doubtful and entry.reading.why.startswith(_DIFFER)


def _question(older: Entry, newer: Entry) -> Entry:
    """The value of the confirmed one first, else of the newer one."""
    told = ", ".join(
        f"{show_value(each.reading.field, each.reading.value)} at "
        f"{each.at.isoformat(timespec='seconds')}"
        for each in (older, newer)
    )
    by_weight = sorted(
        (newer, older), key=lambda entry: entry.reading.standing is not Standing.CONFIRMED
    )
    first, second = (entry.reading for entry in by_weight)
    reading = first.model_copy(
        update={
            "standing": Standing.DOUBTFUL,
            "evidence": Typed(at=newer.at),
            "why": f"{_DIFFER}: {told}",
            "candidates": (second.value,),
        }
    )
    return Entry(reading, Same(reading.model_dump_json(), 1), newer.at)
