"""What a live session looks up in the firm's own jobs and lists: the shelf of the talk.

The talk asks again at every tick of its clock, so each answer is kept for a while by what it was
asked of: belt, settings, press, template. So is it that something cannot be read.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TypeVar, cast

from recorder.archive.disk.home import Home
from recorder.errors import SeamnoteError
from recorder.flows.knowhow import firm, recipes, trends
from recorder.knowhow.preparing.proposal import Check, Proposal
from recorder.knowhow.recipes.answer import Deviation, RecipeAnswer
from recorder.knowhow.recipes.deviating import deviations
from recorder.knowhow.trends.chart import Drift
from recorder.model.belt import Belt, folded
from recorder.model.job import Job, in_force
from recorder.model.reading import Standing
from recorder.model.recipe import Recipe

FRESH_S = 120.0  # other jobs end now and then, and a file of the firm is changed
_MOST = 64  # answers, more than one job asks for

Found = TypeVar("Found")


class Shelving:
    """The ``Shelf`` over a home. by: who keeps recipes. Not for several threads at once."""

    def __init__(self, home: Home, by: str) -> None:
        self._home, self._by = home, by
        self._kept: dict[object, tuple[float, object]] = {}

    def recipes(self, job: Job, splice: int) -> RecipeAnswer:
        """See ``Shelf``; so all of these."""
        belt = _belt(job, splice)
        return self._once(
            ("recipes", belt.told()), lambda: recipes.look_up(self._home, belt, but=job.id)
        )

    def deviations(self, job: Job, splice: int, run: int) -> tuple[Deviation, ...]:
        settings = recipes.settings_of(job, splice, run)
        if not settings:
            return ()
        return deviations(settings, self.recipes(job, splice), _name(job, splice, "press"))

    def templates(self, job: Job, splice: int) -> Proposal:
        belt = _belt(job, splice)
        return self._once(
            ("templates", belt.told()), lambda: firm.proposal_for(self._home, belt, but=job.id)
        )

    def drifts(self, job: Job, splice: int) -> tuple[Drift, ...]:
        press, template = (_name(job, splice, each) for each in ("press", "template"))
        if press is None and template is None:
            return ()
        return self._once(
            ("drifts", press, template),
            lambda: trends.drifts_for(self._home, press, template, but=job.id),
        )

    def checks(self, job: Job, splice: int) -> tuple[Check, ...]:
        told = {kind: _name(job, splice, kind) for kind in ("press", "template")}
        here = {kind: folded(name) for kind, name in told.items() if name is not None}
        due = self._once("checks", lambda: firm.checks_due(self._home))
        return tuple(check for check in due if here.get(check.kind) == folded(check.name))

    def keep(self, job: Job, splice: int, name: str) -> Recipe:
        recipe = recipes.keep(self._home, job, splice, name, self._by)
        self._kept.clear()
        return recipe

    def _once(self, key: object, find: Callable[[], Found]) -> Found:
        """What was found a moment ago, or the same error, else what is found now."""
        key, now = repr(key), time.monotonic()
        if key not in self._kept or now - self._kept[key][0] > FRESH_S:
            if len(self._kept) >= _MOST:
                self._kept.clear()
            try:
                found: object = find()
            except SeamnoteError as error:
                found = error
            self._kept[key] = now, found
        kept = self._kept[key][1]
        if isinstance(kept, SeamnoteError):
            raise kept
        return cast(Found, kept)


def _belt(job: Job, splice: int) -> Belt:
    return Belt.of(in_force(job.readings, splice))


def _name(job: Job, splice: int, field: str) -> str | None:
    held = in_force(job.readings, splice).get(field)
    return None if held is None or held.standing is Standing.DOUBTFUL else str(held.value)
