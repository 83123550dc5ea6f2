"""What past jobs teach in sentences for the ear: short ones, the most useful first."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from recorder.knowhow.preparing.checks import to_tell
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
from recorder.model.inventory import called, says_kind
from recorder.model.length import BeltLength
from recorder.model.quantity import Quantity

_OTHER = {"recipe": "other_recipe", "past": "other_past", "window": "other_window"}
_DAYS = {"year": 365, "month": 30, "week": 7}  # of these, spoken once there are two


def last_time(
    answer: RecipeAnswer, now: datetime, field: str | None = None, press: str | None = None
) -> list[str]:
    """What was used on such a belt, else on the nearest. field: of which alone is asked."""
    recipe = counting(answer, press)
    said = []
    if recipe:
        said.append(sentence("recipe_is", name=recipe.name))
        said += _settings(((each.field, each.value) for each in recipe.settings), field)
    if answer.exact:
        return [*said, *_on(answer.exact, now, field, usual=recipe is None)]
    if answer.unsettled:
        said.append(sentence("past_unsettled", count=integer(answer.unsettled)))
    if recipe:
        return said
    if not answer.unsettled:
        said.append(sentence("past_none"))
    if answer.nearest:
        near = answer.nearest[0]
        other = differences(answer.asked, near.belt)
        said.append(sentence("past_nearest", differs=listed(other)))
        said += _on(near, now, field, usual=True)
    return said


def unread(answer: RecipeAnswer) -> list[str]:
    """That a recipe is damaged: it may have been the one for this belt."""
    return [sentence("past_unread")] if answer.unread else []


def _on(on: OnBelt, now: datetime, field: str | None, usual: bool) -> list[str]:
    """usual: whether the usual settings are said, which a recipe takes the place of."""
    tried = {each.outcome: each for each in on.tried}
    accepted = tried.pop("accepted", None)
    told = accepted.settings if accepted else ()
    settings = _settings(((each.field, each.usual) for each in told), field) if usual else []
    which = "past_share_there" if on.differs else "past_share"
    share = sentence(which, accepted=capital(integer(on.share.accepted)), of=integer(on.share.of))
    if field is not None:
        return [*settings, share]
    said = [share, *settings]
    if on.pooled:
        names = sentences.shortened(sentences.names_of(on.pooled))
        said.append(sentence("past_pooled", names=names))
    if accepted:
        said.append(sentence("past_last", ago=ago((now - accepted.last_at).days)))
    return [*said, *(_failed(each, accepted) for each in tried.values())]


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
        return sentence("past_failed", outcome=outcome, often=_often(tried.runs))
    often = _often(tried.runs)
    return sentence("past_failed_with", outcome=outcome, often=often, with_=listed(other))


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
        other=sentence(_OTHER[found.against], name=name,
                       span=span(found.field, found.low, found.high)),
    )  # fmt: skip


def template(proposal: Proposal) -> list[str]:
    """The best one, with a check that is due and the runner-up."""
    best = proposal.best
    if best is None and proposal.others:
        names = [each.template.name for each in proposal.others]
        return [sentence("template_several", names=sentences.shortened(names))]
    if best is None:
        none_at_all = not proposal.unfit
        return [sentence("template_unowned" if none_at_all else "template_none")]
    said = [sentence("template_is", name=best.template.name)]
    if best.used:
        said.append(sentence("template_used", often=_often(best.used)))
    if best.check is not None:
        said += checks(to_tell((best.check,)))
    if proposal.others:
        said.append(sentence("template_or", name=proposal.others[0].template.name))
    return said


def unknown_of(proposal: Proposal) -> list[str]:
    """Fields of the belt that would matter and were not told: for the best one, else for all that
    may fit.
    """
    every = (proposal.best,) if proposal.best else proposal.others
    return list(dict.fromkeys(field for each in every for field in each.unknown))


def checks(found: Iterable[Check]) -> list[str]:
    """One sentence for each thing that is due soon, due or overdue."""
    said = []
    for check in found:
        name = called(capital(of("kinds", check.kind)), check.name)
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
        where=where(found.stream, found.name),
    )


def where(stream: str, name: str) -> str:
    """'on press P2', 'on Press 2'."""
    told, kind = of("streams", stream), of("kinds", stream, "")
    if kind and says_kind(kind, name):
        told = told.replace(f"{kind} {{name}}", "{name}")
    return told.format(name=name)


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


def _often(count: int) -> str:
    """'once', 'three times'."""
    return of("times", "once") if count == 1 else of("times", "often").format(count=integer(count))


def _mm(length: float) -> str:
    return with_unit(Quantity(value=round(length, 1), unit="mm"))
