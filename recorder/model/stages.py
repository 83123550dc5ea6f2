"""The stages of a press run, and when they began by the clock of recording or session."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from enum import StrEnum
from itertools import pairwise
from typing import TypeVar

from pydantic import AwareDatetime

from recorder.model.base import Number, Value
from recorder.model.recording import Recording

Mark = TypeVar("Mark")


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


class Timed(Value):
    """A mark by the wall clock. at: when its stage began."""

    mark: StageMark
    at: AwareDatetime


class Span(Value):
    """A stage from its own mark to the next one. start_s, end_s: in its recording, or since the
    beginning of the live session. seconds: how long it took.
    """

    stage: Stage
    start_s: float
    end_s: float

    @property
    def seconds(self) -> float:
        return self.end_s - self.start_s


def timed(
    marks: Iterable[StageMark], recordings: Iterable[Recording], splice: int, run: int
) -> tuple[Timed, ...]:
    """The marks of one press run in a live session, in order: its stretches of sound have one
    clock, over gaps and restarts.

    A stage that is said again goes on; one that a run has passed does not come back, and a mark of
    it is left out.
    """
    stretches = {recording.file: recording for recording in recordings}
    found = [
        Timed(mark=mark, at=stretches[mark.file].moment(mark.at_s))
        for mark in marks
        if (mark.splice, mark.run) == (splice, run) and mark.file in stretches
    ]
    found.sort(key=lambda each: each.at)
    return tuple(_onward(found, lambda each: each.mark.stage))


def spans(
    marks: Iterable[StageMark], splice: int, run: int, recordings: Sequence[Recording] = ()
) -> tuple[Span, ...]:
    """The stages of one press run between their marks; the last one counts as the beginning of
    the end only, as nobody said when it ended.

    recordings: of the live session, if it was one. Otherwise marks of one recording alone count,
    the one with most of them, as two have no common clock.
    """
    of_run = [mark for mark in marks if (mark.splice, mark.run) == (splice, run)]
    if on_clock := timed(of_run, recordings, splice, run):
        began = min(recording.began_at for recording in recordings)
        return _between([(e.mark.stage, (e.at - began).total_seconds()) for e in on_clock])
    if not of_run:
        return ()
    file = Counter(mark.file for mark in of_run).most_common(1)[0][0]
    in_file = sorted((m for m in of_run if m.file == file), key=lambda m: m.at_s)
    return _between([(mark.stage, mark.at_s) for mark in _onward(in_file, lambda m: m.stage)])


def _onward(marks: Iterable[Mark], stage_of: Callable[[Mark], Stage]) -> list[Mark]:
    order = list(Stage)
    begun: list[Mark] = []
    for mark in marks:
        if not begun or order.index(stage_of(mark)) > order.index(stage_of(begun[-1])):
            begun.append(mark)
    return begun


def _between(begun: Sequence[tuple[Stage, float]]) -> tuple[Span, ...]:
    return tuple(
        Span(stage=stage, start_s=start_s, end_s=end_s)
        for (stage, start_s), (_, end_s) in pairwise(begun)
        if end_s > start_s
    )
