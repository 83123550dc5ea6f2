"""job.toml to readings: what a person wrote down before the job.

::

    job_number = "4817"                  any field of the catalogue, quantities with their unit
    belt_width = "70 mm"

    [asked]                              the settings that were asked for
    pressure = "2.2 bar"

    [recipe]                             the settings that held on such a belt before
    pressure = "2.1 bar"

    [meant]                              settings that differ from what is kept, and were confirmed
    pressure = "2.2 bar"

    [[limit]]                            limits in force for this job
    name = "splice_width"
    low = "69.3 mm"
    high = "70.7 mm"

    [[limit]]
    name = "finger_pitch"
    tolerance = "0.1 mm"                 plus or minus, of the size that was told
    source = "drawing 12"                who set it, the job card when not said

    [[photo]]                            what a photo shows; the files lie beside the job card
    file = "photo_2.jpg"
    stage = "before"                     before or after pressing
    splice = 2

    [reference_card]
    lies_on = "belt"                     belt or bench
    print_scale = [1.002, 0.999]         caliper reading / nominal length in x and y

    [belt_length]                        see ``card_length``
    pulley_1 = "250 mm"
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any, Literal

from pydantic import ValidationError

from recorder.errors import BadJobCard, SeamnoteError
from recorder.flows import card_length, limits
from recorder.model.base import Number, Value
from recorder.model.job import PhotoNote
from recorder.model.length import BeltLength
from recorder.model.measurement import Limit
from recorder.model.reading import Reading, Role, Typed
from recorder.notes.typed import typed_reading
from recorder.settings import Limits, PrintScale, first_fault

FILE_NAME = "job.toml"
PAGE = "job_card.pdf"  # the same for a person; nothing is read from it

# Values which the recogniser should expect to hear.
_NAMES = ("customer", "site", "conveyor", "technician", "belt_material", "template", "press")


class _PhotoEntry(Value):
    file: str
    stage: Literal["before", "after", ""] = ""
    splice: Number = 1
    run: Number = 1
    caption: str = ""


class _CardEntry(Value):
    lies_on: Literal["belt", "bench"] | None = None
    print_scale: PrintScale | None = None


class _Tables(Value):
    asked: dict[str, str | bool | int | float] = {}
    recipe: dict[str, str | bool | int | float] = {}
    meant: dict[str, str | bool | int | float] = {}
    limit: Limits = ()
    photo: tuple[_PhotoEntry, ...] = ()
    reference_card: _CardEntry = _CardEntry()
    belt_length: dict[str, str] = {}


class JobCard(Value):
    """readings: typed, hence confirmed. limits: those of the card only. lies_on, print_scale: of
    the reference card, None when the job card does not say.
    """

    readings: tuple[Reading, ...] = ()
    photos: tuple[PhotoNote, ...] = ()
    limits: tuple[Limit, ...] = ()
    lies_on: Literal["belt", "bench"] | None = None
    print_scale: tuple[float, float] | None = None
    belt_length: BeltLength | None = None

    def names(self) -> tuple[str, ...]:
        return names_in(self.readings)


def names_in(readings: Iterable[Reading]) -> tuple[str, ...]:
    """The names among them that the recogniser should expect to hear, each once."""
    return tuple(dict.fromkeys(str(r.value) for r in readings if r.field in _NAMES))


def read(path: Path) -> JobCard:
    """The job card. Raises BadJobCard that names the entry."""
    try:
        content = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise BadJobCard(path=path, detail=str(error)) from error
    tables = {name: content.pop(name) for name in _Tables.model_fields if name in content}
    try:
        parsed = _Tables.model_validate(tables)
    except ValidationError as error:
        raise BadJobCard(path=path, detail=first_fault(error)) from error
    card = parsed.reference_card
    for entry in parsed.photo:
        if not (path.parent / entry.file).is_file():
            raise BadJobCard(path=path, detail=f"photo: there is no {entry.file} beside it")
    return JobCard(
        readings=(
            *(_reading(path, name, value, Role.USED) for name, value in content.items()),
            *(_reading(path, name, value, Role.ASKED) for name, value in parsed.asked.items()),
            *(_reading(path, name, value, Role.RECIPE) for name, value in parsed.recipe.items()),
            *(_reading(path, name, value, Role.MEANT) for name, value in parsed.meant.items()),
        ),
        photos=tuple(PhotoNote(**entry.model_dump()) for entry in parsed.photo),
        limits=limits.of_job_card(parsed.limit),
        lies_on=card.lies_on,
        print_scale=card.print_scale,
        belt_length=_length(path, parsed.belt_length),
    )


def _length(path: Path, table: dict[str, str]) -> BeltLength | None:
    if not table:
        return None
    try:
        return card_length.read(table)
    except ValueError as error:
        detail = first_fault(error) if isinstance(error, ValidationError) else str(error)
        raise BadJobCard(path=path, detail=f"belt_length: {detail}") from error


def _reading(path: Path, name: str, value: Any, role: Role) -> Reading:
    """TOML's own dates and times arrive as objects; a person wrote them as text."""
    plain = value if isinstance(value, bool | int | float | str) else str(value)
    if isinstance(value, dict | list):
        raise BadJobCard(path=path, detail=f"{name}: a field has one value")
    try:
        return typed_reading(name, plain, Typed(file=path.name), role)
    except SeamnoteError as error:
        raise BadJobCard(path=path, detail=f"{name}: {error}") from error
