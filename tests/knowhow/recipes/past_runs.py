"""Invented press runs for the tests of recipes."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

from recorder.model.belt import Belt
from recorder.model.past import PastRun
from recorder.model.recipe import Recipe, Setting

NOW = datetime(2026, 11, 25, 20, 45, tzinfo=UTC)
BELT = Belt(belt_material="TPU CV-120A", belt_thickness=2.0, belt_width=70.0, guide_profile="flat")
GOOD = PastRun(
    job="a", at=NOW, outcome="accepted", press="P 600", pressure=2.2, top_temperature=172.0,
    **BELT.told(),  # type: ignore[arg-type]
)  # fmt: skip


def run(job: str, days: int = 0, **changes: Any) -> PastRun:
    return replace(GOOD, job=job, at=NOW - timedelta(days=days), **changes)


def recipe(name: str, low: float = 170.0, high: float = 175.0, **changes: Any) -> Recipe:
    setting = Setting(field="top_temperature", value=172.0, low=low, high=high)
    told = {"name": name, "belt": BELT, "settings": (setting,), "kept_at": NOW, "press": "P 600"}
    return Recipe.model_validate(told | changes)
