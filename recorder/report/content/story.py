"""What became of each press run, in order: a rejected splice, its rework, and the one that held."""

from __future__ import annotations

from recorder.model.characteristics import limit_label
from recorder.model.fields import FIELDS, Level
from recorder.model.job import Job, on_job_card
from recorder.model.measurement import LIMITED_AS, SeamMeasurement
from recorder.model.reading import Reading, Role, Standing
from recorder.model.splices import Verdict, numbers, photos_of, runs, verdict
from recorder.report.content.context import Step
from recorder.report.content.frame import Mark
from recorder.report.content.measured import decision_mark, shown_or_not
from recorder.report.wording.wording import noted, say

OUTCOME = {
    "accepted": ("✓", noted("accepted")),
    "rework": ("◆", noted("to be reworked")),
    "rejected": ("✗", noted("rejected")),
}


def outcome_mark(reading: Reading | None) -> Mark:
    if reading is None:
        return Mark(kind="open", sign="?", word=say("without an outcome"))
    sign, word = OUTCOME[str(reading.value)]
    return Mark(kind=str(reading.value), sign=sign, word=say(word))


def steps(job: Job, splice: int) -> tuple[Step, ...]:
    """One for each press run of a splice."""
    found = outcomes(job, splice)
    return tuple(
        Step(
            heading=heading(job, splice, run),
            outcome=outcome_mark(found.get(run)),
            photo=_photo_of(job, splice, run),
        )
        for run in runs(job, splice)
    )


def heading(job: Job, splice: int, run: int) -> str:
    """'Splice 2, press run 1'; numbers only where there are several."""
    several = len(runs(job, splice)) > 1
    if numbers(job) == [1]:
        return say("Press run {run}", run=run) if several else say("Splice")
    if several:
        return say("Splice {splice}, press run {run}", splice=splice, run=run)
    return say("Splice {splice}", splice=splice)


def outcomes(job: Job, splice: int) -> dict[int, Reading]:
    """The outcome in force after each press run, by run: what was said before the next one."""
    found: dict[int, Reading] = {}
    for reading, run in zip(job.readings, run_by_reading(job), strict=True):
        if reading.field != "outcome" or reading.splice != splice or reading.role is not Role.USED:
            continue
        if reading.standing is Standing.WITHDRAWN:
            found.pop(run, None)
            continue
        before = found.get(run)
        doubtful = reading.standing is Standing.DOUBTFUL
        if not (before and before.standing is Standing.CONFIRMED and doubtful):
            found[run] = reading
    return found


def run_by_reading(job: Job) -> list[int]:
    """Of each reading, the press run of its splice that had begun when it was told."""
    begun: dict[int, int] = {}
    found = []
    for reading in job.readings:
        of_run = FIELDS[reading.field].level is Level.RUN and reading.role is Role.USED
        if of_run and not on_job_card(reading):
            begun[reading.splice] = max(begun.get(reading.splice, 1), reading.run)
        found.append(begun.get(reading.splice, 1))
    return found


def _photo_of(job: Job, splice: int, run: int) -> Mark | None:
    """'outside limit: finger gap 0.91 ± 0.04 mm', by the worst photo of the run."""
    shown = [pair for pair in photos_of(job, splice) if pair[0].run == run]
    worst = worst_photo(verdict(shown), [found for _, found in shown])
    if worst is None or worst.decision is None:
        return None
    name = next(name for name, decided in worst.decisions.items() if decided is worst.decision)
    mark = decision_mark(worst.decision)
    word = say(
        "{decision}: {what} {value}",
        decision=mark.word,
        what=say(limit_label(name)),
        value=shown_or_not(getattr(worst, LIMITED_AS[name])),
    )
    return mark.model_copy(update={"word": word})


def worst_photo(said: Verdict, results: list[SeamMeasurement | None]) -> SeamMeasurement | None:
    """Of the photos that count, the last with the decision of the verdict, else the last one."""
    counting = [found for found in results if found and found.file in said.measured]
    deciding = [found for found in counting if found.decision is said.decision]
    return next(reversed(deciding or counting), None)
