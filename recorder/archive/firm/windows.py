"""The settings that belt makers give for kinds of belt, as the firm entered them in one file.

::

    [[window]]
    name = "TPU 2 mm"                    each once
    belt_material = "TPU"                words that the material of the belt contains
    belt_thickness = "1 mm..3 mm"        left out: any
    source = "Data sheet 12, 2026"       where it is written

    [window.settings]
    top_temperature = "170 degC..180 degC"
    pressure = "..2.5 bar"               from, to, or both, each with its unit

In a table, whose name ends in csv, the settings are columns like the others.
"""

from __future__ import annotations

from pathlib import Path

from recorder.archive.disk import lock
from recorder.archive.disk.home import Home
from recorder.archive.firm.bounds import ends, settings_in
from recorder.archive.firm.entries import Entry, Shape, each_once, made, read_list, understood
from recorder.archive.firm.replacing import replace
from recorder.archive.firm.shapes import words
from recorder.model.past import SETTINGS
from recorder.model.recipe import Bound, Window

_KINDS = ("window",)
ANY_THICKNESS = 1e6  # mm: no upper end


def windows(home: Home) -> tuple[Window, ...]:
    """All of a home, in their order; none where there is no file. Raises BadFirmFile."""
    return read(home.windows) if home.windows.exists() else ()


def take(home: Home, path: Path) -> tuple[Window, ...]:
    """Let a file take the place of the one before, as a whole or not at all.

    Raises FileMissing, InputRefused, BadFirmFile, OutputUnwritable, Busy.
    """
    listed = read_list(path, _KINDS)
    found = _windows(listed.entries)
    with lock.held(home.windows):
        replace(home.windows, listed.toml)
    return found


def read(path: Path) -> tuple[Window, ...]:
    """Raises FileMissing, InputRefused, or BadFirmFile that names the entry."""
    return _windows(read_list(path, _KINDS).entries)


def _windows(entries: tuple[Entry, ...]) -> tuple[Window, ...]:
    found = [(entry, _window(entry)) for entry in entries]
    each_once(((entry, (window.name,)) for entry, window in found), "the name")
    return tuple(window for _, window in found)


def _window(entry: Entry) -> Window:
    meant = understood(entry, _SHAPES)
    settings = {name: meant.pop(name) for name in SETTINGS if name in meant}
    table = meant.pop("settings", {})
    settings |= table if isinstance(table, dict) else {}
    bounds = tuple(settings[name] for name in SETTINGS if name in settings)
    told = {"thickness": meant.pop("belt_thickness", None), "bounds": bounds}
    return made(entry, Window, meant | told)


def _thickness(value: object) -> tuple[float, float]:
    low, high = ends("belt_thickness")(value)
    return low or 0.0, ANY_THICKNESS if high is None else high


def _bound(field: str) -> Shape:
    def shape(value: object) -> Bound:
        low, high = ends(field)(value)
        return Bound(field=field, low=low, high=high)

    return shape


_SETTINGS = {field: _bound(field) for field in SETTINGS}
_SHAPES = {
    "name": words,
    "belt_material": words,
    "belt_thickness": _thickness,
    "source": words,
    "settings": settings_in(_SETTINGS),
    **_SETTINGS,
}
