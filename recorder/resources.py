"""Where the files that ship with the program lie: beside the package, or inside the wheel."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def shipped(folder: str) -> Path:
    """Path of ``report_templates`` or ``demo_media``, in a wheel or in a checkout."""
    inside = _PACKAGE / folder
    return inside if inside.is_dir() else _PACKAGE.parent / folder
