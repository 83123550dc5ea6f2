"""A transcript to readings and notes: the narrated path of this package.

Each utterance is understood, placed at a splice and a press run, judged against its second
hearing, and written down; what is left over becomes a note.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import accumulate

from recorder.model.fields import FIELDS, Kind, Level
from recorder.model.quantity import Quantity
from recorder.model.reading import Note, Reading, Spoken, Standing, Typed, show_value
from recorder.model.transcript import Transcript, Utterance, Word
from recorder.model.units import UNITS
from recorder.notes.place import Place, place_of
from recorder.notes.reconcile import Heard, Standings, changes, corrects, reconcile
from recorder.notes.remarks import remarks_of
from recorder.notes.retraction import denies_before, denies_itself, misplaced, taken_by, undoes
from recorder.notes.slot import Slot, Told
from recorder.notes.trust import doubts_of, equal, on_card, said_as, same
from recorder.notes.understand import Understood, understand
from recorder.notes.values import Habit, resolve

_FARTHEST_BACK = 60  # readings; what was told before them is not meant by "forget the pressure"


@dataclass(frozen=True)
class Extraction:
    """readings: new ones in the order told; superseded ones stay. notes: all that was not
    understood, with its place.
    """

    readings: tuple[Reading, ...]
    notes: tuple[Note, ...]


def extract(transcript: Transcript, known: tuple[Reading, ...] = ()) -> Extraction:
    """Readings and notes of one file. ``known``: the readings before it, oldest first."""
    narration = Narration(transcript.file, known)
    for utterance in transcript.utterances:
        narration.hear(utterance)
    narration.end()
    return Extraction(reconcile(known, tuple(narration.readings)), tuple(narration.notes))


class Narration:
    """One narration while it is read, from the first utterance to the last.

    ``told``, ``place``: what went before it, when that is not simply the end of ``known``.
    """

    def __init__(
        self,
        file: str,
        known: tuple[Reading, ...],
        told: Told | None = None,
        place: Place | None = None,
    ) -> None:
        self.file = file
        self.readings: list[Heard] = []
        self.notes: list[Note] = []
        self._habit = habit_of(known)
        self._place = place or Place.after(known)
        self._told = told or Told()
        self._standings = Standings(known)
        self._taken_back: tuple[Reading, ...] = ()
        # Readings whose number a correction moved to another field.
        self._moved: tuple[Reading, ...] = ()
        # Readings that are asked for their unit alone, by their place, with their slots.
        self._open_units: list[tuple[int, Slot]] = []
        # Whether the last words that were not empty gave a reading, and whether they asked.
        self._fresh = False
        self._question = False

    def hear(self, utterance: Utterance) -> None:
        """Read one utterance."""
        if not any(char.isalnum() for char in utterance.text):
            return
        heard = understand(utterance.text, self._told, self._habit)
        hearings: list[Understood] = []
        for other in utterance.others:
            hearings += [
                understand(other.text, self._told, self._habit),
                understand(other.text, self._told, self._habit, joined_commas=True),
            ]
        taken_back, self._taken_back = self._taken_back, ()
        self._settle(taken_back, heard.slots)
        said = _Said(utterance.words, self.file, heard)
        before = (len(self.readings), len(self.notes))
        self._moved = ()
        # An answer, and what is told anew after it was taken back, replace knowingly.
        again = {reading.field for reading in taken_back} | {self._told.asked or ""}
        self._write(heard, said, hearings, again)
        if hearings:
            self._only_second(heard, hearings[0], utterance.others[0].words)
        self.notes += [said.note(start, end) for start, end in remarks_of(heard)]
        self._retract(heard, len(self.readings) > before[0])
        self._told = heard.told
        if before != (len(self.readings), len(self.notes)):
            self._fresh = len(self.readings) > before[0]
            self._question = heard.tokens[-1].text == "?"
        self._habit = replace(self._habit, units=heard.habit.units)

    def end(self) -> None:
        """Whatever was taken back and not told again is asked."""
        self._settle(self._taken_back, ())
        self._settle_units()

    def _write(
        self, heard: Understood, said: _Said, hearings: list[Understood], again: set[str]
    ) -> None:
        places = place_of(heard, self._place)
        for slot, place in zip(heard.slots, places.of_slots, strict=True):
            if place.unsure:
                doubt = "told of several splices, and only one is known"
                slot = replace(slot, unsettled=(*slot.unsettled, doubt))
            for splice in place.splices:
                self._add(slot, splice, place.run, said, hearings, slot.field in again)
        self._place = places.after

    def _add(
        self,
        slot: Slot,
        splice: int,
        run: int,
        said: _Said,
        hearings: list[Understood],
        again: bool,
    ) -> None:
        field = FIELDS[slot.field]
        splice = 1 if field.level is Level.JOB else splice
        run = run if field.level is Level.RUN else 1
        reasons, others = doubts_of(slot, said.carrying(slot), hearings)
        doubts = list(slot.unsettled)
        if not on_card(slot, self._habit):
            doubts += [*slot.doubts, *reasons]
        candidates = [*others, *slot.candidates] if doubts else []
        candidates = [value for value in candidates if not equal(value, slot.value)]
        reading = Reading(
            field=slot.field,
            value=slot.value,
            unit=field.unit,
            as_said=slot.as_said,
            standing=Standing.DOUBTFUL if doubts else Standing.CLEAR,
            evidence=said.evidence(slot),
            why="; ".join(dict.fromkeys(doubts)),
            candidates=tuple(dict.fromkeys(candidates)),
            splice=splice,
            run=run,
        )
        if slot.unit_open and doubts == list(slot.doubts):
            self._open_units.append((len(self.readings), slot))
        heard = self._knowing(reading, slot.corrects or again, slot.changes)
        first = self._standings.told(reading) is None
        self.readings.append(heard)
        self._standings.enter(heard.reading)
        if slot.corrects and first:
            self._moved = misplaced(said.heard, [h.reading for h in self.readings[-2:]], slot.field)

    def _knowing(self, reading: Reading, corrected: bool, changed: bool) -> Heard:
        """The reading with what it replaces, when a word of correction or change led to it."""
        earlier = self._standings.told(reading)
        if earlier is None or same(earlier, reading) or not (corrected or changed):
            return Heard(reading)
        replaces = corrects if corrected else changes
        parts = [replaces(earlier.value, reading.field), *([reading.why] if reading.why else [])]
        return Heard(reading.model_copy(update={"why": "; ".join(parts)}), knowingly=True)

    def _only_second(self, heard: Understood, second: Understood, words: tuple[Word, ...]) -> None:
        """A number that only the second hearing puts into a field is asked."""
        has = {slot.field for slot in heard.slots}
        used = {slot.amount.value for slot in heard.slots if slot.amount}
        said = _Said(words, self.file, second)
        for slot in second.slots:
            if slot.field in has or slot.amount is None or slot.amount.value in used:
                continue
            asked = replace(slot, unsettled=("only the second hearing gives this",))
            self._add(asked, self._place.splice, self._place.run, said, [], False)

    def _retract(self, heard: Understood, told: bool) -> None:
        """Remember what the words take back, until the next ones tell it anew or do not."""
        readings = [newest.reading for newest in self.readings[-_FARTHEST_BACK:]]
        denied = denies_before(heard) and self._fresh
        itself = told and denies_itself(heard)
        flag = bool(readings) and isinstance(readings[-1].value, bool)
        if flag and (itself or (denied and self._question)):
            self._answer_no(readings[-1])
        elif readings and (undoes(heard) or denied or itself):
            self._taken_back = taken_by(heard, readings)
        self._taken_back += self._moved

    def _answer_no(self, asked: Reading) -> None:
        """As in "Bubbles?" "No.", and "Bubbles, no."."""
        update = {
            "value": False,
            "standing": Standing.DOUBTFUL,
            "why": "'no' was told after it",
            "candidates": (True,),
        }
        self.readings.append(Heard(asked.model_copy(update=update), knowingly=True))

    def _settle(self, taken_back: tuple[Reading, ...], slots: tuple[Slot, ...]) -> None:
        """Readings that were taken back and are not told anew become doubtful."""
        told = {slot.field for slot in slots}
        for reading in taken_back:
            if reading.field not in told:
                update = {
                    "standing": Standing.DOUBTFUL,
                    "why": f"{show_value(reading.field, reading.value)} was taken back",
                    "candidates": (),
                }
                self.readings.append(Heard(reading.model_copy(update=update)))

    def _settle_units(self) -> None:
        """What was asked for its unit alone, where the job has shown since in which it speaks."""
        for place, slot in self._open_units:
            amount, reading = slot.amount, self.readings[place].reading
            found = resolve(slot.field, amount, self._habit) if amount else None
            if found is None or found.doubts:
                continue
            why = [part for part in reading.why.split("; ") if part not in slot.doubts]
            update = {
                "value": found.value,
                "as_said": found.as_said,
                "standing": Standing.CLEAR,
                "why": "; ".join(why),
                "candidates": (),
            }
            self.readings[place] = Heard(reading.model_copy(update=update))


class _Said:
    """The words of one hearing behind its tokens."""

    def __init__(self, words: tuple[Word, ...], file: str, understood: Understood) -> None:
        self._words, self._file, self._tokens = words, file, understood.tokens
        self.heard = understood
        lengths = [len(word.text) + 1 for word in words]
        self._starts = [0, *accumulate(lengths)][: len(words)]

    def _word(self, place: int) -> int:
        return bisect_right(self._starts, self._tokens[place].start) - 1

    def _span(self, start: int, end: int) -> tuple[Word, ...]:
        return self._words[self._word(start) : self._word(end - 1) + 1]

    def carrying(self, slot: Slot) -> tuple[Word, ...]:
        """The words that decide the value: the number's, or all words of a finding or a name."""
        if slot.amount is not None and slot.field != "job_number":
            return self._span(slot.amount.number.start, slot.amount.number.end)
        if slot.field == "job_number":
            return self._span(slot.places[-1], slot.end)
        return self._span(slot.start, slot.end)

    def evidence(self, slot: Slot) -> Spoken:
        words = self._span(slot.start, slot.end)
        return Spoken(
            file=self._file,
            said=" ".join(word.text for word in words),
            start_s=words[0].start_s if words else None,
            end_s=words[-1].end_s if words else None,
        )

    def note(self, start: int, end: int) -> Note:
        words = self._span(start, end)
        return Note(
            text=" ".join(word.text for word in words),
            file=self._file,
            start_s=words[0].start_s if words else None,
            end_s=words[-1].end_s if words else None,
        )


def habit_of(known: tuple[Reading, ...]) -> Habit:
    """The units and values that are known before a narration.

    No unit of time: a job that speaks of minutes of cycle speaks of seconds of dwell.
    """
    units: dict[str, str] = {}
    expected: dict[str, tuple[Quantity, ...]] = {}
    names: dict[str, str] = {}
    day: tuple[str, str] | tuple[()] = ()
    for reading in known:
        typed = isinstance(reading.evidence, Typed)
        unit = reading.as_said.unit if reading.as_said else reading.unit
        if unit and (typed or reading.standing is not Standing.DOUBTFUL):
            dimension = UNITS[unit].dimension
            if dimension != "time":
                units[dimension] = unit
        said = said_as(reading)
        if typed and said is not None:
            expected[reading.field] = (*expected.get(reading.field, ()), said)
        if typed and isinstance(reading.value, str) and FIELDS[reading.field].kind is Kind.TEXT:
            names[reading.field] = reading.value
        if typed and isinstance(reading.value, str) and FIELDS[reading.field].kind is Kind.TIME:
            moment = datetime.fromisoformat(reading.value)
            day = moment.date().isoformat(), moment.isoformat()[-len("+00:00") :]
    return Habit(units, expected, names, day)
