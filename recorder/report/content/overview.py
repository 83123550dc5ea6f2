"""The first page: what a plant manager reads in a minute."""

from __future__ import annotations

from recorder.model.characteristics import limit_label
from recorder.model.fields import FIELDS
from recorder.model.job import Job, in_force
from recorder.model.measurement import Decision, SeamMeasurement
from recorder.model.reading import Reading, Standing
from recorder.model.splices import Verdict, numbers, photos_of, runs, verdict
from recorder.report.content import code, measured, splices
from recorder.report.content.context import Code, Entry, Evidence, KeyFinding, KeyPicture, Overview
from recorder.report.content.edition import Edition
from recorder.report.content.entries import entries, standing_mark
from recorder.report.content.frame import Mark
from recorder.report.content.measured import decision_mark
from recorder.report.content.pictures import SCHEME, PictureTray
from recorder.report.content.story import heading, steps, worst_photo
from recorder.report.content.text import brief, clean
from recorder.report.content.timeline import timeline
from recorder.report.wording.wording import count, noted, say
from recorder.settings import ReportSettings

WHERE = ("customer", "site", "conveyor", "technician")
BELT = ("belt_material", "belt_width", "belt_thickness")
_FACTS = (*WHERE, *BELT, "splice_type", "press")

_LONGEST_FACT = 60
_LONGEST_CAPTION = 130
_MOST_STEPS = 4
_MOST_FINDINGS = 5
_DIGEST_GROUP = 8

_ONLY = {
    "accepted": noted("Splice accepted"),
    "rework": noted("Splice to be reworked"),
    "rejected": noted("Splice rejected"),
    "open": noted("Splice without an outcome"),
}
_LAST = {
    "accepted": noted("Splice {splice} accepted"),
    "rework": noted("Splice {splice} to be reworked"),
    "rejected": noted("Splice {splice} rejected"),
    "open": noted("Splice {splice} without an outcome"),
}


def overview(
    job: Job, tray: PictureTray, settings: ReportSettings, edition: Edition, evidence: Evidence
) -> Overview:
    """evidence: of the pages that follow, whose counts stand here."""
    count_of = numbers(job)
    whole = len(count_of) > 1 and all(
        splices.outcome(job, n)[0].kind == "accepted" for n in count_of
    )
    subject = _worst(job, count_of) if whole else count_of[-1]
    mark, standing = splices.outcome(job, subject)
    known = in_force(job.readings, subject)
    told = [step for n in count_of for step in steps(job, n)]
    run = runs(job, subject)[-1]
    shown = photos_of(job, subject)
    best = worst_photo(verdict(shown), [found for _, found in shown])
    return Overview(
        headline=_headline(mark.kind, count_of, whole),
        outcome=mark,
        standing=standing,
        verdict=_verdict(job, subject, whole),
        steps=tuple(told[:_MOST_STEPS]) if len(told) > 1 else (),
        more=_more(len(told) - _MOST_STEPS),
        summary=summary(evidence),
        isolation=_isolation(known.get("isolation_confirmed")),
        facts=_facts(known, settings),
        settings=splices.settings(job, subject, (run,), settings.units),
        timeline=timeline(job, subject, run, heading(job, subject, run)),
        findings=_findings(best, settings),
        picture=_picture(job, subject, best, tray),
        code=_code(job, known.get("job_number"), edition, tray),
    )


def _worst(job: Job, count_of: list[int]) -> int:
    """The splice with the worst photos; the last one when they are equal."""
    order = [Decision.OUTSIDE, Decision.UNDECIDED, Decision.WITHIN, None]
    return min(reversed(count_of), key=lambda n: order.index(verdict(photos_of(job, n)).decision))


def _headline(kind: str, count_of: list[int], whole: bool) -> str:
    if whole:
        return count("{n} splice accepted", "All {n} splices accepted", len(count_of))
    if len(count_of) == 1:
        return say(_ONLY[kind])
    return say(_LAST[kind], splice=count_of[-1])


def _verdict(job: Job, splice: int, whole: bool) -> Mark:
    """What the photos that count say of a splice, in words: the worst of them."""
    found = verdict(photos_of(job, splice))
    mark = (
        decision_mark(found.decision)
        if found.decision
        else Mark(kind="unmeasured", sign="–", word="")
    )
    said = _said(found)
    if whole:
        said = say("Splice {splice}, the worst by its photos: {said}", splice=splice, said=said)
        if found.decision is Decision.WITHIN and all(
            verdict(photos_of(job, n)).decision is Decision.WITHIN for n in numbers(job)
        ):
            said = say("The last photos of every splice measure within every limit in force.")
    if found.refused and found.measured:
        said += " " + say("Not measured: {files}.", files=", ".join(found.refused))
    return mark.model_copy(update={"word": said})


def _said(found: Verdict) -> str:
    photos = len(found.measured)
    if not found.measured:
        return (
            say("Its last photo could not be measured; an earlier one was.")
            if found.earlier
            else say("No photo of it was measured.")
        )
    if found.decision is None:
        return say("Measured in a photo, without a limit to hold it against.")
    names = ", ".join(say(limit_label(name)) for name in found.limits)
    if found.decision is Decision.WITHIN:
        return count(
            "Its last photo measures within every limit in force.",
            "Its {n} last photos measure within every limit in force.",
            photos,
        )
    if found.decision is Decision.OUTSIDE:
        return count(
            "Its last photo measures outside the limit: {names}.",
            "Its {n} last photos measure outside the limit, by the worst of them: {names}.",
            photos,
            names=names,
        )
    return count(
        "Its last photo is too near the limit to decide: {names}.",
        "Its {n} last photos are too near the limit to decide, by the worst of them: {names}.",
        photos,
        names=names,
    )


