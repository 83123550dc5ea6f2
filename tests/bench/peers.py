"""Who reads the sentences: our grammar, and the peers where they are installed.

``pip install quantulum3`` and ``pip install recognizers-text-suite``; the latter is of 2019 and
wants emoji 1.1 beside it.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Callable
from typing import Any

from recorder.notes.quantities import find_quantities
from tests.bench.suites import Stated, kind_of, scored_unit

Reader = Callable[[str], list[Stated]]


def readers() -> dict[str, Reader]:
    found: dict[str, Reader] = {"ours": _ours}
    if importlib.util.find_spec("quantulum3"):
        found["quantulum3"] = _quantulum
    if importlib.util.find_spec("recognizers_number_with_unit"):
        found["recognizers"] = _recognizers
    return found


def _ours(text: str) -> list[Stated]:
    return [Stated(q.value, q.unit, q.start, q.end) for q in find_quantities(text)]


def _quantulum(text: str) -> list[Stated]:
    from quantulum3 import parser

    try:
        found = parser.parse(text)
    except Exception:  # it fails on some of its own sentences
        return []
    return [Stated(q.value, unit, *q.span) for q in found if (unit := scored_unit(q.unit.name))]


def _recognizers(text: str) -> list[Stated]:
    from recognizers_date_time import recognize_datetime
    from recognizers_number import recognize_percentage
    from recognizers_number_with_unit import recognize_dimension, recognize_temperature

    stated = []
    for recognise in (recognize_temperature, recognize_dimension, recognize_percentage):
        for result in _tried(recognise, text):
            value = str((result.resolution or {}).get("value")).rstrip("%")
            unit = scored_unit(str((result.resolution or {}).get("unit", "percent")))
            if _is_number(value) and unit and kind_of(unit):
                stated.append(Stated(float(value), unit, result.start, result.end + 1))
    for result in _tried(recognize_datetime, text):
        for value in (result.resolution or {}).get("values", [])[:1]:
            if value.get("type") == "duration" and _is_number(str(value.get("value"))):
                stated.append(Stated(float(value["value"]), "s", result.start, result.end + 1))
    return stated


def _tried(recognise: Callable[[str, str], Any], text: str) -> Any:
    try:
        return recognise(text, "en-us")
    except Exception:  # as with quantulum3
        return []


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True
