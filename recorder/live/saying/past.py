"""What past jobs teach in sentences for the ear: short ones, the most useful first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime

from recorder.knowhow.preparing.proposal import Check, Proposal
from recorder.knowhow.recipes.answer import Deviation, OnBelt, RecipeAnswer, Tried
from recorder.knowhow.recipes.belts import alike
from recorder.knowhow.recipes.deviating import counting
from recorder.knowhow.trends.chart import Drift
from recorder.live.saying import sentences
from recorder.live.saying.numbers import integer
from recorder.live.saying.values import value_of, with_unit
from recorder.live.saying.words import capital, listed, of, sentence
from recorder.model.belt import Belt
from recorder.model.length import BeltLength
from recorder.model.quantity import Quantity

_OTHER = {"recipe": "other_recipe", "past": "other_past", "window": "other_window"}
_DAYS = {"year": 365, "month": 30, "week": 7}  # of these, spoken once there are two


def last_time(
    answer: RecipeAnswer, now: datetime, field: str | None = None, press: str | None = None
) -> list[str]:
    """What was used on such a belt, else on the nearest. field: of which alone is asked."""
    recipe = counting(answer, press)
    on = answer.exact or next(iter(answer.nearest), None)
    said = []
    if recipe:
        said.append(sentence("recipe_is", name=recipe.name))
        said += _settings(((each.field, each.value) for each in recipe.settings), field)
    if answer.exact is None and answer.unsettled:
        said.append(sentence("past_unsettled", count=integer(answer.unsettled)))
    elif answer.exact is None and not recipe:
        said.append(sentence("past_none"))
    if on is None:
        return said
    if on is not answer.exact:
        if recipe:
            return said
        said.append(sentence("past_nearest", differs=listed(differences(answer.asked, on.belt))))
    return [*said, *_on(on, now, field, usual=recipe is None)]


def _on(on: OnBelt, now: datetime, field: str | None, usual: bool) -> Iterator[str]:
    """usual: whether the usual settings are said, which a recipe takes the place of."""
    share = {"accepted": integer(on.share.accepted), "of": integer(on.share.of)}
    accepted = next((each for each in on.tried if each.outcome == "accepted"), None)
    yield sentence("past_share" if on.share.of != 1 else "past_share_one", **share)
    if accepted:
        if usual:
            yield from _settings(((each.field, each.usual) for each in accepted.settings), field)
        yield sentence("past_last", ago=ago((now - accepted.last_at).days))
    for tried in on.tried:
        if tried.outcome != "accepted":
            yield _failed(tried, accepted)


def _settings(held: Iterable[tuple[str, float]], field: str | None) -> list[str]:
    """Each as a sentence, or that of one field; that it is not known."""
    known = dict(held)
    if field is not None and field not in known:
        return [sentence("past_unknown", name=capital(sentences.name(field)))]
    return [
        sentence("told", name=capital(sentences.name(name)), value=value_of(name, value))
        for name, value in known.items()
        if field in (None, name)
    ]


def _failed(tried: Tried, accepted: Tried | None) -> str:
    """Of those that failed: how many, and with what that no accepted one had."""
    good = {each.field: each for each in accepted.settings} if accepted else {}
    other = [
        f"{sentences.name(each.field)} {span(each.field, each.low, each.high)}"
        for each in tried.settings
        if each.field in good
        and (each.high < good[each.field].low or each.low > good[each.field].high)
    ]
    outcome = capital(of("choices", tried.outcome))
    if not other:
        return sentence("past_failed", outcome=outcome, count=integer(tried.runs))
    what = {"outcome": outcome, "count": integer(tried.runs), "with_": listed(other)}
    return sentence("past_failed_with", **what)


def differences(asked: Belt, other: Belt) -> list[str]:
    """What another belt has that is told otherwise of the one asked for."""
    told = other.told()
    return [
        f"{sentences.name(name)} {value_of(name, told[name])}"
        for name, value in asked.told().items()
        if name in told and not alike(value, told[name])
    ] or [sentences.name(name) for name in asked.told() if name not in told]


def span(field: str, low: float | None, high: float | None) -> str:
    """'one seventy-two to one seventy-six'; one of the two may be open."""
    if low is None:
        return sentence("at_most", value=value_of(field, high or 0.0))
    if high is None:
        return sentence("at_least", value=value_of(field, low))
    first, last = value_of(field, low), value_of(field, high)
    return first if first == last else sentence("from_to", low=first, high=last)


def differs(found: Deviation, answer: RecipeAnswer, press: str | None, asked: bool) -> str:
    """'The card asks for top one eighty-five; recipe Oven 70 used …'. asked: on a job card."""
    recipe = counting(answer, press)
    name = recipe.name if recipe else ""
    return sentence(
        "differs_asked" if asked else "differs_told",
        name=sentences.name(found.field),
        value=value_of(found.field, found.value),
        other=sentence(f"other_{found.against}", name=name,
                       span=span(found.field, found.low, found.high)),
    )  # fmt: skip


def template(proposal: Proposal) -> list[str]:
    """The best one, with a check that is due and the runner-up."""
    best = proposal.best
    if best is None:
        none_at_all = not (proposal.unfit or proposal.others)
        return [sentence("template_unowned" if none_at_all else "template_none")]
    said = [sentence("template_is", name=best.template.name)]
    if best.used:
        one = "template_used_one" if best.used == 1 else "template_used"
        said.append(sentence(one, count=integer(best.used)))
    if best.check is not None:
        said += checks((best.check,))
    if proposal.others:
        said.append(sentence("template_or", name=proposal.others[0].template.name))
    return said


def unknown_of(proposal: Proposal) -> list[str]:
    """Fields of the belt that would matter and were not told."""
    every = (*filter(None, (proposal.best,)), *proposal.others, *proposal.unfit)
    return list(dict.fromkeys(field for each in every for field in each.unknown))


def checks(found: Iterable[Check]) -> list[str]:
    """One sentence for each thing that is due soon, due or overdue."""
    said = []
    for check in found:
        name = f"{capital(of('kinds', check.kind))} {check.name}"
        if check.overdue_days is None:
            said.append(sentence("check_never", name=name))
        elif check.overdue_days == 0:
            said.append(sentence("check_today", name=name))
        else:
            which = "check_overdue" if check.overdue_days > 0 else "check_due"
            said.append(sentence(which, name=name, time=time(abs(check.overdue_days))))
    return said


def drift(found: Drift) -> str:
    """'The last gaps on press P2 have crept up.'"""
    which = {"above": "drift_up", "below": "drift_down"}.get(found.signal.side, "drift")
    return sentence(
        which,
        what=of("drifting", found.characteristic.value),
        where=of("streams", found.stream).format(name=found.name),
    )


def length(worked_out: BeltLength) -> list[str]:
    """What is cut, and where the marks lie."""
    said = [sentence("cut", length=_mm(worked_out.cut))]
    if worked_out.punched != worked_out.cut:
        said.append(sentence("cut_punched", length=_mm(worked_out.punched)))
    said.append(sentence("cut_marks", length=_mm(worked_out.mark_spacing)))
    if worked_out.mark_tensioned is not None:
        said.append(sentence("cut_tensioned", length=_mm(worked_out.mark_tensioned)))
    return said


def ago(days: int) -> str:
    """'today', 'yesterday', 'three weeks ago'."""
    if days < 2:
        return sentence("yesterday" if days == 1 else "today")
    return sentence("ago", time=time(days))


def time(days: int) -> str:
    """'five days', 'three weeks': in the largest unit of which there are two."""
    for unit, size in _DAYS.items():
        if days >= 2 * size:
            return f"{integer(days // size)} {of('times', f'{unit}s')}"
    if days == 1:
        return of("times", "day")
    return f"{integer(days)} {of('times', 'days')}"


def _mm(length: float) -> str:
    return with_unit(Quantity(value=round(length, 1), unit="mm"))
