"""The length of an endless belt over two pulleys, exact and as the trade works it out.

An open drive: both pulleys turn the same way, and the belt does not cross itself. The length is
that along the middle of the belt's thickness, which neither stretches nor is pressed together where
it bends; common practice, no source, and a belt maker may name another line. So each pulley counts
with its diameter and the thickness once. With D and d of these, C between the axes and
sin a = (D - d) / 2C::

    exact    L = 2 C cos a + pi (D + d) / 2 + a (D - d)
    usual    L = 2 C + pi (D + d) / 2 + (D - d)^2 / 4C

The exact one is plain geometry: two straight stretches that touch both circles, and an arc around
each. The usual one is how its series in (D - d) / 2C begins; it is never too long. What is cut for
the length is told in ``cutting``.
"""

from __future__ import annotations

import math

from recorder.knowhow.preparing import cutting, marks
from recorder.model.base import Value
from recorder.model.length import Allowances, BeltLength, Drive

NO_ALLOWANCES = Allowances()


class Centres(Value):
    """Between the axes over which a belt of a given length runs; mm. approximate: by the usual
    formula solved for it, error: approximate - exact.
    """

    exact: float
    approximate: float
    error: float


def belt_length(
    drive: Drive,
    allowances: Allowances = NO_ALLOWANCES,
    mark_spacing: float | None = None,
    elongation: float | None = None,
    inches: bool = False,
) -> BeltLength:
    """The length over a drive, and what is cut for it.

    mark_spacing: mm, None for the usual one, which is round in inches where ``inches`` says so.
    elongation: wanted, percent. Raises ValueError that says what cannot be.
    """
    endless = exact(drive)
    approximate = usual(drive)
    worked_out = of_endless(endless, allowances, mark_spacing, elongation, inches)
    return worked_out.model_copy(
        update={
            "drive": drive,
            "approximate": approximate,
            "approximation_error": approximate - endless,
        }
    )


def of_endless(
    endless: float,
    allowances: Allowances = NO_ALLOWANCES,
    mark_spacing: float | None = None,
    elongation: float | None = None,
    inches: bool = False,
) -> BeltLength:
    """What is cut where the endless length is known, as measured on the old belt; mm.

    Raises ValueError that says what cannot be.
    """
    joined = cutting.joined(endless, allowances.take_up, elongation)
    spacing = marks.spacing(joined, inches) if mark_spacing is None else mark_spacing
    if not 0 < spacing <= joined:
        raise ValueError(
            f"tension marks {spacing:g} mm apart do not fit on a belt of {joined:.0f} mm"
        )
    return BeltLength(
        allowances=allowances,
        endless=endless,
        joined=joined,
        punched=cutting.punched(joined, allowances),
        cut=cutting.cut(joined, allowances),
        mark_spacing=spacing,
        elongation=elongation,
        mark_tensioned=None if elongation is None else marks.tensioned(spacing, elongation),
    )


def exact(drive: Drive) -> float:
    """mm, by the exact formula. Raises ValueError where the pulleys cannot stand like this."""
    check(drive)
    return _exact(drive.centres, *_bent(drive))


def usual(drive: Drive) -> float:
    """mm, by the usual formula; never above the exact one."""
    check(drive)
    large, small = _bent(drive)
    return 2 * drive.centres + _half_turns(large, small) + (large - small) ** 2 / 4 / drive.centres


def centres(length: float, pulley_1: float, pulley_2: float, thickness: float = 0.0) -> Centres:
    """Where the axes stand with a belt of this length; all in mm.

    The usual formula solved for C, with K = L - pi (D + d) / 2:
    C = (K + sqrt(K^2 - 2 (D - d)^2)) / 4.
    Raises ValueError for a belt that is shorter than the pulleys allow.
    """
    touching = (pulley_1 + pulley_2) / 2
    nearest = Drive(pulley_1=pulley_1, pulley_2=pulley_2, centres=touching, thickness=thickness)
    large, small = _bent(nearest)
    shortest = _exact(touching, large, small)
    if not length > shortest:
        raise ValueError(
            f"a belt of {length:.1f} mm is too short: where these pulleys touch, it is "
            f"{shortest:.1f} mm long"
        )
    found = _where_exact(length, large, small)
    straight = length - _half_turns(large, small)
    under_root = straight**2 - 2 * (large - small) ** 2
    approximate = (straight + math.sqrt(max(under_root, 0.0))) / 4
    return Centres(exact=found, approximate=approximate, error=approximate - found)


def check(drive: Drive) -> None:
    """Raises ValueError for pulleys that would lie in one another."""
    touching = (drive.pulley_1 + drive.pulley_2) / 2
    if drive.centres <= touching:
        raise ValueError(
            f"pulleys of {drive.pulley_1:g} mm and {drive.pulley_2:g} mm touch when their axes "
            f"are {touching:g} mm apart, and these are {drive.centres:g} mm apart"
        )


def _bent(drive: Drive) -> tuple[float, float]:
    """Diameters along the middle of the belt, the larger first; mm."""
    around = (drive.pulley_1 + drive.thickness, drive.pulley_2 + drive.thickness)
    return max(around), min(around)


def _half_turns(large: float, small: float) -> float:
    return math.pi * (large + small) / 2


def _exact(between: float, large: float, small: float) -> float:
    angle = math.asin((large - small) / 2 / between)
    straight = 2 * between * math.cos(angle)
    return straight + _half_turns(large, small) + angle * (large - small)


def _where_exact(length: float, large: float, small: float) -> float:
    """By Newton's method. The length grows by 2 cos a with each mm between the axes, the faster the
    farther they are; so from the far side, where it starts, each step stays there.
    """
    between = (length - _half_turns(large, small)) / 2
    for _ in range(50):
        slope = 2 * math.cos(math.asin((large - small) / 2 / between))
        step = (_exact(between, large, small) - length) / slope
        between -= step
        if abs(step) <= 1e-12 * between:
            break
    return between
