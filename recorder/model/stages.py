"""The stages of a press run, and when they began by the clock of the recording."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from enum import StrEnum
from itertools import pairwise

from recorder.model.base import Number, Value


class Stage(StrEnum):
    """In the order in which a run passes them; OPEN, the press is opened, ends it."""

    PREHEAT = "preheat"
    HEATING = "heating"
    DWELL = "dwell"
    COOLING = "cooling"
    OPEN = "open"


class StageMark(Value):
    """That a stage begins, as it was said. at_s: when, in the recording ``file``."""

    stage: Stage
    file: str
    at_s: float
    said: str
    splice: Number = 1
    run: Number = 1


class Span(Value):
    """A stage from its own mark to the next one. seconds: how long it took."""

    stage: Stage
    start_s: float
    end_s: float

    @property
    def seconds(self) -> float:
        return self.end_s - self.start_s


def spans(marks: Iterable[StageMark], splice: int, run: int) -> tuple[Span, ...]:
    """The stages of one press run between their marks; the last one counts as the beginning of
    the end only, as nobody said when it ended.

    Marks of one recording alone, the one with most of them, as two have no common clock. A stage
    that is said again goes on; one that a run has passed does not come back, and a mark of it is
    left out.
    """
    of_run = [mark for mark in marks if (mark.splice, mark.run) == (splice, run)]
    if not of_run:
        return ()
    file = Counter(mark.file for mark in of_run).most_common(1)[0][0]
    order = list(Stage)
    begun: list[StageMark] = []
    for mark in sorted((m for m in of_run if m.file == file), key=lambda m: m.at_s):
        if not begun or order.index(mark.stage) > order.index(begun[-1].stage):
            begun.append(mark)
    return tuple(
        Span(stage=mark.stage, start_s=mark.at_s, end_s=after.at_s)
        for mark, after in pairwise(begun)
        if after.at_s > mark.at_s
    )
