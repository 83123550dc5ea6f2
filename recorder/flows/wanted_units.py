"""The units in which a person wants to see values: '--unit psi --unit degF'."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from recorder.archive.finding.typos import near_names
from recorder.errors import UnknownUnit
from recorder.model.fields import FIELDS
from recorder.model.units import UNITS, Unit
from recorder.notes.words.vocabulary import vocabulary

DIMENSIONS = tuple(dict.fromkeys(UNITS[f.unit].dimension for f in FIELDS.values() if f.unit))


def wanted_units(texts: Iterable[str]) -> dict[str, str]:
    """Name of the unit by dimension; of two for one dimension the later counts.

    A unit is its name, its symbol, or a word that the trade says for it: 'degF', '°F', 'bars'.
    Raises UnknownUnit, which names the near ones.
    """
    return {UNITS[name].dimension: name for name in map(_named, texts)}


def _named(text: str) -> str:
    plain = " ".join(text.split())
    forms = _forms()
    found = next((name for form, name in forms if form == plain), None) or next(
        (name for form, name in forms if form.lower() == plain.lower()), None
    )
    if found is None:
        near = near_names(plain, [(name, form.lower()) for form, name in forms if len(form) > 1])
        known = [unit.name for unit in _units()]
        raise UnknownUnit(wanted=text, field="any field", near=", ".join(near or known))
    return found


def _units() -> list[Unit]:
    """Those that fields can have and the trade speaks."""
    spoken: Mapping[str, object] = vocabulary()["units"]
    return [u for u in UNITS.values() if u.dimension in DIMENSIONS and u.name in spoken]


def _forms() -> list[tuple[str, str]]:
    """Each way of writing a unit, with its name; the names first, then symbols, then words."""
    units = _units()
    words = [
        (f"{said}{form}", unit.name)
        for table in ("units", "short_units")
        for unit in units
        for form in vocabulary()[table].get(unit.name, ())
        for said in (("", "degrees ", "deg ") if unit.dimension == "temperature" else ("",))
    ]
    return [*((u.name, u.name) for u in units), *((u.symbol, u.name) for u in units), *words]
