"""A job card in the making: what stands on it, where each value came from, and what is missing.

Values alone; ``filling`` fills it in, ``sources`` finds what a job, a recipe, a conveyor or spoken
words give, ``preparing`` brings all together and looks up what past jobs say to it.
"""

from __future__ import annotations

from enum import StrEnum

from recorder.flows.knowhow import card_words
from recorder.flows.knowhow.card_words import Question
from recorder.knowhow.preparing.proposal import Check, Proposal
from recorder.knowhow.recipes.answer import Deviation, RecipeAnswer
from recorder.knowhow.trends.chart import Drift
from recorder.model.base import Value
from recorder.model.belt import BELT_FIELDS, Belt
from recorder.model.length import BeltLength, Drive
from recorder.model.reading import Reading

# What a job card says beforehand, in the order of the card. Common practice, no source. All else
# is found on the day, or holds once: outcome, measurements, marks, times, weather, advice.
PLACE = ("job_number", "customer", "site", "conveyor", "technician")
WORK = ("template", "press", "supply_voltage", "supply_current", "supply_phases", "belt_serial")
ON_CARD = (*PLACE, *BELT_FIELDS, *WORK)
# What of it holds for the next job as well. A number, a person and a belt's own serial do not.
CARRIED = tuple(name for name in ON_CARD if name not in ("job_number", "technician", "belt_serial"))
FINGERS = ("finger_length", "finger_pitch", "template")
_FINGERED = ("finger", "double_finger")
# A card is no card without these; the last ones only where fingers are punched.
NEEDED = (
    "customer", "belt_material", "belt_width", "belt_thickness", "guide_profile", "splice_type",
    *FINGERS, "press",
)  # fmt: skip
ASKED_TOO = ("job_number",)  # asked for, and missed by nobody


class Origin(StrEnum):
    JOB = "job"
    RECIPE = "recipe"
    CONVEYOR = "conveyor"
    SAID = "said"
    TYPED = "typed"


class Source(Value):
    """Where values are taken from. name: of the job, recipe or conveyor, as a person calls it; of
    words the file, or empty. readings: what the words say; of the others nothing.
    """

    kind: Origin
    name: str = ""
    readings: tuple[Reading, ...] = ()


class Filled(Value):
    """A value on the card. reading: confirmed, under the name of the card. name: of the job, recipe
    or conveyor that it comes from, of the file in which it was said; empty where there is none.
    """

    reading: Reading
    origin: Origin
    name: str = ""

    @property
    def whence(self) -> str:
        """'job 4817', 'recipe Oven 70, version 2', 'typed'."""
        return card_words.whence(self.origin, self.name)


class Held(Value):
    """Settings that held on such a belt. whence: 'recipe Oven 70, version 2', 'job 4817'."""

    settings: dict[str, float]
    whence: str


class Known(Value):
    """What the firm's own files and jobs say to a card. held: of the recipe that counts, else of
    the last accepted job on just such a belt; None without either. unsuited: what speaks against
    the press and the template that were chosen, in words.
    """

    answer: RecipeAnswer | None = None
    held: Held | None = None
    template: Proposal | None = None
    deviations: tuple[Deviation, ...] = ()
    drifts: tuple[Drift, ...] = ()
    checks: tuple[Check, ...] = ()
    unsuited: tuple[str, ...] = ()


class Draft(Value):
    """used: of the job and its splice. asked: settings. doubts: heard, and not understood for
    certain, so that they stand nowhere yet. remarks: where two sources disagree, and what was not
    taken, in words. length: None without one, and while length_lacks says what its cut needs.
    length_told, drive: what it is worked out of; length_assumed: what was taken for granted, in
    words. open: fields that a person left open. meant: settings that deviate, and that a person
    said yes to.
    """

    used: tuple[Filled, ...] = ()
    asked: tuple[Filled, ...] = ()
    doubts: tuple[Reading, ...] = ()
    remarks: tuple[str, ...] = ()
    length: BeltLength | None = None
    length_told: dict[str, str] = {}
    drive: Drive | None = None
    length_lacks: tuple[str, ...] = ()
    length_assumed: tuple[str, ...] = ()
    open: tuple[str, ...] = ()
    meant: tuple[str, ...] = ()
    known: Known = Known()

    def value(self, field: str) -> bool | float | str | None:
        filled = self.filled(field)
        return filled.reading.value if filled else None

    def filled(self, field: str) -> Filled | None:
        every = (*self.used, *self.asked)
        return next((each for each in every if each.reading.field == field), None)

    def text(self, field: str) -> str | None:
        """The value as words; None for what is not told, and for what is none."""
        value = self.value(field)
        return value if isinstance(value, str) else None

    @property
    def belt(self) -> Belt:
        return Belt.of({each.reading.field: each.reading for each in self.used})

    @property
    def settings(self) -> dict[str, float]:
        """That are asked for, in canonical units."""
        return {each.reading.field: float(each.reading.value) for each in self.asked}

    @property
    def missing(self) -> tuple[str, ...]:
        """Fields that the card needs and does not have, also those that were left open."""
        fingers = self.value("splice_type") in (None, *_FINGERED)
        return tuple(
            name
            for name in NEEDED
            if self.filled(name) is None and (fingers or name not in FINGERS)
        )

    @property
    def deviations(self) -> tuple[Deviation, ...]:
        """Those that nobody said yes to."""
        return tuple(each for each in self.known.deviations if each.field not in self.meant)

    @property
    def differing(self) -> tuple[str, ...]:
        """What goes ill together: of the chosen things, then of the sources."""
        return (*self.known.unsuited, *self.remarks)

    @property
    def notes(self) -> tuple[str, ...]:
        """The same without what a deviation of the setting tells already."""
        asked = {each.field for each in self.known.deviations}
        remarks = (each for each in self.remarks if each.partition(": ")[0] not in asked)
        return (*self.known.unsuited, *remarks)

    @property
    def questions(self) -> tuple[Question, ...]:
        """What a person may still be asked, in the order of the card."""
        doubtful = {doubt.field for doubt in self.doubts}
        wanted = [
            name
            for name in (*ASKED_TOO, *self.missing)
            if self.filled(name) is None and name not in doubtful and name not in self.open
        ]
        return (
            *(card_words.about(doubt) for doubt in self.doubts),
            *(self._for(name) for name in wanted),
            *card_words.deviating(self.deviations),
        )

    @property
    def needs_person(self) -> bool:
        lacks = self.missing or self.doubts or self.length_lacks
        return bool(lacks or self.deviations or self.known.unsuited)

    def _for(self, name: str) -> Question:
        best = self.known.template.best if self.known.template else None
        if name == "template" and self.known.template and best and not best.unknown:
            text = f"template: {best.template.name}? {self.known.template.why}".rstrip()
            return Question(field=name, text=text, why="template", proposed=best.template.name)
        return card_words.missing(name, optional=name in ASKED_TOO)
