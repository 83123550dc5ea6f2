"""Recipes and what past jobs say, as tables for a terminal and as JSON."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

from recorder.archive.firm.windows import ANY_THICKNESS
from recorder.archive.sharing.table import Units, unit_in, value_in
from recorder.cli.columns import aligned
from recorder.cli.terminal import plain
from recorder.knowhow.recipes.answer import Deviation, OnBelt, RecipeAnswer, Share, Spread, Tried
from recorder.knowhow.recipes.keeping import Comparison
from recorder.knowhow.recipes.past import MEASURED
from recorder.knowhow.recipes.wilson import percent
from recorder.model.base import Value
from recorder.model.belt import BELT_FIELDS, Belt
from recorder.model.fields import FIELDS
from recorder.model.past import SETTINGS
from recorder.model.plural import counted
from recorder.model.reading import show_value
from recorder.model.recipe import Bound, Recipe, Setting, Window
from recorder.model.units import convert, show

NONE = "-"
_NUMBERS = ("value", "usual", "low", "high")


def answer_lines(found: RecipeAnswer, units: Units) -> list[str]:
    """For people: what the firm keeps and the belt makers give, then what past jobs did."""
    lines = [f"Belt: {belt(found.asked, units)}"]
    for recipe in found.named:
        lines += ["", *recipe_lines(recipe, units)]
    for window in found.windows:
        lines += ["", *window_lines(window, units)]
    if found.exact:
        lines += ["", *_on_belt(found.exact, units)]
    else:
        lines += ["", "No job on just such a belt says how it came out."]
    for near in found.nearest:
        told = f"Nearest: {belt(near.belt, units)} ({', '.join(near.differs)})"
        lines += ["", plain(told), *_on_belt(near, units)]
    shown = (*([found.exact] if found.exact else []), *found.nearest)
    if any(s.spread for on in shown for t in on.tried for s in (*t.settings, *t.measured)):
        lines += ["", "Usual value (lowest to highest, s: standard deviation)"]
    if found.unsettled:
        lines += ["", f"{counted(found.unsettled, 'run')} on such a belt without a settled outcome"]
    return lines


def belt(told: Belt, units: Units) -> str:
    """'TPU CV-120A, 2 mm thick, 70 mm wide, finger, fingers 80 mm'."""
    words = {
        "belt_thickness": "{} thick", "belt_width": "{} wide", "finger_length": "fingers {}",
        "finger_pitch": "pitch {}",
    }  # fmt: skip
    parts = (
        words.get(name, "{}").format(value_text(name, value, units))
        for name, value in told.told().items()
    )
    return plain(", ".join(parts)) or "nothing is told of it"


def _on_belt(on: OnBelt, units: Units) -> list[str]:
    rows = [["", *(tried.outcome for tried in on.tried)]]
    rows.append(["jobs", *(_jobs(tried) for tried in on.tried)])
    rows.append(["last", *(f"{_day(tried.last_at)}, {tried.last_job}" for tried in on.tried)])
    if any(tried.presses for tried in on.tried):
        rows.append(["press", *(_presses(tried) for tried in on.tried)])
    for field, cells in _by_field([tried.settings for tried in on.tried]):
        rows.append([FIELDS[field].label, *_cells(cells, on.tried, units)])
    for field, cells in _by_field([tried.measured for tried in on.tried]):
        label = f"{FIELDS[field].label}, measured"
        rows.append([label, *_cells(cells, on.tried, units)])
    return [_share(on.share), *aligned(rows), *_pooled(on)]


def _pooled(on: OnBelt) -> list[str]:
    names = " and ".join(FIELDS[field].label.lower() for field in on.pooled)
    return [f"Belts of more than one {names} together: tell it for one alone"] if names else []


def _share(share: Share) -> str:
    if not share.of:
        return "no splice whose last run was settled"
    accepted, low, high = map(percent, (share.accepted / share.of, share.low, share.high))
    return (
        f"{share.accepted} of {counted(share.of, 'splice')} accepted ({accepted} %; "
        f"Wilson interval at 95 %: {low} to {high} %)"
    )


def _by_field(
    columns: Sequence[Sequence[Spread]],
) -> Iterable[tuple[str, list[Spread | None]]]:
    """Each field that any column has, in the order of the catalogue, with the column's spread."""
    held = [{spread.field: spread for spread in column} for column in columns]
    for name in FIELDS:
        if any(name in column for column in held):
            yield name, [column.get(name) for column in held]


