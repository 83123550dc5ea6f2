"""A job card in the making as text for a terminal, and as the JSON of 'prepare'."""

from __future__ import annotations

from typing import Any

from recorder.cli.job_text import length_lines
from recorder.cli.terminal import plain
from recorder.flows.knowhow.card_words import against, drifting
from recorder.flows.knowhow.drafting import Draft, Filled
from recorder.knowhow.preparing.checks import said
from recorder.model.fields import FIELDS
from recorder.model.reading import show_value


def lines(draft: Draft) -> list[str]:
    """What stands on the card and where it came from, then what past jobs say to it."""
    found = ["Job card"]
    found += [_line(each) for each in draft.used]
    if draft.asked:
        found.append("Asked settings")
        found += [_line(each) for each in draft.asked]
    if draft.known.held:
        found.append(f"Held before     {plain(draft.known.held.whence)}")
        held = draft.known.held.settings.items()
        found += [f"  · {name:22} {show_value(name, value)}" for name, value in held]
    if draft.length:
        found += ["Belt length", *length_lines(draft.length)]
        found += [f"    {text}" for text in draft.length_assumed]
    found += _told(draft)
    if draft.missing:
        found.append(f"Missing         {', '.join(draft.missing)}")
    return found


def _line(filled: Filled) -> str:
    reading = filled.reading
    return f"  ✓ {reading.field:22} {plain(reading.shown()):28} {plain(filled.whence)}".rstrip()


def _told(draft: Draft) -> list[str]:
    """What to look at before the job, the first word of each line saying what it is."""
    found = []
    best = draft.known.template.best if draft.known.template else None
    if draft.text("template") is None and best:
        found.append(f"Template        {best.template.name} fits: {', '.join(best.reasons)}")
    for deviation in draft.known.deviations:
        value = show_value(deviation.field, deviation.value)
        meant = ", meant" if deviation.field in draft.meant else ""
        found.append(f"Differs         {deviation.field} {value}{meant}; {against(deviation)}")
    found += [f"Drifts          {drifting(drift)}" for drift in draft.known.drifts]
    found += [f"Due             {check.name}: {said(check)}" for check in draft.known.checks]
    found += [f"Not sure        {each.field} {each.shown()} {each.why}" for each in draft.doubts]
    found += [f"Note            {each}" for each in draft.notes]
    if draft.length_lacks:
        labels = (FIELDS[key].label.lower() if key in FIELDS else key for key in draft.length_lacks)
        found.append(f"Cut length      open: tell the {' and '.join(labels)}")
    return [plain(line) if "  " not in line[:16] else _aligned(line) for line in found]


def _aligned(line: str) -> str:
    """The label keeps its column; the text may be a stranger's."""
    return line[:16] + plain(line[16:])


def as_json(draft: Draft) -> dict[str, Any]:
    def values(filled: tuple[Filled, ...]) -> dict[str, Any]:
        return {
            each.reading.field: {
                "value": each.reading.value,
                "unit": each.reading.unit,
                "origin": each.origin.value,
                "whence": each.whence,
            }
            for each in filled
        }

    known = draft.known
    return {
        "fields": values(draft.used),
        "asked": values(draft.asked),
        "recipe": known.held.model_dump(mode="json") if known.held else None,
        "belt_length": draft.length.model_dump(mode="json") if draft.length else None,
        "belt_length_lacks": list(draft.length_lacks),
        "questions": [each.model_dump(mode="json") for each in draft.questions],
        "missing": list(draft.missing),
        "template": known.template.model_dump(mode="json") if known.template else None,
        "deviations": [each.model_dump(mode="json") for each in known.deviations],
        "meant": list(draft.meant),
        "drifts": [each.model_dump(mode="json") for each in known.drifts],
        "checks": [each.model_dump(mode="json") for each in known.checks],
        "notes": list(draft.differing),
    }