def _more(left: int) -> str:
    if left <= 0:
        return ""
    return count("and {n} more press run", "and {n} more press runs", left)


def summary(evidence: Evidence) -> tuple[Mark, ...]:
    """Counts of what needs a look, in words; what needs none says so too. Of the sound only where
    a live session recorded it.
    """

    def line(sign: str, some: str, none: str, n: int) -> Mark:
        if not n:
            return Mark(kind="none", sign="✓", word=none)
        return Mark(kind="some", sign=sign, word=some)

    open_, photos = len(evidence.open_points), len(evidence.photo_points)
    silent: tuple[Mark, ...] = ()
    if evidence.sound:
        gaps = len(evidence.sound.silences)
        some = count("{n} gap in the sound", "{n} gaps in the sound", gaps)
        silent = (line("–", some, say("no gap in the sound"), gaps),)
    corrected, missing = len(evidence.corrections), sum(m.count for m in evidence.missing)
    return (
        line(
            "▲",
            count("{n} value not confirmed", "{n} values not confirmed", open_),
            say("no value in doubt"),
            open_,
        ),
        line(
            "✗",
            count(
                "{n} measurement to judge",
                "{n} measurements to judge",
                photos,
            ),
            say("no measurement in doubt"),
            photos,
        ),
        line(
            "→",
            count("{n} value corrected", "{n} values corrected", corrected),
            say("nothing corrected"),
            corrected,
        ),
        line(
            "–",
            count("{n} value missing", "{n} values missing", missing),
            say("nothing missing"),
            missing,
        ),
        *silent,
    )


def _isolation(reading: Reading | None) -> Mark:
    mark = standing_mark(Standing.DOUBTFUL)
    if reading is None:
        words = say("The record does not say that the conveyor was isolated and locked out.")
    elif reading.value is False:
        words = say("The record says that the conveyor was NOT isolated and locked out.")
    elif reading.standing is Standing.DOUBTFUL:
        words = say("Isolation and lockout may have been reported, but nobody confirmed it.")
    else:
        mark = standing_mark(reading.standing)
        words = say("The technician reported the conveyor isolated and locked out.")
    return mark.model_copy(update={"word": words})


def _facts(known: dict[str, Reading], settings: ReportSettings) -> tuple[Entry, ...]:
    found = entries(_FACTS, known, settings.units, always=(*WHERE, *BELT))
    return tuple(
        each.model_copy(update={"value": brief(each.value, _LONGEST_FACT)})
        for each in _with_technician(found, settings.technician)
    )


def seen_in_full(known: dict[str, Reading]) -> set[str]:
    """Names of the fields that the first page shows with nothing left out."""
    return {
        name
        for name in _FACTS
        if name not in known or len(clean(str(known[name].value))) <= _LONGEST_FACT
    }


def _with_technician(found: tuple[Entry, ...], name: str) -> tuple[Entry, ...]:
    """The settings know the technician when the record does not say."""
    label = say(FIELDS["technician"].label)
    return tuple(
        Entry(label=label, value=name) if each.label == label and each.absent and name else each
        for each in found
    )


def _findings(best: SeamMeasurement | None, settings: ReportSettings) -> tuple[KeyFinding, ...]:
    table = measured.table([""], [best], {}, settings.units) if best else None
    if table is None:
        return ()
    return tuple(
        KeyFinding(
            label=column.label,
            value=value.value,
            also=value.also,
            limit=column.limit,
            decision=value.decision,
        )
        for column, value in zip(table.columns, table.photos[0].values, strict=True)
    )[:_MOST_FINDINGS]


def _picture(job: Job, subject: int, best: SeamMeasurement | None, tray: PictureTray) -> KeyPicture:
    """The overlay of the photo that decides, else the last photo of the splice."""
    shown = photos_of(job, subject)
    if not shown:
        return KeyPicture(src="", alt="", caption=say("The record holds no photo of this splice."))
    note, found = next(
        ((note, found) for note, found in shown if best and found is best), shown[-1]
    )
    seen = splices.picture(job, note, found, tray)
    caption = say("{stage}. {caption}", stage=seen.heading, caption=seen.caption)
    if len(numbers(job)) > 1:
        caption = say("Splice {splice}. {caption}", splice=subject, caption=caption)
    return KeyPicture(src=seen.src, alt=seen.alt, caption=brief(caption, _LONGEST_CAPTION))


def _code(job: Job, number: Reading | None, edition: Edition, tray: PictureTray) -> Code | None:
    if edition.draft or not edition.digest:
        return None
    told = code.text(str(number.value) if number else "", job.id, edition.now, edition.digest)
    src = f"{SCHEME}code.svg"
    tray.files[src] = code.drawing(told)
    groups = range(0, len(edition.digest), _DIGEST_GROUP)
    return Code(
        src=src,
        alt=say("Code for verification: {code}", code=told),
        digest=" ".join(edition.digest[at : at + _DIGEST_GROUP] for at in groups),
    )
