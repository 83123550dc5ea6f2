"""How far the hearing of one speech model can be trusted, as fitted on recordings."""

from __future__ import annotations

from pydantic import Field as Constraint

from recorder.model.base import Value


class Calibration(Value):
    """The trust of a heard value is the logistic function of the sum of its weighted signals.

    weights: by the name of a signal in ``recorder.notes.hearing.signals``; one that is not here
    weighs nothing. clear_from: the least trust, 0..1, with which a value is not asked about.
    """

    weights: dict[str, float]
    clear_from: float = Constraint(ge=0.5, lt=1)
