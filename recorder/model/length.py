"""The length of an endless belt over two pulleys, and what is cut for it; the values alone."""

from __future__ import annotations

from pydantic import Field as Constraint

from recorder.model.base import Value


class Drive(Value):
    """An open drive over two pulleys; mm. pulley_1, pulley_2: outer diameters. centres: distance
    of the axes, with the take-up where the belt is to be joined. thickness: of the belt, whose
    middle runs at the pulley's radius plus half of it; 0 where the diameters are meant there.
    """

    pulley_1: float = Constraint(gt=0)
    pulley_2: float = Constraint(gt=0)
    centres: float = Constraint(gt=0)
    thickness: float = Constraint(0.0, ge=0)


class Allowances(Value):
    """mm. fingers: that one end reaches into the other, the length of a finger; 0 for a butt.
    take_up: that the belt is made longer, or with a minus shorter, so that the take-up has way.
    trim: cut off each end when it is punched.
    """

    fingers: float = Constraint(0.0, ge=0)
    take_up: float = 0.0
    trim: float = Constraint(0.0, ge=0)


class BeltLength(Value):
    """What was worked out for a belt, kept in the job; mm, elongation in percent.

    endless: along the middle of the belt, exact. approximate: by the usual formula of the trade,
    approximation_error: approximate - endless. joined: length that the belt is to have when it is
    joined, slack. cut: of the piece before punching, between square cuts. punched: after trim,
    from tip to tip. mark_spacing: distance of the tension marks to draw on the slack belt.
    elongation: that is wanted, mark_tensioned: the distance that the marks then have; None where
    none was told.
    """

    drive: Drive | None = None
    allowances: Allowances = Allowances()
    endless: float
    approximate: float | None = None
    approximation_error: float | None = None
    joined: float
    cut: float
    punched: float
    mark_spacing: float
    elongation: float | None = None
    mark_tensioned: float | None = None
