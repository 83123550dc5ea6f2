"""What a technician tells of a synthetic job, and which of it counts in the end."""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from datetime import UTC, datetime

from recorder.model.fields import FIELDS
from recorder.model.quantity import Quantity
from recorder.model.reading import Reading, Role, Spoken, Standing, Typed

AUDIO, CARD = "narration.flac", "job.toml"
CONFIRMED_AT = datetime(2026, 11, 1, 6, tzinfo=UTC)
WRONG_AT_FIRST = 0.2  # of the numbers that are told


@dataclass
class Draft:
    """A job that is being written down. in_force: by field, splice and run."""

    dice: random.Random
    readings: list[Reading] = field(default_factory=list)
    in_force: dict[tuple[str, int, int], Reading] = field(default_factory=dict)
    said: list[str] = field(default_factory=list)
    clock_s: float = 2.0

    def card(self, name: str, value: bool | float | str, role: Role = Role.USED) -> None:
        self._add(name, value, 1, 1, Standing.CONFIRMED, role, Typed(file=CARD))

    def tell(
        self, name: str, value: bool | float | str, splice: int = 1, run: int = 1,
        as_said: Quantity | None = None,
    ) -> None:  # fmt: skip
        """Say it in the recording, a number now and then wrong at first."""
        if isinstance(value, float) and self.dice.random() < WRONG_AT_FIRST:
            self._say(name, value + 3.0, splice, run, Standing.CLEAR, None)
        self._say(name, value, splice, run, Standing.CLEAR, as_said)

    def _say(
        self, name: str, value: bool | float | str, splice: int, run: int, standing: Standing,
        as_said: Quantity | None,
    ) -> None:  # fmt: skip
        shown = f"{as_said.value:g} {as_said.unit}" if as_said else _spoken(value)
        text = f"{FIELDS[name].label} {shown}"
        evidence = Spoken(file=AUDIO, said=text, start_s=self.clock_s, end_s=self.clock_s + 2)
        self.said.append(text)
        self.clock_s = round(self.clock_s + 6, 2)
        self._add(name, value, splice, run, standing, Role.USED, evidence, as_said)

    def confirm(self, name: str, splice: int, run: int) -> None:
        """A person says yes, and later the program mishears it, which changes nothing."""
        value = self.in_force[name, splice, run].value
        answered = Typed(at=CONFIRMED_AT)
        self._add(name, value, splice, run, Standing.CONFIRMED, Role.USED, answered)
        wrong = float(value) + 40
        self._say(name, wrong, splice, run, Standing.DOUBTFUL, None)

    def _add(
        self, name: str, value: bool | float | str, splice: int, run: int, standing: Standing,
        role: Role, evidence: Spoken | Typed, as_said: Quantity | None = None,
    ) -> None:  # fmt: skip
        reading = Reading(
            field=name, value=value, unit=FIELDS[name].unit, as_said=as_said, standing=standing,
            role=role, evidence=evidence, splice=splice, run=run,
            why="heard again" if standing is Standing.DOUBTFUL else "",
        )  # fmt: skip
        self.readings.append(reading)
        before = self.in_force.get((name, splice, run))
        waits = standing is Standing.DOUBTFUL and before is not None
        if role is Role.USED and not waits:
            self.in_force[name, splice, run] = reading


def _spoken(value: bool | float | str) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else value.replace("_", " ")
