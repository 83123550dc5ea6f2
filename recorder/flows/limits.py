"""Which limits are in force, and who set them.

::

    job card ─► type of the belt ─► house        by name: the first that speaks of it counts
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from recorder.errors import BadLimits, FileMissing
from recorder.model.base import Value
from recorder.model.measurement import LIMITED_AS, NOMINAL, Limit
from recorder.model.reading import Reading, Standing
from recorder.settings import BeltLimits, Limits, PhotoSettings, first_fault

_TABLES = ("limit", "limits")


class _File(Value):
    limit: Limits


def in_force(
    settings: PhotoSettings, told: Mapping[str, Reading], own: tuple[Limit, ...] = ()
) -> tuple[Limit, ...]:
    """The limits for one belt, in the order of ``LIMITED_AS``.

    told: readings in force, by field; what is doubtful selects no type of belt and is no nominal
    size. own: of the job card.
    """
    known = _known(told)
    layers = [own]
    layers += [
        _from(f"belt type {belt.name}", belt.limits)
        for belt in settings.belt_limits
        if _fits(belt, known)
    ]
    layers.append(_from("settings", settings.limits))
    first: dict[str, Limit] = {}
    for limit in (limit for layer in layers for limit in layer):
        first.setdefault(limit.name, limit)
    return around(tuple(first[name] for name in LIMITED_AS if name in first), told)


def around(limits: tuple[Limit, ...], told: Mapping[str, Reading]) -> tuple[Limit, ...]:
    """The same, tolerances counted from the sizes that were told, where they were."""
    known = _known(told)
    nominals = [known.get(NOMINAL.get(limit.name, "")) for limit in limits]
    return tuple(
        limit.about(float(size.value), size.unit or limit.unit) if size else limit
        for limit, size in zip(limits, nominals, strict=True)
    )


def _known(told: Mapping[str, Reading]) -> dict[str, Reading]:
    return {name: r for name, r in told.items() if r.standing is not Standing.DOUBTFUL}


def _fits(belt: BeltLimits, known: Mapping[str, Reading]) -> bool:
    material = str(known["belt_material"].value).casefold() if "belt_material" in known else ""
    spans = {"belt_thickness": belt.belt_thickness_mm, "belt_width": belt.belt_width_mm}
    return all(word in material for word in belt.belt_material.casefold().split()) and all(
        name in known and span[0] <= float(known[name].value) <= span[1]
        for name, span in spans.items()
        if span is not None
    )


def _from(whom: str, limits: Iterable[Limit]) -> tuple[Limit, ...]:
    """The same with a source, where one does not name its own."""
    return tuple(
        limit if limit.source else limit.model_copy(update={"source": whom}) for limit in limits
    )


def of_job_card(limits: tuple[Limit, ...]) -> tuple[Limit, ...]:
    return _from("job card", limits)


def read(path: Path) -> tuple[Limit, ...]:
    """Limits from a file: the ``[[limit]]`` entries of a job card as TOML, or the same as JSON.

    Raises FileMissing, or BadLimits that names the entry.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
        content = json.loads(text) if path.suffix.lower() == ".json" else tomllib.loads(text)
    except FileNotFoundError as error:
        raise FileMissing(path=path) from error
    except RecursionError as error:
        raise BadLimits(path=path, detail="it is nested too deeply") from error
    except (OSError, ValueError) as error:  # bad UTF-8, JSON and TOML are ValueErrors
        raise BadLimits(path=path, detail=str(error)) from error
    try:
        file = _File.model_validate({"limit": _entries(path, content)})
    except ValidationError as error:
        raise BadLimits(path=path, detail=first_fault(error)) from error
    return _from(f"limits file {path.name}", file.limit)


def _entries(path: Path, content: Any) -> Any:
    if isinstance(content, list) and content:
        return content
    named = content if isinstance(content, dict) else {}
    stranger = next((name for name in named if name not in _TABLES), None)
    if stranger is not None:
        raise BadLimits(path=path, detail=f"{stranger!r} is no list of limits")
    entries = [entry for name in _TABLES if isinstance(named.get(name), list)
               for entry in named[name]]  # fmt: skip
    if not entries:
        raise BadLimits(path=path, detail="there is no limit in it")
    return entries
