"""Sentences with quantities in them, and what stands in each: other people's suites, and ours.

Ours is sentences.toml. The others are read from where their owners publish them and are not kept
here: the tests of quantulum3 (MIT) come with its package; the specifications of
microsoft/Recognizers-Text (MIT) are the files TemperatureModel.json, DimensionModel.json and
DurationParser.json of its Specs folder.
"""

from __future__ import annotations

import hashlib
import importlib.util
import json
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pint

REGISTRY: pint.UnitRegistry[Any] = pint.UnitRegistry()
KINDS = {
    REGISTRY.Quantity(1, unit).dimensionality: kind
    for kind, unit in (
        ("temperature", "kelvin"), ("length", "m"), ("pressure", "Pa"), ("duration", "s"),
        ("volt and ampere", "V"), ("volt and ampere", "A"),
    )
}  # fmt: skip
# Names of units that pint spells otherwise.
_SPELLINGS = {
    **{"C": "degC", "F": "degF", "K": "kelvin", "Degree": "deg", "degree angle": "deg"},
    **{"degree Celsius": "degC", "degree fahrenheit": "degF", "percentage": "percent"},
    **{"pound per square inch": "psi", "Pound per square inch": "psi", "BTU": "Btu"},
    **{"standard atmosphere": "atm", "Atmosphere": "atm", "millimeter of mercury": "mmHg"},
    **{"inch of mercury": "inHg", "Millimeter of mercury": "mmHg", "picometre": "pm"},
    **{"inch of water": "inH2O", "technical atmosphere": "technical_atmosphere"},
}
_SUITES = Path(__file__).with_name("sentences.toml")


@dataclass(frozen=True)
class Stated:
    """A quantity with its place. unit: as pint reads it, None when it is of no kind we score."""

    value: float
    unit: str | None
    start: int
    end: int


@dataclass(frozen=True)
class Case:
    suite: str
    text: str
    stated: tuple[Stated, ...]

    @property
    def held_out(self) -> bool:
        """A fixed half of all cases; the grammar is never tuned on it."""
        return hashlib.sha256(self.text.encode()).digest()[0] % 2 == 1


def scored_unit(name: str) -> str | None:
    """The unit as pint reads it, when it is of a kind that we score."""
    spelled = _SPELLINGS.get(name, name.lower().replace(" ", "_") if len(name) > 3 else name)
    return spelled if kind_of(spelled) else None


def kind_of(unit: str) -> str | None:
    """One of KINDS or percent; the bare degree counts as temperature, as most sentences mean it."""
    if unit in ("percent", "deg"):
        return "percent" if unit == "percent" else "temperature"
    try:
        return KINDS.get(REGISTRY.Unit(unit).dimensionality)
    except (pint.PintError, ValueError, TypeError, AttributeError):
        return None


def ours() -> list[Case]:
    table = tomllib.loads(_SUITES.read_text(encoding="utf-8"))
    cases = []
    for text, quantities in table["sentences"].items():
        place, stated = 0, []
        for surface, value, unit in quantities:
            start = text.index(surface, place)
            place = start + len(surface)
            stated.append(Stated(value, unit, start, place))
        cases.append(Case("ours", text, tuple(stated)))
    return cases


def quantulum(path: Path | None = None) -> list[Case]:
    """The tests of quantulum3: of its installed package, or the file at the path."""
    if path is None:
        found = importlib.util.find_spec("quantulum3")
        if found is None or found.origin is None:
            return []
        path = Path(found.origin).parent / "_lang" / "en_US" / "tests" / "quantities.json"
    cases = []
    for row in json.loads(path.read_text(encoding="utf-8")):
        place, stated = 0, []
        for result in row["res"]:
            start = row["req"].index(result["surface"], place)
            place = start + len(result["surface"])
            unit = scored_unit(result["unit"])
            stated.append(Stated(float(result["value"]), unit, start, place))
        cases.append(Case("quantulum3", row["req"], tuple(stated)))
    return cases


def recognizers(folder: Path) -> list[Case]:
    """The specifications of Recognizers-Text; a unit without a number is no quantity."""
    cases = []
    for name in ("TemperatureModel", "DimensionModel", "DurationParser"):
        for row in json.loads((folder / f"{name}.json").read_text(encoding="utf-8")):
            stated = tuple(_specified(row["Results"]))
            cases.append(Case("recognizers", row["Input"], stated))
    return cases


def _specified(results: list[dict[str, Any]]) -> Iterator[Stated]:
    for result in results:
        start = result["Start"]
        if result.get("Type") == "duration":
            seconds = float(result["Value"]["FutureResolution"]["duration"])
            yield Stated(seconds, "s", start, start + result["Length"])
        elif result["Resolution"]["value"] is not None:
            unit = scored_unit(result["Resolution"]["unit"])
            yield Stated(float(result["Resolution"]["value"]), unit, start, result["End"] + 1)
