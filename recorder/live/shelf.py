"""What a talk can look up in the firm's own jobs; the port by which the pure talk reaches them."""

from __future__ import annotations

from typing import Protocol

from recorder.knowhow.preparing.proposal import Check, Proposal
from recorder.knowhow.recipes.answer import Deviation, RecipeAnswer
from recorder.knowhow.trends.chart import Drift
from recorder.model.job import Job
from recorder.model.recipe import Recipe


class Shelf(Protocol):
    """Each takes the job as it is now, and a splice and run of it. Each takes up to a tenth of a
    second, and raises SeamnoteError when the archive cannot be read.
    """

    def recipes(self, job: Job, splice: int) -> RecipeAnswer:
        """What was used on such a belt; this job does not count."""

    def deviations(self, job: Job, splice: int, run: int) -> tuple[Deviation, ...]:
        """What is asked for on the job card, or was told, and differs."""

    def templates(self, job: Job, splice: int) -> Proposal:
        """Which template fits."""

    def drifts(self, job: Job, splice: int) -> tuple[Drift, ...]:
        """What the newest jobs on this press and with this template show."""

    def checks(self, job: Job, splice: int) -> tuple[Check, ...]:
        """What of the press and the template of this job is due or overdue."""

    def keep(self, job: Job, splice: int, name: str) -> Recipe:
        """Keep the settings of this splice's last run under a name, or as the next version of it.

        Raises CannotKeep.
        """
