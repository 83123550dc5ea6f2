"""The length of the belt on a job card: what it follows from, and what follows, checked again.

::

    [belt_length]
    pulley_1 = "250 mm"              outer diameters, and the distance of the axes
    pulley_2 = "200 mm"
    centres = "4.2 m"
    thickness = "2 mm"               of the belt
    endless = "9 m"                  in place of these four, where the old belt was measured
    fingers = "80 mm"                that one end reaches into the other
    take_up = "30 mm"
    trim = "20 mm"                   off each end
    mark_spacing = "1000 mm"         of the tension marks on the slack belt
    elongation = "0.8 %"             that is wanted

    joined = "9031.2 mm"             results; whoever changes the table leaves them out
    punched = "9111.2 mm"
    cut = "9151.2 mm"
"""

from __future__ import annotations

from collections.abc import Mapping

from recorder.knowhow.preparing import length as lengths
from recorder.model import units
from recorder.model.length import Allowances, BeltLength, Drive

TABLE = "belt_length"
_DRIVE = ("pulley_1", "pulley_2", "centres")
_ALLOWANCES = tuple(Allowances.model_fields)
_OTHERS = ("thickness", "mark_spacing", "elongation", "endless")
_RESULTS = (
    "endless", "approximate", "approximation_error", "joined", "punched", "cut", "mark_tensioned",
)  # fmt: skip
NAMES = frozenset((*_DRIVE, *_ALLOWANCES, *_OTHERS, *_RESULTS))


def read(table: Mapping[str, str]) -> BeltLength:
    """The length that the inputs of a table give. Raises ValueError that names the entry: also
    where a result stands in it that does not follow from them.
    """
    unknown = next((name for name in table if name not in NAMES), None)
    if unknown:
        raise ValueError(f"there is no {unknown}")
    told = {name: _amount(name, text) for name, text in table.items()}
    found = _worked_out(told)
    for name in _RESULTS:
        if name in table and not _agrees(table[name], getattr(found, name), name):
            raise ValueError(
                f"{name} does not follow from the rest, which gives "
                f"{_written(name, getattr(found, name))}; leave the results out"
            )
    return found


def _worked_out(told: Mapping[str, float]) -> BeltLength:
    allowances = Allowances(**{name: told[name] for name in _ALLOWANCES if name in told})
    spacing, elongation = told.get("mark_spacing"), told.get("elongation")
    lacking = [name for name in _DRIVE if name not in told]
    if len(lacking) < len(_DRIVE):
        if lacking:
            raise ValueError(f"{lacking[0]} is missing")
        drive = Drive(**{name: told[name] for name in _DRIVE}, thickness=told.get("thickness", 0.0))
        return lengths.belt_length(drive, allowances, spacing, elongation)
    if "endless" not in told:
        raise ValueError("give pulley_1, pulley_2 and centres, or endless")
    return lengths.of_endless(told["endless"], allowances, spacing, elongation)


def written(length: BeltLength) -> dict[str, str]:
    """The table for a length, inputs first; ``read`` gives the same length again."""
    drive = length.drive.model_dump() if length.drive else {"endless": length.endless}
    inputs = {
        **drive,
        **length.allowances.model_dump(),
        "mark_spacing": length.mark_spacing,
        "elongation": length.elongation,
    }
    table = {name: _exactly(name, value) for name, value in inputs.items() if value is not None}
    for name in _RESULTS:
        value = getattr(length, name)
        if name not in table and value is not None:
            table[name] = _written(name, value)
    return table


def _amount(name: str, text: str) -> float:
    """In mm, or percent."""
    try:
        value, unit = units.amount(text)
        return units.convert(value, unit, _unit(name))
    except ValueError as error:
        raise ValueError(f"{name}: {error}") from error


def _agrees(text: str, value: float | None, name: str) -> bool:
    """Whether a result is what was written, as closely as it was written."""
    if value is None:
        return False
    told, unit = units.amount(text)
    digits = text.strip().split(" ")[0].replace(",", ".").partition(".")[2]
    decimals = len(digits) if digits.isdecimal() else 0
    return abs(units.convert(value, _unit(name), unit) - told) <= 0.51 * 10.0**-decimals


def _unit(name: str) -> str:
    return "percent" if name == "elongation" else "mm"


def _exactly(name: str, value: float) -> str:
    return f"{units.plain(value)} {_unit(name)}"


def _written(name: str, value: float) -> str:
    return f"{value:z.3f} {_unit(name)}"
