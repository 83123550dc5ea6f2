"""What a live page shows, as pieces of HTML, one for each region of it: one source of truth."""

from __future__ import annotations

from collections.abc import Mapping

from recorder.live.view import Shot, View
from recorder.model.fields import FIELDS
from recorder.web.pages.rendering import part

# Region of the page -> its template. Each sees ``view``, and nothing else.
REGIONS: Mapping[str, str] = {
    region: f"live/{region}.html"
    for region in (
        "sign", "question", "answer", "known", "timers", "readings", "missing", "talk", "photos",
        "gaps", "acts",
    )
}  # fmt: skip


def parts(view: View) -> dict[str, str]:
    return {region: part(template, view=view) for region, template in REGIONS.items()}


def fields() -> tuple[tuple[str, str], ...]:
    """Name and label of each field, in the order of the record, for typing a value."""
    return tuple((field.name, field.label) for field in FIELDS.values())


def newest(view: View) -> Shot | None:
    return view.shots[-1] if view.shots else None