def _cells(spreads: Sequence[Spread | None], tried: Sequence[Tried], units: Units) -> Iterable[str]:
    for spread, of in zip(spreads, tried, strict=True):
        yield _spread(spread, of.runs, units) if spread else NONE


def _spread(spread: Spread, runs: int, units: Units) -> str:
    """'172 °C (170 to 174, s 1.2 K, in 4 of 5 runs)'."""
    usual = value_text(spread.field, spread.usual, units)
    if spread.below == spread.count:
        usual = f"at most {usual}"
    told = []
    low, high = (_number(spread.field, v, units) for v in (spread.low, spread.high))
    if low != high:  # as they are shown
        told.append(f"{low} to {high}")
        if spread.spread:
            told.append(f"s {_difference(spread.field, spread.spread, units)}")
    if 0 < spread.below < spread.count:
        told.append(f"{counted(spread.below, 'upper bound')} among {spread.count}")
    if spread.count < runs:
        told.append(f"told in {spread.count} of {runs}")
    return f"{usual} ({', '.join(told)})" if told else usual


def _jobs(tried: Tried) -> str:
    runs = f", {counted(tried.runs, 'run')}" if tried.runs != tried.jobs else ""
    return f"{counted(tried.jobs, 'job')}{runs}"


def _presses(tried: Tried) -> str:
    several = len(tried.presses) > 1
    names = (f"{plain(n)} ({count})" if several else plain(n) for n, count in tried.presses)
    return ", ".join(names) or NONE


def recipe_lines(recipe: Recipe, units: Units) -> list[str]:
    """One version with its settings, each in a line."""
    head = f"Recipe {recipe.name}, version {recipe.version}, kept {_day(recipe.kept_at)}"
    head += f" by {recipe.kept_by}" if recipe.kept_by else ""
    head += ", retired" if recipe.retired else ""
    facts = [
        ("belt", belt(recipe.belt, units)),
        ("press", recipe.press or "any, or several"),
        ("from", counted(len(recipe.jobs), "job") if recipe.jobs else "the firm's own entry"),
        *((("why", recipe.reason),) if recipe.reason else ()),
        *((FIELDS[s.field].label, setting_text(s, units)) for s in recipe.settings),
    ]
    return [plain(head), *aligned([f"  {label}", plain(text)] for label, text in facts)]


def setting_text(setting: Setting | None, units: Units) -> str:
    if setting is None:
        return NONE
    used = value_text(setting.field, setting.value, units)
    if setting.low == setting.high:
        return used
    low, high = (_number(setting.field, v, units) for v in (setting.low, setting.high))
    return f"{used} ({low} to {high})"


def listed(recipes: Sequence[Recipe], units: Units) -> list[str]:
    """A heading, and a row for each."""
    rows = [["name", "version", "kept", "press", "belt"]]
    rows += [
        [
            plain(r.name), f"{r.version}{', retired' if r.retired else ''}", _day(r.kept_at),
            plain(r.press or NONE), belt(r.belt, units),
        ]
        for r in recipes
    ]  # fmt: skip
    return aligned(rows)


def window_lines(window: Window, units: Units) -> list[str]:
    thickness = ""
    if window.thickness:
        low, high = (value_text("belt_thickness", mm, units) for mm in window.thickness)
        told = f"{low} to {high}" if window.thickness[0] else f"up to {high}"
        told = f"from {low}" if window.thickness[1] >= ANY_THICKNESS else told
        thickness = f", {told} thick"
    head = f"Window {window.name} of the belt maker: {window.belt_material}{thickness}"
    rows = [[f"  {FIELDS[b.field].label}", bound_text(b, units)] for b in window.bounds]
    return [plain(head), *aligned([["  source", plain(window.source)], *rows])]


def bound_text(bound: Bound | Deviation, units: Units) -> str:
    """'170 °C to 180 °C', 'up to 2.5 bar', 'from 3 min'."""
    low, high = bound.low, bound.high
    if low is None:
        return f"up to {value_text(bound.field, high or 0.0, units)}"
    if high is None:
        return f"from {value_text(bound.field, low, units)}"
    if low == high:
        return value_text(bound.field, low, units)
    return f"{_number(bound.field, low, units)} to {value_text(bound.field, high, units)}"


