"""Readings that are asked for their unit alone, which may show itself later."""

from __future__ import annotations

from dataclasses import dataclass

from recorder.model.reading import Reading, Standing
from recorder.notes.fields.slot import Slot
from recorder.notes.fields.values import Habit, resolve
from recorder.notes.reconcile import Heard


@dataclass(frozen=True)
class OpenUnit:
    """A reading that is asked for its unit alone. before: what its field had been told as."""

    heard: Heard
    slot: Slot
    before: Reading | None

    def settled(self, habit: Habit) -> Heard | None:
        """The reading in the unit that ``habit`` shows by now; None while it shows none."""
        found = resolve(self.slot.field, self.slot.amount, habit) if self.slot.amount else None
        if found is None or found.doubts:
            return None
        why = [part for part in self.heard.reading.why.split("; ") if part not in self.slot.doubts]
        update = {
            "value": found.value,
            "as_said": found.as_said,
            "standing": Standing.CLEAR,
            "why": "; ".join(why),
            "candidates": (),
        }
        return Heard(self.heard.reading.model_copy(update=update))
