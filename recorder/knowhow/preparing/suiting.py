"""Whether the press and the template that were chosen suit the belt and the settings asked for.

Nothing is forbidden: the firm's list may be behind, and somebody looks.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from recorder.knowhow.preparing.proposal import Proposal
from recorder.model.belt import Belt, folded
from recorder.model.fields import FIELDS
from recorder.model.inventory import Inventory, Press
from recorder.model.units import show

_TEMPERATURES = ("preheat_temperature", "top_temperature", "bottom_temperature")
_ROUNDING = 1e-6  # that a size in inches, or a temperature in degF, comes back with


def unsuited(
    belt: Belt,
    settings: Mapping[str, float],
    inventory: Inventory,
    proposal: Proposal,
    press: str | None,
    template: str | None,
) -> tuple[str, ...]:
    """What speaks against them, each as 'press: …' or 'template: …'; nothing where a name is none
    of the inventory's. settings: asked for, in canonical units.
    """
    found = []
    for each in inventory.presses:
        if press is not None and folded(each.name) == folded(press):
            found += [f"press: {each.name} {reason}" for reason in _beyond(each, belt, settings)]
    for candidate in proposal.unfit:
        name = candidate.template.name
        if template is not None and folded(name) == folded(template):
            found.append(f"template: {name} does not fit, {'; '.join(candidate.reasons)}")
    return tuple(found)


def _beyond(press: Press, belt: Belt, settings: Mapping[str, float]) -> Iterator[str]:
    width, length = press.platen_width, press.platen_length
    if _above(belt.belt_width, width):
        has = show(belt.belt_width or 0, "mm")
        yield f"takes {show(width or 0, 'mm')} across, the belt has {has}"
    if _above(belt.finger_length, length):
        fingers = show(belt.finger_length or 0, "mm")
        yield f"takes {show(length or 0, 'mm')} along the belt, the fingers are {fingers}"
    limits = {**dict.fromkeys(_TEMPERATURES, press.top), "pressure": press.pressure}
    for name, most in limits.items():
        if _above(settings.get(name), most):
            unit = str(FIELDS[name].unit)
            asked = f"{FIELDS[name].label.lower()} {show(settings[name], unit)}"
            yield f"goes to {show(most or 0, unit)}, asked for is {asked}"


def _above(value: float | None, most: float | None) -> bool:
    return value is not None and most is not None and value > most + _ROUNDING
