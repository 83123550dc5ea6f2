"""The belts of a synthetic firm and what its presses do to them; planted, so that it is known.

Every name is invented, every setting is a number without a meaning for real belts.
"""

from __future__ import annotations

import functools
import random
from typing import NamedTuple

from recorder.model.belt import Belt
from tests.bench.archive import words

JOBS_A_BELT = 33
BELTS_A_MATERIAL = 25
JOBS_A_PRESS = 500
THICKNESSES = (1.6, 2.0, 2.5, 3.2, 4.0, 5.0)
FINGERS = ((60.0, 15.0), (80.0, 20.0), (110.0, 30.0))
PROFILES = ("flat", "v_guided", "notched_v_guided")

# Mean and standard deviation of what a stable press does.
STABLE = {
    "finger_gap": (0.40, 0.06),
    "cycle_time": (900.0, 30.0),
    "width_error": (0.0, 0.6),
    "edge_offset": (0.50, 0.06),
}
# What shifts by one standard deviation on every fourth press, and which way; on the first none.
SHIFTS = {1: ("finger_gap", 1), 2: ("cycle_time", 1), 3: ("width_error", -1)}
SHIFTED_AT = 0.6  # share of the jobs of a press


class Kind(NamedTuple):
    """A belt that is joined again and again. weight: how often. share: of splices that are good at
    the first pressing. settings: with which most of them are.
    """

    belt: Belt
    weight: float
    share: float
    settings: dict[str, float]


@functools.lru_cache(maxsize=4)
def kinds(jobs: int) -> tuple[Kind, ...]:
    """Of a material the first one differs from each other in thickness at least."""
    number = max(12, jobs // JOBS_A_BELT)
    return tuple(_kind(at, 1 / (1 + at) ** 0.5) for at in range(number))


def presses(jobs: int) -> int:
    return max(4, jobs // JOBS_A_PRESS)


def shift(press: int) -> tuple[str, int] | None:
    """What shifts on a press, and which way."""
    return SHIFTS.get(press % 4)


def shifted_from(press: int, jobs: int) -> int:
    """Which of its jobs, from 0, is the first after the shift."""
    ours = len(range(press, jobs, presses(jobs)))
    return int(ours * SHIFTED_AT) + press % 7


def unknown_belts(jobs: int) -> list[tuple[Belt, Kind]]:
    """Belts that nobody joined, each with the one that is most like it: only their width differs,
    and every other belt differs in more.
    """
    every = kinds(jobs)
    return [
        (kind.belt.model_copy(update={"belt_width": (kind.belt.belt_width or 0) + 7.0}), kind)
        for kind in every[::BELTS_A_MATERIAL]
    ]


def _kind(at: int, weight: float) -> Kind:
    dice = random.Random(f"belt {at}")
    material, place = divmod(at, BELTS_A_MATERIAL)
    # The widths of one thickness, profile and finger of a material are all different.
    thickness = THICKNESSES[0] if place == 0 else THICKNESSES[1 + place % 5]
    finger_length, finger_pitch = FINGERS[dice.randrange(3)]
    belt = Belt(
        belt_material=f"{words.PLACES[material]} TPU {60 + material % 36}A",
        belt_thickness=thickness,
        belt_width=200.0 + 40.0 * place,
        guide_profile=PROFILES[dice.randrange(3)],
        splice_type="finger",
        finger_length=finger_length,
        finger_pitch=finger_pitch,
    )
    settings = {
        "pressure": dice.randrange(15, 35) / 10,
        "top_temperature": float(dice.randrange(160, 186)),
        "bottom_temperature": float(dice.randrange(156, 182)),
        "dwell_time": float(dice.randrange(120, 420, 15)),
        "cool_down_temperature": float(dice.randrange(45, 66)),
    }
    return Kind(belt, weight, 0.45 + 0.5 * dice.random(), settings)
