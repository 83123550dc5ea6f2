"""Everything that a report template may use, declared: one ``Report`` under the name ``report``.

All texts are ready for a person: units, signs and words are in them. A template decides where
they stand and how they look, and nothing else. A test fails when a template uses a name that is
not declared here or in ``frame`` and ``sources``, or when a name here is used by no template.
"""

from __future__ import annotations

from recorder.model.base import Value
from recorder.report.content.frame import Document, Mark
from recorder.report.content.sources import Annex, Original, Program, Recording, Sound
from recorder.report.content.text import Text


class Entry(Value):
    """A value beside its label.

    value: in SI. also: what was said in another unit, and the customer's unit. mark: standing.
    absent: nobody recorded it, and ``value`` says so.
    """

    label: Text
    value: Text
    also: Text = ""
    mark: Mark | None = None
    absent: bool = False


class SettingRow(Value):
    """One setting: what was asked for, what the recipe says where it differs in origin, and what
    each press run used. values: in the order of the columns of the table.
    """

    label: Text
    values: tuple[Entry, ...]


class Settings(Value):
    """columns: 'Asked', 'Recipe' where the record has one, and 'Used' for each press run."""

    columns: tuple[Text, ...]
    rows: tuple[SettingRow, ...]


class Stretch(Value):
    """One stage of a press run. kind: style classes: 'dwell', 'heating unknown' where the length
    was not told. detail: how long and how hot. start, width: percent of the whole.
    """

    kind: str
    label: Text
    detail: Text
    start: float
    width: float
    mark: Mark | None


class Tick(Value):
    """at: percent of the whole. label: time since its beginning."""

    at: float
    label: Text


class Timeline(Value):
    """A press run to scale. ticks: empty where it has no whole length. remarks: what is not known,
    and where told and recorded times disagree.
    """

    heading: Text
    stretches: tuple[Stretch, ...]
    ticks: tuple[Tick, ...]
    remarks: tuple[Text, ...]


class Measured(Value):
    """value: with its expanded uncertainty, or empty. also: in the customer's unit."""

    value: Text
    also: Text = ""
    decision: Mark | None = None


class Column(Value):
    """A column: what is measured, its limit, and what was said about it."""

    label: Text
    limit: Text
    said: Entry


class PhotoRow(Value):
    """What one photo gave, in the order of the columns."""

    heading: Text
    values: tuple[Measured, ...]


class Measurements(Value):
    """coverage: how to read the uncertainties. sources: who set the limits.
    spoken: whether anything was said about any of the columns.
    """

    columns: tuple[Column, ...]
    photos: tuple[PhotoRow, ...]
    spoken: bool
    coverage: Text
    sources: tuple[Text, ...]


class Picture(Value):
    """A photo and what was found in it. src: an address that only the report's own fetcher knows:
    of the overlay, else of the photo itself; empty when there is no picture, and ``caption`` then
    says why. alt: for readers who do not see it. original: address of the photo as it was taken,
    where ``src`` is an overlay, or empty. plot: address of the gap along the seam, or empty;
    without_plot: why there is none. measured: what it gave besides the columns of the table.
    whole: the caption where it was too long for its place, or empty.
    """

    src: str
    alt: Text
    original: str
    original_alt: Text
    plot: str
    plot_alt: Text
    without_plot: Text
    heading: Text
    caption: Text
    whole: Text
    measured: Text


class Step(Value):
    """One press run in the story of the job. heading: 'Splice 2, press run 1'. outcome: what the
    technician said of it. photo: what its last photo says, in words and with a number.
    """

    heading: Text
    outcome: Mark
    photo: Mark | None


class Splice(Value):
    """One splice. heading: 'Splice 2'. steps: what each of its press runs came to, where it had
    several. timelines: one a press run. remarks: refused photos and what widened an uncertainty.
    """

    heading: Text
    outcome: Mark
    outcome_standing: Mark | None
    steps: tuple[Step, ...]
    facts: tuple[Entry, ...]
    settings: Settings
    timelines: tuple[Timeline, ...]
    measurements: Measurements | None
    pictures: tuple[Picture, ...]
    remarks: tuple[Text, ...]


