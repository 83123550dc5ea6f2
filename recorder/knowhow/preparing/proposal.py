"""Which template fits a belt, and what is due for a check, as values."""

from __future__ import annotations

from datetime import date

from recorder.model.base import Value
from recorder.model.belt import Belt
from recorder.model.inventory import Template


class Check(Value):
    """What is due: kind 'press' or 'template'. due: the day, None where nobody noted a check.
    overdue_days: over it; 0 on the day, negative before.
    """

    kind: str
    name: str
    due: date | None
    overdue_days: int | None


class Candidate(Value):
    """A template, whether it fits the belt, and why or why not, in words. used: splices that were
    accepted with it on such a belt. unknown: what of the belt was not told and would matter.
    """

    template: Template
    fits: bool
    reasons: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    used: int = 0
    check: Check | None = None


class Proposal(Value):
    """best: None when none fits, or the belt says too little. others: that fit too, the better
    first. unfit: the rest. why: of the best before the next one, or why there is none; in words.
    """

    belt: Belt
    best: Candidate | None = None
    others: tuple[Candidate, ...] = ()
    unfit: tuple[Candidate, ...] = ()
    why: str = ""