def deviation_line(deviation: Deviation, units: Units) -> str:
    """'Top platen 185 °C: recipe Oven 70, version 2, has 170 to 175 °C'."""
    label = FIELDS[deviation.field].label
    value = value_text(deviation.field, deviation.value, units)
    gives = {"recipe": ", has", "past": " had", "window": " gives"}[deviation.against]
    return plain(f"{label} {value}: {deviation.whose}{gives} {bound_text(deviation, units)}")


def comparison_lines(found: Comparison, units: Units) -> list[str]:
    rows = [["", plain(found.one.title), plain(found.other.title), ""]]
    rows.append(["press", *(plain(s.press or NONE) for s in (found.one, found.other)), ""])
    for field in found.belt:
        values = (s.belt.told().get(field) for s in (found.one, found.other))
        cells = [NONE if v is None else plain(value_text(field, v, units)) for v in values]
        rows.append([FIELDS[field].label, *cells, "another belt"])
    for row in found.rows:
        cells = [setting_text(row.one, units), setting_text(row.other, units)]
        apart = ""
        if row.one and row.other and row.one.value != row.other.value:
            by = row.other.value - row.one.value
            apart = f"{'+' if by > 0 else '-'}{_difference(row.field, abs(by), units)}"
        rows.append([FIELDS[row.field].label, *cells, apart])
    return aligned(rows)


def value_text(field: str, value: str | float, units: Units) -> str:
    unit = unit_in(field, units)
    if unit is None or isinstance(value, str):
        return show_value(field, value)
    return show(float(str(value_in(field, value, units))), unit)


def _number(field: str, value: float, units: Units) -> str:
    """Without the unit, which stands behind its neighbour."""
    return value_text(field, value, units).rpartition(" ")[0]


def _difference(field: str, value: float, units: Units) -> str:
    """A spread or a change, with one more decimal than a value; of temperatures in kelvin or °F."""
    unit, decimals = str(unit_in(field, units)), 2
    if FIELDS[field].unit in ("degC", "s", "mm"):
        decimals = 1 if FIELDS[field].unit != "mm" else 2
    symbol = {"degC": "kelvin"}.get(unit, unit)
    text = show(_scaled(field, value, units), symbol, decimals)
    number, _, rest = text.partition(" ")
    number = number.rstrip("0").rstrip(".") if "." in number else number
    return f"{number} {rest}"


def _scaled(field: str, difference: float, units: Units) -> float:
    """A difference in the wanted unit, without the offset of its scale."""
    canonical, unit = str(FIELDS[field].unit), str(unit_in(field, units))
    return convert(difference, canonical, unit) - convert(0.0, canonical, unit)


def whole_json(value: Value, units: Units) -> dict[str, Any]:
    """A value of the model as it is, and which unit each field in it has."""
    named = {name: unit_in(name, units) for name in (*BELT_FIELDS, *SETTINGS, *MEASURED)}
    told = {name: unit for name, unit in named.items() if unit}
    return {**as_json(value.model_dump(mode="json"), units), "units": told}


def as_json(value: Any, units: Units) -> Any:
    """A value of the model as it is, its settings in the wanted units, which are named beside."""
    if isinstance(value, list):
        return [as_json(each, units) for each in value]
    if not isinstance(value, dict):
        return value
    found = {key: as_json(each, units) for key, each in value.items()}
    field = found.get("field")
    if isinstance(field, str) and field in FIELDS:
        found["unit"] = unit_in(field, units)
        for key in _NUMBERS:
            if key in found:
                found[key] = value_in(field, found[key], units)
        if found.get("spread") is not None:
            found["spread"] = float(f"{_scaled(field, found['spread'], units):.9g}")
    if found.get("thickness"):  # of a window
        found["thickness"] = [value_in("belt_thickness", mm, units) for mm in found["thickness"]]
    for name in found.keys() & FIELDS.keys():
        if isinstance(found[name], float):
            found[name] = value_in(name, found[name], units)
    return found


def _day(at: datetime) -> str:
    return at.astimezone().date().isoformat()
