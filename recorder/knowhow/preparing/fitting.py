"""Which template fits a belt, why, and which others would.

A template fits when nothing that is told of the belt speaks against it: the splice type, length and
pitch of the fingers, guide profile, width and thickness. What was not told is not guessed; where it
would matter, the template is possible and no more. Among those that fit, the better one is

1. whose fit is less open, because more of the belt was told,
2. whose check is not late,
3. that was used on more accepted splices on such a belt,
4. that says more of what it is for: a guide profile by name, the narrower range of widths,
5. by name, so that the answer is the same tomorrow.

There is no best one while the belt leaves open whether it fits. What comes with the template, the
type of splice and the size of the fingers, may be left open where accepted splices on such a belt
speak for it; without any, the type has to be told, and also the fingers when several could fit that
punch others.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import date

from recorder.knowhow.preparing import checks
from recorder.knowhow.preparing.proposal import Candidate, Proposal
from recorder.model.belt import Belt, folded
from recorder.model.fields import FIELDS, choice_label
from recorder.model.inventory import Inventory, Span, Template
from recorder.model.plural import counted
from recorder.model.units import convert, show

# mm by which sizes of fingers may differ and be the same: half of a tenth, and what a size in
# inches loses when it is written with three digits.
SAME_SIZE_MM = 0.06
_SIZES = ("finger_length", "finger_pitch")
# What is true of the belt whatever template is taken; the rest comes with the template.
_OF_BELT = ("guide_profile", "belt_width", "belt_thickness")
_SPANS = {"belt_width": "width", "belt_thickness": "thickness"}


def proposal(
    belt: Belt, inventory: Inventory, used: Mapping[str, int], today: date, unit: str = "mm"
) -> Proposal:
    """used: accepted splices on such a belt, by name of template, whatever its case. unit: of the
    lengths in the reasons.
    """
    times = {folded(name): count for name, count in used.items()}
    found = [
        _candidate(belt, template, times.get(folded(template.name), 0), today, unit)
        for template in inventory.templates
    ]
    fitting = sorted((each for each in found if each.fits), key=_rank)
    unfit = tuple(sorted((each for each in found if not each.fits), key=_nearness))
    best, why = _best(fitting)
    return Proposal(
        belt=belt,
        best=best,
        others=tuple(each for each in fitting if each is not best),
        unfit=unfit,
        why=why if found else "no template stands in the inventory",
    )


def _candidate(belt: Belt, template: Template, used: int, today: date, unit: str) -> Candidate:
    looked = [
        _type(belt, template),
        *(_size(name, belt, template, unit) for name in _SIZES),
        _profile(belt, template),
        *(_span(name, belt, template, unit) for name in _SPANS),
    ]
    against = [reason for fits, reason in looked if fits is False]
    reasons = against or [reason for fits, reason in looked if fits and reason]
    unknown = tuple(reason for fits, reason in looked if fits is None)
    check = checks.check_of("template", template, today)
    if not against:
        if used:
            reasons.append(f"used on {counted(used, 'accepted splice')} on such a belt")
        if check and checks.standing(check) is not checks.CheckStanding.IN_TIME:
            reasons.append(checks.said(check))
    return Candidate(
        template=template,
        fits=not against,
        reasons=tuple(reasons),
        unknown=() if against else unknown,
        used=used,
        check=check,
    )


# Whether it fits, None where that was not told; and the reason in words, or the field not told.
_Looked = tuple[bool | None, str]


def _type(belt: Belt, template: Template) -> _Looked:
    if belt.splice_type is None:
        return None, "splice_type"
    wanted = choice_label(belt.splice_type)
    if template.splice_type != belt.splice_type:
        return False, f"for {choice_label(template.splice_type)} splices, the job is {wanted}"
    return True, f"for {wanted} splices"


def _size(name: str, belt: Belt, template: Template, unit: str) -> _Looked:
    told, has = getattr(belt, name), getattr(template, name)
    label = FIELDS[name].label.lower()
    if has is None:
        # Without fingers there is nothing to tell.
        if told is None or template.splice_type not in ("finger", "double_finger"):
            return True, ""
        return False, f"its {label} is not in the inventory, the splice has {_shown(told, unit)}"
    if told is None:
        return None, name
    if abs(told - has) > SAME_SIZE_MM:
        return False, f"its {label} is {_shown(has, unit)}, the splice has {_shown(told, unit)}"
    return True, f"{label} {_shown(has, unit)}"


def _profile(belt: Belt, template: Template) -> _Looked:
    takes = template.guide_profiles
    if not takes:
        return True, ""
    named = " and ".join(choice_label(each) for each in takes)
    if belt.guide_profile is None:
        return None, "guide_profile"
    if belt.guide_profile in takes:
        return True, f"for {named} belts"
    return False, f"for {named} belts only, the belt is {choice_label(belt.guide_profile)}"


def _span(name: str, belt: Belt, template: Template, unit: str) -> _Looked:
    told: float | None = getattr(belt, name)
    takes: Span | None = getattr(template, _SPANS[name])
    if takes is None:
        return True, ""
    if told is None:
        return None, name
    span = f"takes {_shown(takes[0], unit)} to {_shown(takes[1], unit)} of {_SPANS[name]}"
    # A size in inches comes back from mm with a rounding in the twelfth digit.
    inside = takes[0] - 1e-6 <= told <= takes[1] + 1e-6
    return inside, f"{span}, the belt has {_shown(told, unit)}"


def _shown(mm: float, unit: str) -> str:
    return show(convert(mm, "mm", unit), unit)


def _rank(each: Candidate) -> tuple[int, bool, int, bool, float, str]:
    template = each.template
    width = template.width[1] - template.width[0] if template.width else math.inf
    unnamed = not template.guide_profiles
    late = checks.late(each.check)
    return len(_open(each)), late, -each.used, unnamed, width, template.name.casefold()


def _open(each: Candidate) -> list[str]:
    """What of the belt leaves open whether it fits."""
    return [name for name in each.unknown if name in _OF_BELT]


def _nearness(each: Candidate) -> tuple[int, str]:
    """Of those that do not fit, the one with the fewest reasons against it comes first."""
    return len(each.reasons), each.template.name.casefold()


def _best(fitting: list[Candidate]) -> tuple[Candidate | None, str]:
    """The best of those that fit in their order, or None; and why, in words."""
    if not fitting:
        return None, "no template of the inventory fits"
    first, *rest = fitting
    missing = _open(first)
    if not first.used:
        missing += _to_choose(fitting)
    if not missing:
        return first, _before(first, rest[0] if rest else None)
    could = "could fit" if any(map(_open, fitting)) else "fits" if not rest else "fit"
    return None, f"{_names(fitting)} {could}; tell the {_labels(missing)}"


def _to_choose(among: list[Candidate]) -> list[str]:
    """What was not told of the splice and decides among templates of which none was used."""
    if any("splice_type" in each.unknown for each in among):
        return ["splice_type"]
    return [
        name
        for name in _SIZES
        if any(name in each.unknown for each in among) and _differs(name, among)
    ]


def _differs(name: str, among: list[Candidate]) -> bool:
    sizes: list[float] = [
        size for each in among if (size := getattr(each.template, name)) is not None
    ]
    return max(sizes) - min(sizes) > SAME_SIZE_MM


def _names(among: list[Candidate]) -> str:
    return _listed([each.template.name for each in among])


def _labels(fields: list[str]) -> str:
    return _listed([FIELDS[name].label.lower() for name in fields])


def _listed(words: list[str]) -> str:
    """'a', 'a and b', 'a, b and c'."""
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))


def _before(first: Candidate, second: Candidate | None) -> str:
    """Why the first one comes before the second."""
    if second is None:
        return "the only one that fits"
    name = second.template.name
    if _open(second):
        return f"before {name}, whose fit is open: {_labels(_open(second))} not told"
    if checks.late(first.check) < checks.late(second.check):
        told = checks.said(second.check) if second.check else ""
        more = f", used on {counted(second.used, 'accepted splice')}" if second.used else ""
        return f"before {name}, {told}{more}"
    if first.used > second.used:
        used = counted(first.used, "accepted splice")
        return f"before {name}: used on {used}, that one on {second.used or 'none'}"
    if first.template.guide_profiles and not second.template.guide_profiles:
        return f"before {name}, which names no guide profile"
    if first.template.width != second.template.width and first.template.width:
        return f"before {name}, which takes a wider range of belts"
    return f"as well as {name}; the first by name"
