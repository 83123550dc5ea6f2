"""What a photo of a seam is measured for, as people read it: one row a characteristic."""

from __future__ import annotations

from dataclasses import dataclass

from recorder.model.measurement import LIMITED_AS


@dataclass(frozen=True)
class Characteristic:
    """name: in ``SeamMeasurement``. label: for people. limited: by which name, None if never."""

    name: str
    label: str
    limited: str | None = None


_LIMITED = {measured: limit for limit, measured in LIMITED_AS.items()}
_LABELS = {
    "gap_max": "Largest finger gap",
    "gap_mean": "Mean finger gap",
    "splice_width": "Splice width",
    "belt_width": "Belt width",
    "belt_width_left": "Belt width, left end",
    "belt_width_right": "Belt width, right end",
    "edge_offset": "Edge offset",
    "edge_offset_upper": "Edge offset, upper edge",
    "edge_offset_lower": "Edge offset, lower edge",
    "skew": "Skew",
    "bow": "Bow",
    "finger_pitch": "Finger pitch",
    "finger_length": "Finger length",
}

CHARACTERISTICS = {
    name: Characteristic(name, label, _LIMITED.get(name)) for name, label in _LABELS.items()
}


def limit_label(limit: str) -> str:
    """What a limit is called in a sentence: 'finger gap', 'edge offset', 'skew'."""
    return limit.replace("_", " ")
