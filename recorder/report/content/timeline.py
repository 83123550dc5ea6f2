"""The course of a press run as a drawing to scale: preheat, heating, dwell, cooling.

Where the stages were called out as they began, the clock of the recording gives their lengths.
Otherwise those are drawn that were told; how the rest of the cycle divides into heating up before
the dwell and cooling down after it is then not known, and the drawing says so.
"""

from __future__ import annotations

from collections.abc import Mapping

from recorder.model.job import Job, in_force
from recorder.model.reading import Reading
from recorder.model.stages import Span, Stage, spans, timed
from recorder.report.content import formats, sound
from recorder.report.content.context import Stretch, Tick, Timeline
from recorder.report.content.entries import standing_mark
from recorder.report.content.frame import Mark
from recorder.report.wording.wording import noted, say

# Told and recorded lengths of one stage differ by no more than the larger of these when both are
# right: people round, and speak a moment late. Common practice, no source.
_APART_S, _APART = 15.0, 0.2
_TICKS = 8  # at most
_TICK_S = (5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600)

_LABEL = {
    Stage.PREHEAT: noted("Preheat"),
    Stage.HEATING: noted("Heating up"),
    Stage.DWELL: noted("Dwell"),
    Stage.COOLING: noted("Cooling down"),
}
_TOLD = {Stage.PREHEAT: "preheat_time", Stage.DWELL: "dwell_time"}
_OPEN = 22.0  # percent of the width for a stage of unknown length beside those that are known

Readings = Mapping[str, Reading]


def timeline(job: Job, splice: int, run: int, heading: str) -> Timeline | None:
    """Of one press run; None when neither its stages nor their lengths were told."""
    held = in_force(job.readings, splice, run)
    recorded = spans(job.stages, splice, run, job.recordings)
    disagreeing = _disagreeing(recorded, held)
    if recorded and not disagreeing:
        return _recorded(recorded, held, heading, _clocked(job, splice, run, recorded))
    told = _told(held, heading)
    if told is None or not disagreeing:
        return told
    return told.model_copy(update={"remarks": (*disagreeing, *told.remarks)})


def _recorded(
    recorded: tuple[Span, ...], held: Readings, heading: str, remarks: tuple[str, ...]
) -> Timeline:
    begin, end = recorded[0].start_s, recorded[-1].end_s
    scale = 100 / (end - begin)
    return Timeline(
        heading=heading,
        stretches=tuple(
            Stretch(
                kind=span.stage.value,
                label=say(_LABEL[span.stage]),
                detail=_detail(span.stage, held, span.seconds),
                start=(span.start_s - begin) * scale,
                width=span.seconds * scale,
                mark=None,
            )
            for span in recorded
        ),
        ticks=_ticks(end - begin),
        remarks=remarks,
    )


def _clocked(job: Job, splice: int, run: int, recorded: tuple[Span, ...]) -> tuple[str, ...]:
    """By which clock the stages are drawn, and for how much of them there is no sound."""
    begin, end = recorded[0].start_s, recorded[-1].end_s
    if not timed(job.stages, job.recordings, splice, run):
        return (
            say(
                "The stages began when they were called out, {first} to {last} in the recording.",
                first=formats.length(begin),
                last=formats.length(end),
            ),
        )
    told = say(
        "The stages began when they were called out, {first} to {last} by the clock of the "
        "session.",
        first=sound.moment(job, begin),
        last=sound.moment(job, end),
    )
    silent = sound.within(job, begin, end)
    if not silent:
        return (told,)
    return (told, say("For {length} of it there is no sound.", length=formats.length(silent)))


def _told(held: Readings, heading: str) -> Timeline | None:
    preheat, dwell, cycle = (
        _seconds(held, name) for name in ("preheat_time", "dwell_time", "cycle_time")
    )
    known = (preheat or 0.0) + (dwell or 0.0)
    if not known:
        return None
    remarks: list[str] = []
    if cycle is not None and cycle < known:
        remarks.append(
            say("The cycle time is shorter than preheat and dwell together; it is not drawn.")
        )
        cycle = None
    rest = None if cycle is None else cycle - known
    if rest:
        remarks.append(
            say(
                "Heating up and cooling down took {rest} together; how it divides was not told.",
                rest=formats.length(rest),
            )
        )
    elif rest is None:
        remarks.append(say("How long heating up and cooling down took was not told."))
    # Percent for a second of what is known, and for each of the two whose length is not.
    scale = (100.0 if rest is not None else 100.0 - 2 * _OPEN) / (cycle or known)
    unknown = _OPEN if rest is None else rest / 2 * scale
    widths = {
        Stage.PREHEAT: (preheat or 0.0) * scale,
        Stage.HEATING: unknown,
        Stage.DWELL: (dwell or 0.0) * scale,
        Stage.COOLING: unknown,
    }
    stretches: list[Stretch] = []
    start = 0.0
    for stage, width in widths.items():
        if width <= 0:
            continue
        stretches.append(
            Stretch(
                kind=stage.value if stage in _TOLD else f"{stage.value} unknown",
                label=say(_LABEL[stage]),
                detail=_detail(stage, held, _seconds(held, _TOLD.get(stage, ""))),
                start=start,
                width=width,
                mark=_mark(held, _TOLD.get(stage, "")),
            )
        )
        start += width
    return Timeline(
        heading=heading,
        stretches=tuple(stretches),
        ticks=_ticks(cycle) if cycle is not None else (),
        remarks=tuple(remarks),
    )


def _disagreeing(recorded: tuple[Span, ...], held: Readings) -> tuple[str, ...]:
    """Where a told length and the recording are too far apart for both to be right."""
    found = []
    for span in recorded:
        told = _seconds(held, _TOLD.get(span.stage, ""))
        if told is not None and abs(told - span.seconds) > max(_APART_S, _APART * told):
            found.append(
                say(
                    "{stage}: {told} was told, and by the recording it took {took}. The told "
                    "times are drawn.",
                    stage=say(_LABEL[span.stage]),
                    told=formats.length(told),
                    took=formats.length(span.seconds),
                )
            )
    return tuple(found)


def _detail(stage: Stage, held: Readings, seconds: float | None) -> str:
    """'3 min, 172 °C / 168 °C': how long, and how hot above and below."""
    platens = [_value(held, "top_temperature"), _value(held, "bottom_temperature")]
    temperature = {
        Stage.PREHEAT: _value(held, "preheat_temperature"),
        Stage.DWELL: " / ".join(filter(None, platens)),
        Stage.COOLING: _value(held, "cool_down_temperature"),
    }.get(stage, "")
    if temperature and stage is Stage.COOLING:
        temperature = say("to {temperature}", temperature=temperature)
    return ", ".join(
        filter(None, ("" if seconds is None else formats.length(seconds), temperature))
    )


def _value(held: Readings, name: str) -> str:
    reading = held.get(name)
    return "" if reading is None else formats.value(name, reading.value)


def _seconds(held: Readings, name: str) -> float | None:
    reading = held.get(name)
    return None if reading is None else float(reading.value)


def _mark(held: Readings, name: str) -> Mark | None:
    reading = held.get(name)
    return None if reading is None else standing_mark(reading.standing)


def _ticks(seconds: float) -> tuple[Tick, ...]:
    step = next((s for s in _TICK_S if seconds / s <= _TICKS), _TICK_S[-1])
    count = min(_TICKS * 4, int(seconds // step))
    return tuple(
        Tick(at=100 * n * step / seconds, label=formats.length(n * step) if n else "0")
        for n in range(count + 1)
    )
