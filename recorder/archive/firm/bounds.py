"""Settings of a press as a firm writes them into its files: '172 degC', '170 degC..180 degC'."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from recorder.archive.firm.entries import Shape
from recorder.archive.firm.shapes import in_unit, span_in
from recorder.model.fields import FIELDS

Ends = tuple[float | None, float | None]


def ends(field: str) -> Callable[[object], Ends]:
    """'170 degC..180 degC', '170..180 degC', '..180 degC' or '170 degC..'."""
    unit = str(FIELDS[field].unit)

    def shape(value: object) -> Ends:
        low, dots, high = (part.strip() for part in str(value).partition(".."))
        if dots and high and not low:
            return None, in_unit(unit)(high)
        if dots and low and not high:
            return in_unit(unit)(low), None
        return span_in(unit)(value)

    return shape


def settings_in(shapes: Mapping[str, Shape]) -> Shape:
    """A table of settings, each of which has its own shape. Errors name the setting."""

    def shape(value: object) -> dict[str, object]:
        if not isinstance(value, dict) or not value:
            raise ValueError("give at least one setting with its unit")
        meant = {}
        for name, told in value.items():
            if name not in shapes:
                raise ValueError(f"{name} is no setting of a press; use {', '.join(shapes)}")
            try:
                meant[name] = shapes[name](told)
            except ValueError as error:
                raise ValueError(f"{name}: {error}") from error
        return meant

    return shape