class KeyFinding(Value):
    """A measurement that counts. value: with U. limit: in force. also: in the customer's unit."""

    label: Text
    value: Text
    also: Text
    limit: Text
    decision: Mark | None


class KeyPicture(Value):
    """The picture of the first page. src: empty where there is none; caption then says so."""

    src: str
    alt: Text
    caption: Text


class Code(Value):
    """What a phone reads. src: address of the drawing. alt: what it says, for readers who do not
    see it; ``seamnote verify`` reads it too, so it stays without places to break. digest: of the
    document, in groups of figures.
    """

    src: str
    alt: str
    digest: Text


class Correction(Value):
    """where: splice, run and field. before, after: values. said: the words that corrected it."""

    where: Text
    before: Text
    after: Text
    said: Text


class OpenPoint(Value):
    """A reading that nobody confirmed. why: the doubt, with what was heard."""

    where: Text
    value: Text
    why: Text


class PhotoPoint(Value):
    """What a photo measures not within a limit. mark: the decision. why: the limit."""

    mark: Mark
    where: Text
    value: Text
    why: Text


class MissingValues(Value):
    """Fields without a value. where: the job, or the splice and run."""

    where: Text
    labels: Text
    count: int


class Group(Value):
    """Values of the job that belong together."""

    heading: Text
    entries: tuple[Entry, ...]


class SpokenNote(Value):
    """at: minutes and seconds in the recording, in a live session hours and minutes; or empty."""

    at: Text
    text: Text


class Signature(Value):
    """signer: common name on the key; empty on a draft. organization: the service firm.
    at: as the device's clock claims. drawn: a drawing by hand will stand below the words.
    """

    signer: Text
    organization: Text
    at: Text
    drawn: bool


class Overview(Value):
    """The first page, which stands alone as the short report.

    headline: what became of the job, in words. outcome: its mark. standing: of the outcome, where
    nobody confirmed it. verdict: what the photos of that splice say. steps: the story of several
    press runs; more: how many steps are left to the later pages, in words, or empty.
    summary: counts of what needs a look. isolation: what the record says about it.
    facts: who, where, which belt. settings, timeline: of the last press run. findings:
    measurements that count. picture: the photo that they are of. code: absent on a draft.
    """

    headline: Text
    outcome: Mark
    standing: Mark | None
    verdict: Mark
    steps: tuple[Step, ...]
    more: Text
    summary: tuple[Mark, ...]
    isolation: Mark
    facts: tuple[Entry, ...]
    settings: Settings
    timeline: Timeline | None
    findings: tuple[KeyFinding, ...]
    picture: KeyPicture
    code: Code | None


class Evidence(Value):
    """All that follows the first page.

    open_points, photo_points, corrections, missing: to be read before signing. groups: the values
    of the job by subject. unassigned: photos that belong to no splice of the record. sound: of a
    live session.
    """

    open_points: tuple[OpenPoint, ...]
    photo_points: tuple[PhotoPoint, ...]
    corrections: tuple[Correction, ...]
    missing: tuple[MissingValues, ...]
    splices: tuple[Splice, ...]
    unassigned: tuple[Picture, ...]
    groups: tuple[Group, ...]
    notes: tuple[SpokenNote, ...]
    sound: Sound | None
    recordings: tuple[Recording, ...]
    annex: tuple[Annex, ...]
    programs: tuple[Program, ...]
    originals: tuple[Original, ...]


class Report(Document):
    """The whole report of a job. Times of evidence are ISO 8601 with zone.

    number: of the job, or empty. job_id: name of the job folder. written_on: day, for people.
    recorded_at: start of the record. written_at: of this document.
    draft: not signed. demo: signed with a throw-away key.
    evidence: absent from the short report. legend: the standing marks.
    """

    number: Text
    job_id: Text
    written_on: Text
    recorded_at: Text
    written_at: Text
    draft: bool
    demo: bool
    overview: Overview
    evidence: Evidence | None
    signature: Signature
    legend: tuple[Mark, ...]
