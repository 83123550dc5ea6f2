"""Recipes that a firm wrote into a file, before any job: TOML to recipes.

::

    [[recipe]]
    name = "Oven 70"
    belt_material = "TPU CV-120A"        and whatever else of the belt it is for
    belt_thickness = "2 mm"
    press = "P 600"                      left out: any
    reason = "Trials of October"

    [recipe.settings]
    pressure = "2.2 bar"                 each with its unit
    top_temperature = { use = "172 degC", range = "170 degC..175 degC" }

In a table, whose name ends in csv, the settings are columns like the others.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

from recorder.archive.firm.bounds import settings_in
from recorder.archive.firm.entries import Entry, Shape, each_once, made, read_list, understood
from recorder.archive.firm.recipes import slug
from recorder.archive.firm.shapes import span_in, words
from recorder.errors import SeamnoteError
from recorder.model.belt import BELT_FIELDS, Belt
from recorder.model.fields import FIELDS
from recorder.model.past import SETTINGS
from recorder.model.reading import Typed
from recorder.model.recipe import Recipe, Setting
from recorder.notes.typed import typed_reading


def recipes_in(path: Path, now: datetime, by: str) -> list[tuple[Entry, Recipe]]:
    """Each with the entry where it stands. Raises FileMissing, InputRefused, or BadFirmFile that
    names the entry.
    """
    found = [(entry, _recipe(entry, now, by)) for entry in read_list(path, ("recipe",)).entries]
    each_once(((entry, (slug(recipe.name),)) for entry, recipe in found), "the name")
    return found


def _recipe(entry: Entry, now: datetime, by: str) -> Recipe:
    meant = understood(entry, _SHAPES)
    if "belt_material" not in meant:
        raise entry.refused("belt_material is missing")
    table = meant.get("settings", {})
    settings = {**(table if isinstance(table, Mapping) else {}), **meant}
    told = {
        "name": meant.get("name"),
        "belt": made(entry, Belt, {name: meant[name] for name in BELT_FIELDS if name in meant}),
        "settings": [settings[name] for name in SETTINGS if name in settings],
        "press": meant.get("press"),
        "reason": meant.get("reason", ""),
        "kept_at": now,
        "kept_by": by,
    }
    if not told["settings"]:
        raise entry.refused("give at least one setting under [recipe.settings]")
    if told["name"] is None:
        raise entry.refused("name is missing")
    return made(entry, Recipe, told)


def _typed(field: str) -> Shape:
    """What a person could type at a prompt for it."""

    def shape(value: object) -> object:
        if not isinstance(value, str | bool | int | float):
            raise ValueError("write it as text in quotation marks")
        try:
            return typed_reading(field, value, Typed()).value
        except SeamnoteError as error:
            raise ValueError(str(error)) from error

    return shape


def _setting(field: str) -> Shape:
    number = _typed(field)

    def shape(value: object) -> Setting:
        told = value if isinstance(value, dict) else {"use": value}
        stranger = next((key for key in told if key not in ("use", "range")), None)
        if stranger is not None or "use" not in told:
            raise ValueError('write { use = "…", range = "…..…" }, or the value alone')
        used = float(str(number(told["use"])))
        low, high = used, used
        if "range" in told:
            low, high = span_in(str(FIELDS[field].unit))(told["range"])
            if not low <= used <= high:
                raise ValueError(f"{told['use']} lies outside of {told['range']}")
        return Setting(field=field, value=used, low=low, high=high)

    return shape


def _name(value: object) -> str:
    name = words(value)
    try:
        slug(name)
    except SeamnoteError as error:
        raise ValueError(str(error)) from error
    return name


_SETTINGS = {field: _setting(field) for field in SETTINGS}
_SHAPES: dict[str, Shape] = {
    "name": _name,
    **{field: _typed(field) for field in BELT_FIELDS},
    "press": words,
    "reason": words,
    "settings": settings_in(_SETTINGS),
    **_SETTINGS,
}
