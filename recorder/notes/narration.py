"""A narration while it is read, one utterance after the other, with what each gives.

Each utterance is understood, placed at a splice and a press run, judged against its other
hearings, and written down; what is left over becomes a note.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import replace
from types import MappingProxyType

from recorder.model.calibration import Calibration
from recorder.model.job import on_job_card
from recorder.model.reading import Note, Reading, Role, Standing, show_value
from recorder.model.stages import StageMark
from recorder.model.transcript import Utterance
from recorder.notes.fields.slot import Slot, Told
from recorder.notes.habit import habit_of
from recorder.notes.hearing.hearings import Version, added, versions_of
from recorder.notes.hearing.said import Said
from recorder.notes.hearing.sameness import same
from recorder.notes.hearing.signals import Signals
from recorder.notes.hearing.understand import Mend, Understood, understand
from recorder.notes.open_units import OpenUnit
from recorder.notes.place import Place, place_of, stage_marks
from recorder.notes.reconcile import Heard, Standings, changes, corrects
from recorder.notes.remarks import remarks_of
from recorder.notes.retraction import denies_before, denies_itself, misplaced, taken_by, undoes
from recorder.notes.sharing import shared_settings, shares_settings
from recorder.notes.weighing import weighed

NONE_OWN: Mapping[str, Calibration] = MappingProxyType({})
_AROUND = 10  # utterances; their noise is that of the next one
_FARTHEST_BACK = 60  # readings; what was told before them is not meant by "forget the pressure"


class Narration:
    """One narration while it is read, from the first utterance to the last.

    ``told``, ``place``: what went before it, when that is not simply the end of ``known``.
    One that has no end is told of each utterance beforehand what holds by then (``go_on``).
    """

    def __init__(
        self,
        file: str,
        known: tuple[Reading, ...],
        calibration: Calibration,
        told: Told | None = None,
        place: Place | None = None,
    ) -> None:
        self.file = file
        self.readings: list[Heard] = []
        self.notes: list[Note] = []
        self.stages: list[StageMark] = []
        self._known = known[-_FARTHEST_BACK:]
        self.signals: list[tuple[Reading, Signals]] = []
        self._calibration = calibration
        self.habit = habit_of(known)
        self.place = place or Place.after(known)
        self._told = told or Told()
        self._standings = Standings(known)
        self._taken_back: tuple[Reading, ...] = ()
        # Readings whose number a correction moved to another field.
        self._moved: tuple[Reading, ...] = ()
        # How many of the readings are of before, and stand among them to be looked back at.
        self._before = 0
        self._at: Place | None = None
        self._goes_on = False
        self.open_units: list[OpenUnit] = []
        # Fields whose value the next telling replaces knowingly: taken back, or taken over.
        self._loose: set[str] = set()
        # Of the utterances shortly before: how far their hearings have the same words.
        self._clarities: deque[float] = deque(maxlen=_AROUND)
        # Whether the last words that were not empty gave a reading, and whether they asked.
        self._fresh = False
        self._question = False

    @property
    def new(self) -> tuple[Heard, ...]:
        """The readings since the beginning, or since it went on."""
        return tuple(self.readings[self._before :])

    def branch(self) -> Narration:
        """Another one that goes on from here, and leaves this one as it is."""
        other = copy(self)
        other._loose, other._clarities = set(self._loose), self._clarities.copy()
        other.open_units = list(self.open_units)
        return other

    def go_on(
        self,
        file: str,
        calibration: Calibration,
        known: tuple[Reading, ...],
        standings: Standings,
    ) -> None:
        """Forget what it gave so far, as ``known`` holds it, and read on in ``file``."""
        self.file, self._calibration = file, calibration
        self._known = known[-_FARTHEST_BACK:]
        told = (r for r in self._known if r.role is Role.USED and _may_be_taken_back(r))
        self.readings = [Heard(reading) for reading in told]
        self._before = len(self.readings)
        self.notes, self.stages, self.signals = [], [], []
        self._standings = standings
        self._goes_on = True

    def answer(self, utterance: Utterance, told: Told, place: Place) -> None:
        """Read one as the answer to a question about the field in ``told``, at ``place``."""
        before, self._told, self._at = self._told, told, place
        self.hear(utterance)
        self._at = None
        if self._told is told:  # there were no words
            self._told = before

    def hear(self, utterance: Utterance) -> None:
        """Read one utterance."""
        versions = versions_of(utterance, self._read)
        if not versions:
            return
        heard = versions[0].understood
        taken_back, self._taken_back = self._taken_back, ()
        if not self._goes_on:
            self._settle(taken_back, heard.slots)
        self._clarities.append(versions[0].clarity)
        said = self._said(versions)
        before = (len(self.readings), len(self.notes))
        self._moved = ()
        # An answer, and what is told anew after it was taken back, replace knowingly.
        again = {reading.field for reading in taken_back} | {self._told.asked or ""}
        self._write(heard, said, again | self._loose)
        self._loose -= {slot.field for slot in heard.slots}
        self._share(heard, said)
        self._loose |= {reading.field for reading in taken_back} - {s.field for s in heard.slots}
        self._loose |= {slot.field for slot in heard.slots if slot.passing}
        self._add_from_others(versions)
        self.notes += [said.note(start, end) for start, end in remarks_of(heard)]
        self.stages += stage_marks(heard, said, self.file, self.place)
        self._retract(heard, len(self.readings) > before[0])
        asks = self._asks(heard)
        self._told = replace(heard.told, asked=asks) if asks else heard.told
        if before != (len(self.readings), len(self.notes)):
            self._fresh = len(self.readings) > before[0]
            self._question = _ends_asking(heard)
        self.habit = heard.habit
        if self._goes_on:  # nobody knows when the next words come
            self._settle(self._taken_back, ())

    def _asks(self, heard: Understood) -> str | None:
        """The finding after which a short sentence asks: "Bubbles?" (a pause) "None."."""
        asks = _ends_asking(heard) and len(heard.slots) == 1
        return heard.slots[0].field if asks and heard.slots[0].amount is None else None

    def end(self) -> None:
        """Whatever was taken back and not told again is asked."""
        self._settle(self._taken_back, ())
        self.settle_units()

    def _said(self, versions: Sequence[Version]) -> Said:
        return Said(versions, self.file, sum(self._clarities) / len(self._clarities))

    def _read(self, text: str, mend: Mend | None) -> Understood:
        return understand(text, self._told, self.habit, mend)

    def _write(self, heard: Understood, said: Said, again: set[str]) -> None:
        asked = self._told.asked if self._at else None
        apart = replace(heard, slots=tuple(s for s in heard.slots if s.field != asked))
        places = place_of(apart, self.place)
        told = iter(places.of_slots)
        for slot in heard.slots:
            if self._at and slot.field == asked:
                self._add(slot, self._at.splice, self._at.run, said, True)
                continue
            place = next(told)
            if place.unsure:
                doubt = "told of several splices, and only one is known"
                slot = replace(slot, unsettled=(*slot.unsettled, doubt))
            for splice in place.splices:
                self._add(slot, splice, place.run, said, slot.field in again)
        self.place = places.after

    def _share(self, heard: Understood, said: Said) -> None:
        """Take over the settings of the run or splice before, when the words say so."""
        span = shares_settings(heard.tokens)
        if span is None:
            return
        known = (*self._known, *(newest.reading for newest in self.new))
        told = {slot.field for slot in heard.slots}
        idle = any(amount.start not in heard.used for amount in heard.amounts)
        for reading in shared_settings(known, self.place, told, said.words_of(*span), idle):
            self._standings.enter(reading)
            self.readings.append(Heard(reading, knowingly=True))
            self._loose.add(reading.field)

    def _add(self, slot: Slot, splice: int, run: int, said: Said, again: bool) -> None:
        found = weighed(
            slot,
            said,
            splice,
            run,
            self._calibration,
            self.habit,
            answers=self._told.asked == slot.field,
        )
        reading, signals = found.reading, found.signals
        heard = self._knowing(reading, slot.corrects or again, slot.changes)
        before = self._standings.told(reading)
        if found.unit_alone:
            self.open_units.append(OpenUnit(heard, slot, before))
        self.readings.append(heard)
        self._standings.enter(heard.reading)
        if signals:
            self.signals.append((heard.reading, signals))
        if slot.corrects and before is None:
            self._moved = misplaced(said.heard, [h.reading for h in self.readings[-2:]], slot.field)

    def _knowing(self, reading: Reading, corrected: bool, changed: bool) -> Heard:
        """The reading with what it replaces, when a word of correction or change led to it."""
        earlier = self._standings.told(reading)
        if earlier is None or same(earlier, reading) or not (corrected or changed):
            return Heard(reading)
        replaces = corrects if corrected else changes
        parts = [replaces(earlier.value, reading.field), *([reading.why] if reading.why else [])]
        return Heard(reading.model_copy(update={"why": "; ".join(parts)}), knowingly=True)

    def _add_from_others(self, versions: Sequence[Version]) -> None:
        """What only a further hearing puts into a field is asked."""
        for slot, n in added(versions):
            said = self._said((versions[n], *versions[:n], *versions[n + 1 :]))
            doubt = "only another hearing gives this"
            asked = replace(slot, unsettled=(*slot.unsettled, doubt))
            self._add(asked, self.place.splice, self.place.run, said, False)

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

    def settle_units(self) -> None:
        """What was asked for its unit alone, where the unit has shown itself since."""
        here = {id(heard) for heard in self.readings}
        still, settled = [], {}
        for one in self.open_units:
            found = one.settled(self.habit) if id(one.heard) in here else None
            if found is None:
                still.append(one)
            else:
                settled[id(one.heard)] = found
        self.readings = [settled.get(id(heard), heard) for heard in self.readings]
        self.open_units = still


def _may_be_taken_back(reading: Reading) -> bool:
    return reading.standing is not Standing.WITHDRAWN and not on_job_card(reading)


def _ends_asking(heard: Understood) -> bool:
    return any(token.text == "?" for token in heard.tokens[-1:])
