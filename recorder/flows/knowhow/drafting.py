"""A job card in the making: what stands on it, where each value came from, and what is missing.

Values alone; ``sources`` finds what a job, a recipe, a conveyor or spoken words give,
``preparing`` brings all together and looks up what past jobs say to it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import StrEnum

from recorder.errors import WrongUse
from recorder.knowhow.preparing.proposal import Check, Proposal
from recorder.knowhow.recipes.answer import Deviation, RecipeAnswer
from recorder.knowhow.trends.chart import Drift
from recorder.model.base import Value
from recorder.model.belt import BELT_FIELDS, Belt
from recorder.model.fields import FIELDS, Field, Level
from recorder.model.length import BeltLength, Drive
from recorder.model.past import SETTINGS
from recorder.model.reading import Reading, Role, Standing, Typed, show_value
from recorder.notes.typed import known_field, typed_reading

FILE_NAME = "job.toml"

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
YES = ("y", "yes", "j", "ja")


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
    """A value on the card. reading: confirmed, under the name of the card. whence: for people,
    'job 4817', 'recipe Oven 70, version 2'.
    """

    reading: Reading
    origin: Origin
    whence: str


class Held(Value):
    """Settings that held on such a belt. whence: 'recipe Oven 70, version 2', 'job 4817'."""

    settings: dict[str, float]
    whence: str


class Known(Value):
    """What the firm's own files and jobs say to a card. held: of the recipe that counts, else of
    the last accepted job on just such a belt; None without either.
    """

    answer: RecipeAnswer | None = None
    held: Held | None = None
    template: Proposal | None = None
    deviations: tuple[Deviation, ...] = ()
    drifts: tuple[Drift, ...] = ()
    checks: tuple[Check, ...] = ()


class Question(Value):
    """why: 'missing', 'doubtful', 'template' or 'deviation'. proposed: what a yes takes, as text
    that a person could have typed; None where there is nothing to say yes to. optional: a card
    without it is whole.
    """

    field: str
    text: str
    why: str
    proposed: str | None = None
    optional: bool = False


class Draft(Value):
    """used: of the job and its splice. asked: settings. doubts: heard, and not understood for
    certain, so that they stand nowhere yet. differing: where two sources disagree, and what was not
    taken, in words. length: None without one, and while length_lacks says what its cut needs.
    length_told, drive: what it is worked out of; length_assumed: what was taken for granted, in
    words. open: fields that a person left open. meant: settings that deviate, and that a person
    said yes to.
    """

    used: tuple[Filled, ...] = ()
    asked: tuple[Filled, ...] = ()
    doubts: tuple[Reading, ...] = ()
    differing: tuple[str, ...] = ()
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
    def questions(self) -> tuple[Question, ...]:
        """What a person may still be asked, in the order of the card."""
        doubtful = {doubt.field for doubt in self.doubts}
        wanted = [
            name
            for name in (*ASKED_TOO, *self.missing)
            if self.filled(name) is None and name not in doubtful and name not in self.open
        ]
        return (
            *(_about(doubt) for doubt in self.doubts),
            *(self._for(name) for name in wanted),
            *_deviating(self.deviations),
        )

    @property
    def needs_person(self) -> bool:
        return bool(self.missing or self.doubts or self.deviations or self.length_lacks)

    def _for(self, name: str) -> Question:
        best = self.known.template.best if self.known.template else None
        if name == "template" and self.known.template and best and not best.unknown:
            text = f"template: {best.template.name}? {self.known.template.why}".rstrip()
            return Question(field=name, text=text, why="template", proposed=best.template.name)
        optional = name in ASKED_TOO
        return Question(field=name, text=_named(FIELDS[name]), why="missing", optional=optional)


def with_answer(draft: Draft, field: str, text: str) -> Draft:
    """The answer to a question: a value as it is typed, 'yes' to what was proposed, or nothing,
    which leaves it open.

    What past jobs say to it is looked up anew by ``preparing.looked_up``. Raises UnknownField,
    BadValue, UnknownUnit, and WrongUse for what is no matter of a card.
    """
    text = text.strip()
    question = next((each for each in draft.questions if each.field == field), None)
    yes = text.casefold() in YES
    if not text:
        doubts = tuple(doubt for doubt in draft.doubts if doubt.field != field)
        return draft.model_copy(update={"doubts": doubts, "open": (*draft.open, field)})
    if yes and question and question.why == "deviation":
        return draft.model_copy(update={"meant": (*draft.meant, field)})
    if yes and question and question.proposed is not None:
        text = question.proposed
    return typed(draft, {field: text})


def typed(draft: Draft, values: Mapping[str, str]) -> Draft:
    """The draft with values that a person typed, which count before all others. Raises as
    ``with_answer``, and then nothing is taken.
    """
    for name, text in values.items():
        row = card_field(name)
        reading = typed_reading(row.name, text, Typed(file=FILE_NAME), role_of(row.name))
        filled = Filled(reading=reading, origin=Origin.TYPED, whence="typed")
        draft = _put(draft, filled)
    return draft


def fill(draft: Draft, found: Iterable[Filled]) -> Draft:
    """The draft with values for what it lacks; a value that differs from its own is told."""
    for filled in found:
        field = filled.reading.field
        held = draft.filled(field)
        if held is None:
            draft = _put(draft, filled)
        elif not _same(held.reading, filled.reading):
            draft = remark(draft, (
                f"{field}: {held.reading.shown()} ({held.whence}); {filled.whence} says "
                f"{filled.reading.shown()}"
            ))  # fmt: skip
    return draft


def remark(draft: Draft, text: str) -> Draft:
    return draft.model_copy(update={"differing": (*draft.differing, text)})


def card_field(name: str) -> Field:
    """A field that a card can hold. Raises UnknownField, WrongUse."""
    row = known_field(name)
    if row.name not in ON_CARD and row.name not in SETTINGS:
        raise WrongUse(
            detail=f"{row.name} is found during the job, and on no card before it",
            command="prepare",
        )
    return row


def role_of(field: str) -> Role:
    """Settings are asked for; all else holds from the beginning."""
    return Role.ASKED if FIELDS[field].level is Level.RUN else Role.USED


def taken(reading: Reading, origin: Origin, whence: str) -> Filled:
    """A value of another record as one of the card."""
    kept = reading.model_copy(
        update={
            "standing": Standing.CONFIRMED,
            "role": role_of(reading.field),
            "evidence": Typed(file=FILE_NAME),
            "why": "",
            "candidates": (),
            "splice": 1,
            "run": 1,
        }
    )
    return Filled(reading=kept, origin=origin, whence=whence)


def text_of(reading: Reading) -> str:
    """A value as a person types it, in the unit in which it was given: '350 degF', 'v_guided'."""
    if reading.as_said:
        return f"{reading.as_said.value:.12g} {reading.as_said.unit}"
    return typed_text(reading.field, reading.value)


def typed_text(field: str, value: bool | float | str) -> str:
    """Likewise of a value in the canonical unit."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        unit = FIELDS[field].unit
        return f"{value:.12g} {unit}" if unit else f"{value:g}"
    return value


