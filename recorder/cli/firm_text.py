"""The firm's lists and a proposal as text and JSON."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from recorder.archive.sharing.table import Units
from recorder.cli.recipes_text import belt as belt_text
from recorder.cli.terminal import plain
from recorder.knowhow.preparing.checks import late, said, standing
from recorder.knowhow.preparing.proposal import Candidate, Check, Proposal
from recorder.model.fields import FIELDS, choice_label
from recorder.model.inventory import Checked, Conveyor, Inventory, Press, Span, Template, called
from recorder.model.units import UNITS, convert, show

_INDENT = "  "

Checks = Mapping[tuple[str, str], Check]


def inventory_lines(owned: Inventory, checks: Checks, units: Units) -> list[str]:
    listed: list[tuple[str, Checked, str]]
    listed = [("press", each, _press(each, units)) for each in owned.presses]
    listed += [("template", each, _template(each, units)) for each in owned.templates]
    width = max(len(plain(each.name)) for _, each, _ in listed)
    lines = []
    kinds = {"press": "Presses", "template": "Templates"}
    for kind, heading in kinds.items():
        rows = [(each, about) for of, each, about in listed if of == kind]
        lines += [heading] if rows else []
        for each, about in rows:
            lines.append(f"{_INDENT}{plain(each.name):{width}}  {about or '-'}".rstrip())
            check = checks.get((kind, each.name))
            told = [f"last check {each.last_check}"] if each.last_check else []
            told += [f"{'! ' if late(check) else ''}{said(check)}"] if check else []
            told += [plain(each.note)] if each.note else []
            lines += [f"{_INDENT}{'':{width}}  {'; '.join(told)}"] if told else []
    return lines


def inventory_json(owned: Inventory, checks: Checks) -> Iterator[dict[str, Any]]:
    for kind, things in (("press", owned.presses), ("template", owned.templates)):
        for each in things:
            check = checks.get((kind, each.name))
            yield {
                "kind": kind,
                **each.model_dump(mode="json"),
                "due": str(check.due) if check and check.due else None,
                "overdue_days": check.overdue_days if check else None,
                "standing": str(standing(check)) if check else None,
            }


def _press(press: Press, units: Units) -> str:
    platen = [shown(mm, "mm", units) for mm in (press.platen_width, press.platen_length) if mm]
    told = [f"platen {' x '.join(platen)}"] if platen else []
    told += [f"up to {shown(press.top, 'degC', units)}"] if press.top is not None else []
    told += [f"up to {shown(press.pressure, 'bar', units)}"] if press.pressure else []
    return ", ".join(told)


def _template(template: Template, units: Units) -> str:
    told = [choice_label(template.splice_type)]
    for name, mm in (("fingers", template.finger_length), ("pitch", template.finger_pitch)):
        told += [f"{name} {shown(mm, 'mm', units)}"] if mm else []
    told += [" or ".join(choice_label(each) for each in template.guide_profiles) or "any profile"]
    told += [f"{_span(template.width, units)} wide"] if template.width else []
    told += [f"{_span(template.thickness, units)} thick"] if template.thickness else []
    return ", ".join(told)


def _span(span: Span, units: Units) -> str:
    low, high = (shown(mm, "mm", units) for mm in span)
    return f"{low} to {high}"


def shown(value: float, unit: str, units: Units) -> str:
    """In the wanted unit of its dimension."""
    wanted = units.get(UNITS[unit].dimension, unit)
    return show(convert(value, unit, wanted), wanted)


def proposal_lines(proposal: Proposal, units: Units) -> list[str]:
    lines = [f"Belt: {belt_text(proposal.belt, units)}"]
    if proposal.best:
        lines.append(f"Take {plain(proposal.best.template.name)} ({plain(proposal.why)})")
        lines += _about(proposal.best)
    else:
        lines.append(f"No proposal: {plain(proposal.why)}")
    for heading, listed in (
        ("Others that fit or may" if proposal.best else "Could fit", proposal.others),
        ("Does not fit", proposal.unfit),
    ):
        lines += [heading] if listed else []
        for each in listed:
            lines.append(f"{_INDENT}{plain(each.template.name)}")
            lines += _about(each, 2)
    return lines


def _about(candidate: Candidate, level: int = 1) -> list[str]:
    indent = _INDENT * level
    lines = [f"{indent}{plain(reason)}" for reason in candidate.reasons]
    unknown = ", ".join(FIELDS[name].label.lower() for name in candidate.unknown)
    return lines + ([f"{indent}not told: {unknown}"] if unknown else [])


def conveyor_lines(listed: Sequence[Conveyor], units: Units) -> list[str]:
    lines = []
    for each in listed:
        lines.append(plain(each.full_name))
        if each.belt.told():
            lines.append(f"{_INDENT}belt {belt_text(each.belt, units)}")
        if each.drive:
            sizes = (each.drive.pulley_1, each.drive.pulley_2, each.drive.centres)
            first, second, between = (shown(mm, "mm", units) for mm in sizes)
            lines.append(f"{_INDENT}pulleys {first} and {second}, axes {between} apart")
        told = [called("press", plain(each.press))] if each.press else []
        told += [called("template", plain(each.template))] if each.template else []
        told += [plain(each.note)] if each.note else []
        lines += [f"{_INDENT}{'; '.join(told)}"] if told else []
    return lines
