"""The answer to "what did we use on such a belt", as values."""

from __future__ import annotations

from datetime import datetime

from recorder.model.base import Value
from recorder.model.belt import Belt
from recorder.model.recipe import Recipe, Window


class Share(Value):
    """accepted of so many splices, with the Wilson interval of the share at 95 %."""

    accepted: int
    of: int
    low: float
    high: float


class Spread(Value):
    """Values of one field over some runs, in its canonical unit. count: of runs that have one.
    usual: the median, or the lower of the two in the middle, so that it is a value that was used.
    spread: sample standard deviation, None for fewer than two. below: how many of the values are
    upper bounds only, as a gap under the quantification limit; with any there is no spread.
    """

    field: str
    count: int
    usual: float
    low: float
    high: float
    spread: float | None = None
    below: int = 0


class Tried(Value):
    """Runs of one outcome. jobs: number of jobs, runs: of runs. settings: in the order of the
    catalogue. measured: finger_gap, splice_width, edge_offset from photos. last_job: id of the
    newest, last_at: when, last: its settings as a whole, by field. presses: name and number of
    runs, the most used first.
    """

    outcome: str
    jobs: int
    runs: int
    settings: tuple[Spread, ...] = ()
    measured: tuple[Spread, ...] = ()
    last_job: str
    last_at: datetime
    last: dict[str, float] = {}
    presses: tuple[tuple[str, int], ...] = ()


class OnBelt(Value):
    """What was tried on belts of one kind. differs: in words, what is another than what was asked
    for; empty for just such a belt. pooled: what was not told of the belt and was not the same on
    all of them, by field; their settings stand here together. share: of splices by their last run.
    tried: by outcome, accepted first.
    """

    belt: Belt
    differs: tuple[str, ...] = ()
    pooled: tuple[str, ...] = ()
    share: Share
    tried: tuple[Tried, ...] = ()


class RecipeAnswer(Value):
    """asked: the belt. exact: what was tried on just such a belt, None when nothing. nearest: on
    the belts most like it, the nearest first. named: recipes that the firm keeps for it, and not
    retired, exact ones first. windows: of belt makers that fit it. unsettled: runs on such a belt
    that nobody settled the outcome of. unread: a line for each recipe that cannot be read.
    """

    asked: Belt
    exact: OnBelt | None = None
    nearest: tuple[OnBelt, ...] = ()
    named: tuple[Recipe, ...] = ()
    windows: tuple[Window, ...] = ()
    unsettled: int = 0
    unread: tuple[str, ...] = ()


class Deviation(Value):
    """A setting that is asked for, or was told, and lies outside of what a recipe rests on or a
    belt maker gives. low, high: of that, in the canonical unit. against: 'recipe', 'past' (accepted
    jobs, where no recipe is kept) or 'window'. whose: 'recipe Oven 70, version 2'; for people.
    """

    field: str
    value: float
    low: float | None
    high: float | None
    against: str
    whose: str