def _put(draft: Draft, filled: Filled) -> Draft:
    """In the order of the card; what is answered is open and doubtful no more."""
    field = filled.reading.field
    part, order = ("asked", SETTINGS) if field in SETTINGS else ("used", ON_CARD)
    others = [each for each in getattr(draft, part) if each.reading.field != field]
    placed = sorted((*others, filled), key=lambda each: order.index(each.reading.field))
    return draft.model_copy(
        update={
            part: tuple(placed),
            "doubts": tuple(doubt for doubt in draft.doubts if doubt.field != field),
            "open": tuple(name for name in draft.open if name != field),
            "meant": tuple(name for name in draft.meant if name != field),
        }
    )


def _same(one: Reading, other: Reading) -> bool:
    if isinstance(one.value, str) and isinstance(other.value, str):
        return " ".join(one.value.casefold().split()) == " ".join(other.value.casefold().split())
    return show_value(one.field, one.value) == show_value(other.field, other.value)


def _named(field: Field) -> str:
    if field.choices:
        return f"{field.name} ({', '.join(field.choices)})"
    return f"{field.name} (with its unit)" if field.unit else field.name


def _about(doubt: Reading) -> Question:
    others = " or ".join(show_value(doubt.field, value) for value in doubt.candidates)
    text = f"{doubt.field}: {doubt.shown()}" + (f", or {others}" if others else "") + "?"
    return Question(
        field=doubt.field, text=f"{text} {doubt.why}".rstrip(), why="doubtful",
        proposed=text_of(doubt),
    )  # fmt: skip


def _deviating(found: Iterable[Deviation]) -> list[Question]:
    """One for each setting, whoever it differs from."""
    by_field: dict[str, list[str]] = {}
    values: dict[str, float] = {}
    for each in found:
        by_field.setdefault(each.field, []).append(against(each))
        values[each.field] = each.value
    return [
        Question(
            field=field,
            text=f"{field}: is {show_value(field, values[field])} meant? {'; '.join(told)}",
            why="deviation",
            proposed=typed_text(field, values[field]),
        )
        for field, told in by_field.items()
    ]


def against(deviation: Deviation) -> str:
    """'recipe Oven 70, version 2: 171 °C to 174 °C'."""
    low, high = (
        None if bound is None else show_value(deviation.field, bound)
        for bound in (deviation.low, deviation.high)
    )
    if low is None:
        span = f"at most {high}"
    elif high is None:
        span = f"at least {low}"
    else:
        span = low if low == high else f"{low} to {high}"
    return f"{deviation.whose}: {span}"
