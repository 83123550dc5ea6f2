"""Which belts are most like one that nobody joined yet, and what is another about them.

The distance is a sum of costs. Common practice, no source: the material says most about how a belt
melts; then how much of it has to be heated through, and what has to be kept in shape; the width
says little, as a press heats all of it alike.
"""

from __future__ import annotations

import functools
import math
import re
from collections.abc import Iterator, Sequence

from recorder.knowhow.recipes.belts import alike
from recorder.model.belt import Belt
from recorder.model.fields import choice_label
from recorder.model.units import show

# Cost of a material with no word in common; nearer ones by the share of words that they have.
_MATERIAL = 16.0
# Cost of another choice.
_CHOICES = {"guide_profile": 2.0, "splice_type": 2.0}
# Cost of a size that is double or half, and of others by the logarithm.
_SIZES = {"belt_thickness": 2.0, "finger_length": 1.0, "finger_pitch": 1.0, "belt_width": 0.25}
# What is asked for and not told of the other costs as much as a size half as large again, or as
# half of another choice.
_UNTOLD_SIZE = math.log2(1.5)
_UNTOLD_CHOICE = 0.5

# What a material is made of, by the words for it; one family does not stand in for another.
# Common practice, no source.
_FAMILIES = {
    "tpu": "tpu", "pu": "tpu", "polyurethane": "tpu", "urethane": "tpu",
    "pvc": "pvc", "vinyl": "pvc",
    "tpee": "tpee", "polyester": "tpee", "copolyester": "tpee",
    "tpo": "tpo", "pe": "tpo", "pp": "tpo", "polyolefin": "tpo", "polyethylene": "tpo",
    "polypropylene": "tpo",
}  # fmt: skip
# What is a family by itself, and where another one is named the fabric in the belt.
_FABRIC = "polyester"
# Words that say nothing of how a belt melts.
_SAY_NOTHING = {
    *("belt", "belting", "conveyor", "antistatic", "food", "grade", "matt", "rough", "smooth"),
    *("black", "blue", "brown", "clear", "green", "grey", "gray", "orange", "red", "white"),
    "yellow",
}

_NAMES = {
    "belt_material": "material", "belt_thickness": "thickness", "belt_width": "width",
    "guide_profile": "guide profile", "splice_type": "splice type",
    "finger_length": "finger length", "finger_pitch": "finger pitch",
}  # fmt: skip


def nearest(asked: Belt, belts: Sequence[tuple[Belt, int]], most: int = 3) -> list[Belt]:
    """Those most like it, the nearest first; of equals the one with more runs.

    belts: with their number of runs. A belt whose material is unknown, or has no word in common
    with the asked one, is none of them: its settings would mislead.
    """
    costs = _material_costs(asked, belts)
    of_near_material = sorted(
        (each for each in belts if each[0].belt_material in costs),
        key=lambda each: costs[each[0].belt_material],
    )
    best: list[tuple[float, int, str, Belt]] = []
    for belt, runs in of_near_material:
        cost = costs[belt.belt_material]
        if len(best) == most and cost > best[-1][0]:
            break  # all that follow are further away by their material alone
        cost += _of_choices(asked, belt) + _of_sizes(asked, belt)
        if len(best) < most or cost <= best[-1][0]:
            best = sorted([*best, (cost, -runs, belt.shown(), belt)], key=lambda b: b[:3])[:most]
    return [belt for *_, belt in best]


def differs(asked: Belt, other: Belt) -> tuple[str, ...]:
    """What of the other belt is not as asked, in words: '20 mm wider', 'thickness not told'."""
    return tuple(_differences(asked, other))


def _differences(asked: Belt, other: Belt) -> Iterator[str]:
    for field, wanted in asked.told().items():
        has = getattr(other, field)
        if has is None:
            yield f"{_NAMES[field]} not told"
        elif alike(wanted, has):
            continue
        elif isinstance(wanted, float):
            yield _in_size(field, wanted, has)
        elif field == "belt_material":
            yield f"{has} instead of {wanted}"
        else:
            yield f"{choice_label(has)} instead of {choice_label(str(wanted))}"


def _in_size(field: str, wanted: float, has: float) -> str:
    """A width by how much, as that is what people see; the others as what they are."""
    if field == "belt_width":
        return f"{show(abs(has - wanted), 'mm')} {'wider' if has > wanted else 'narrower'}"
    if field == "belt_thickness":
        return f"{show(has, 'mm')} instead of {show(wanted, 'mm')} thick"
    return f"{_NAMES[field]} {show(has, 'mm')} instead of {show(wanted, 'mm')}"


def _material_costs(asked: Belt, belts: Sequence[tuple[Belt, int]]) -> dict[str | None, float]:
    """By material, of those that have a word in common with the asked one."""
    wanted, family = _words(asked.belt_material or "")
    costs: dict[str | None, float] = {}
    for material in {belt.belt_material for belt, _ in belts}:
        words, other = _words(material or "")
        shared = wanted & words
        common = len(shared)
        # A number alone that two have in common says nothing.
        if not all(map(str.isdecimal, shared)) and (family & other or not (family and other)):
            costs[material] = _MATERIAL * (1 - common / len(wanted | words))
    return costs


@functools.lru_cache(maxsize=4096)
def _words(material: str) -> tuple[frozenset[str], frozenset[str]]:
    """Words and numbers that tell of it, and the families that they name: of 'TPU CV-120A' these
    are tpu, cv, 120a and tpu.
    """
    words = set(re.findall(r"[^\W_]+", material.casefold())) - _SAY_NOTHING
    made_of = {_FAMILIES[word] for word in words - {_FABRIC} if word in _FAMILIES}
    if made_of:
        words -= {_FABRIC}
    plain = frozenset(_FAMILIES.get(word, word) for word in words)
    return plain, plain & frozenset(_FAMILIES.values())


def _of_choices(asked: Belt, other: Belt) -> float:
    total = 0.0
    for field, cost in _CHOICES.items():
        wanted, has = getattr(asked, field), getattr(other, field)
        if wanted is not None and wanted != has:
            total += cost * (_UNTOLD_CHOICE if has is None else 1)
    return total


def _of_sizes(asked: Belt, other: Belt) -> float:
    total = 0.0
    for field, cost in _SIZES.items():
        wanted, has = getattr(asked, field), getattr(other, field)
        if wanted is not None and wanted != has:
            known = has and wanted  # a size of nothing is a slip of whoever told it
            total += cost * (abs(math.log2(has / wanted)) if known else _UNTOLD_SIZE)
    return total
