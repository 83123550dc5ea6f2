"""A job as the values of its report."""

from __future__ import annotations

from recorder.model.fields import FIELDS, Level
from recorder.model.job import Job, PhotoNote, in_force
from recorder.model.measurement import SeamMeasurement
from recorder.model.reading import Note, Reading
from recorder.model.software import Use
from recorder.model.splices import numbers, unplaced
from recorder.model.tension import MARKS
from recorder.report.content import annex, belt_length, points, sound, splices, talk, tension
from recorder.report.content.context import Evidence, Group, Report, Signature, SpokenNote
from recorder.report.content.edition import Edition
from recorder.report.content.entries import SHOWN, clock, entries, standing_mark
from recorder.report.content.letterhead import letterhead
from recorder.report.content.overview import BELT, WHERE, overview, seen_in_full
from recorder.report.content.pictures import PictureTray
from recorder.report.content.sources import Original, Program
from recorder.report.content.text import brief
from recorder.report.identity.certificates import DEMO_MARK
from recorder.report.wording.wording import day, language_tag, noted, say
from recorder.settings import ReportSettings

# Values of the job by subject, in the order of the page; what no group names joins the last.
_GROUPS = {
    noted("Place and people"): WHERE,
    noted("Belt and tension"): (
        *BELT, "guide_profile", "belt_serial",
        "tension_mark_before", "tension_mark_after", "elongation",
    ),
    noted("Advice and next check"): ("recommendation", "next_check"),
}  # fmt: skip
_LAST_GROUP = noted("Work on site")
_ELSEWHERE = {"job_number", "isolation_confirmed"}
_USE = {
    Use.HEARING: noted("Heard with"),
    Use.MEASURING: noted("Measured with"),
    Use.REPORT: noted("Written with"),
}
_LONGEST_NUMBER, _LONGEST_SIGNER = 28, 56


def compose(job: Job, tray: PictureTray, settings: ReportSettings, edition: Edition) -> Report:
    """Everything that the page shows, in words. Raises BadLogo."""
    known = in_force(job.readings)
    number = str(known["job_number"].value) if "job_number" in known else ""
    written = edition.now
    evidence = _evidence(job, tray, settings, edition)
    return Report(
        language=language_tag(),
        paper=edition.paper,
        title=_title(number or job.id, edition.draft),
        foot=_foot(job, number),
        letterhead=letterhead(settings, edition.signer, tray),
        number=brief(number, _LONGEST_NUMBER),
        job_id=job.id,
        written_on=day(written),
        recorded_at=job.created_at.isoformat(timespec="minutes"),
        written_at=written.isoformat(timespec="minutes"),
        draft=edition.draft,
        demo=edition.signer.split(" ")[0] == DEMO_MARK,
        overview=overview(job, tray, settings, edition, evidence),
        evidence=evidence if edition.variant == "full" else None,
        signature=Signature(
            signer="" if edition.draft else brief(edition.signer, _LONGEST_SIGNER),
            organization=brief(settings.firm, _LONGEST_SIGNER),
            at=written.isoformat(timespec="seconds"),
            drawn=edition.drawn and not edition.draft,
        ),
        legend=tuple(map(standing_mark, SHOWN)),
    )


def _title(name: str, draft: bool) -> str:
    if draft:
        return say("Splice record {name} (draft, not signed)", name=name)
    return say("Splice record {name}", name=name)


def _foot(job: Job, number: str) -> tuple[str, ...]:
    """The words around the two numbers may stand in another order in no language that we know."""
    name = brief(say("Job {number}", number=number) if number else job.id, _LONGEST_NUMBER)
    before, _, rest = say("page {page} of {pages}", page="\0", pages="\1").partition("\0")
    between, _, after = rest.partition("\1")
    return (name, say("seamnote {version}", version=job.version), before, between, after)


def _evidence(job: Job, tray: PictureTray, settings: ReportSettings, edition: Edition) -> Evidence:
    known, full = in_force(job.readings), edition.variant == "full"
    if full:
        tray.prepare(splices.wanted(job))
    return Evidence(
        open_points=points.open_points(job),
        photo_points=(*points.photo_points(job), *points.disagreements(job)),
        corrections=points.corrections(job),
        missing=points.missing(job),
        splices=tuple(splices.splice(job, n, tray, settings.units) for n in numbers(job))
        if full
        else (),
        unassigned=tuple(
            splices.picture(job, PhotoNote(file=name), _result(job, name), tray)
            for name in unplaced(job)
        )
        if full
        else (),
        groups=_groups(job, known, settings),
        notes=tuple(SpokenNote(at=_noted_at(job, note), text=note.text) for note in job.notes),
        sound=sound.sound(job),
        recordings=talk.recordings(job),
        annex=annex.pages(job),
        programs=_programs(job, edition),
        originals=_originals(job),
    )


def _noted_at(job: Job, note: Note) -> str:
    """Hours and minutes by the clock in a live session, which has many recordings."""
    at = sound.told_at(job, note.file, note.start_s)
    return at[-8:-3] if at else clock(note.start_s)


def _groups(job: Job, known: dict[str, Reading], settings: ReportSettings) -> tuple[Group, ...]:
    """What the first page does not show, or not in full."""
    named = {name for names in _GROUPS.values() for name in names} | _ELSEWHERE
    rest = tuple(n for n, f in FIELDS.items() if f.level is Level.JOB and n not in named)
    seen = seen_in_full(known)
    found = []
    for heading, names in {**_GROUPS, _LAST_GROUP: rest}.items():
        listed = entries([n for n in names if n not in seen], known, settings.units)
        if MARKS[1] in names:
            listed += tension.entries(known)
        if listed:
            found.append(Group(heading=say(heading), entries=listed))
    if job.belt_length:
        worked_out = belt_length.entries(job.belt_length, settings.units)
        found.append(Group(heading=say("Length of the belt, worked out"), entries=worked_out))
    return tuple(found)


def _result(job: Job, name: str) -> SeamMeasurement | None:
    return next((found for found in job.measurements if found.file == name), None)


def _programs(job: Job, edition: Edition) -> tuple[Program, ...]:
    return tuple(
        Program(
            use=say(_USE[each.use]),
            name=" ".join(filter(None, (each.name, each.version))),
            digest=each.sha256,
        )
        for each in edition.software or job.software
    )


def _originals(job: Job) -> tuple[Original, ...]:
    emptied = {heard.file for heard in job.transcripts if not heard.utterances}
    return tuple(
        Original(
            name=media.name,
            size=f"{media.size_bytes / 1000:.0f} kB",
            digest=media.sha256,
            refused=media.refused,
            removed=day(media.removed.at) if media.removed else "",
            with_words=bool(media.removed) and media.name in emptied,
        )
        for media in job.media
    )
