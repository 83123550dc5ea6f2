"""Rendered scenes in a folder: NAME.jpg and NAME.json with what is true of it."""

from __future__ import annotations

import dataclasses
import hashlib
import json
import tempfile
from pathlib import Path
from typing import Any

import numpy as np

from tests.bench.seams.render import render
from tests.bench.seams.scene import Scene
from tests.bench.seams.sensor import coded, save
from tests.bench.seams.truth import truth


def put(scene: Scene, folder: Path) -> dict[str, Any]:
    """Render a scene unless the folder has its picture as it is now; its record, as in the JSON."""
    picture, note = folder / f"{scene.name}.jpg", folder / f"{scene.name}.json"
    shown = dataclasses.replace(scene, verdict="good", factors=(), limits=())
    mark = hashlib.sha256(repr(shown).encode()).hexdigest()[:16]
    made = record(scene, mark)
    if note.exists() and picture.exists():
        kept: dict[str, Any] = json.loads(note.read_text(encoding="utf-8"))
        if kept["mark"] == mark:
            if kept != made:
                note.write_text(json.dumps(made, indent=1) + "\n", encoding="utf-8")
            return made
    light = render(scene)
    if not np.all(np.isfinite(light)):
        raise ArithmeticError(f"{scene.name}: light that is no number")
    # Complete, or not there: several runs may share a folder.
    with tempfile.TemporaryDirectory(dir=folder) as passing:
        drawn, noted = Path(passing) / picture.name, Path(passing) / note.name
        save(coded(light, scene.sensor, scene.light), drawn, scene.camera, scene.sensor)
        noted.write_text(json.dumps(made, indent=1) + "\n", encoding="utf-8")
        drawn.replace(picture)
        noted.replace(note)
    return made


def record(scene: Scene, mark: str) -> dict[str, Any]:
    """All that scoring and a person need to know of a scene."""
    true, card = truth(scene), scene.card
    return _plain({
        "name": scene.name,
        "mark": mark,
        "verdict": scene.verdict,
        "factors": list(scene.factors),
        "megapixels": scene.camera.width * scene.camera.height / 1e6,
        "conditions": {
            "card_on": card.on,
            "belt_thickness_mm": round(float(np.mean(scene.belt.heights)), 2),
            "print_scale": card.known_scale,
            "limits": [list(limit) for limit in scene.limits],
        },
        "truth": None if true is None else dataclasses.asdict(true),
        "scene": {
            part: dataclasses.asdict(getattr(scene, part))
            for part in ("camera", "belt", "card", "light", "blur", "sensor")
        },
    })  # fmt: skip


def _plain(value: Any) -> Any:
    """Without numpy's own numbers, which JSON does not know."""
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return value.item() if isinstance(value, np.generic) else value
