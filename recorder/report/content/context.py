"""Everything that a report template may use, declared: one ``Report`` under the name ``report``.

All texts are ready for a person: units, signs and words are in them. A template decides where
they stand and how they look, and nothing else. A test fails when a template uses a name that is
not declared here, or when a name here is used by no template.
"""

from __future__ import annotations

from recorder.model.base import Value
from recorder.report.content.text import Text


class Mark(Value):
    """A standing, decision, outcome or count: never by colour alone.

    kind: style class. sign: one glyph, or empty. word: what it means; always printed with the
    sign where a person must act.
    """

    kind: str
    sign: str
    word: Text


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


class Letterhead(Value):
    """firm, address: of the service firm. logo: address of its picture, or empty. colour: of rules,
    headings and the seam. second_colour: of the second thread of the seam.
    """

    firm: Text
    address: Text
    logo: str
    logo_alt: Text
    colour: str
    second_colour: str


class Utterance(Value):
    """at: minutes and seconds in the recording, or empty."""

    at: Text
    text: Text


class Recording(Value):
    """What was heard in one file, with times. heading: its name, and with what it was heard."""

    heading: Text
    utterances: tuple[Utterance, ...]


class Program(Value):
    """A piece of software. use: what it did. digest: of a model's weights, or empty."""

    use: Text
    name: Text
    digest: Text


class Silence(Value):
    """A gap in the sound of a live session. at: from when to when, by the clock."""

    at: Text
    length: Text
    why: Text


class SoundStretch(Value):
    """Sound without a gap. at: when it began. samples: how many. device: its microphone."""

    file: Text
    at: Text
    length: Text
    samples: Text
    device: Text


class Sound(Value):
    """What a live session recorded. told: with what, from when to when, in a sentence."""

    told: Text
    silences: tuple[Silence, ...]
    stretches: tuple[SoundStretch, ...]


class Finding(Value):
    """One characteristic in the annex. value: with U, or why there is none. limit, source: in
    force, or empty. conformity: probability of lying within the limit, or empty. u: combined
    standard uncertainty in the unit of the value. terms: what it is made of; both may be empty.
    """

    label: Text
    value: Text
    decision: Mark | None
    limit: Text
    source: Text
    conformity: Text
    u: Text
    terms: Text


class Annex(Value):
    """All that one photo gave. facts: where the gap is largest, fingers, lens, scale, flanks.
    remarks: flags and warnings.
    """

    heading: Text
    decision: Mark | None
    findings: tuple[Finding, ...]
    facts: tuple[Text, ...]
    remarks: tuple[Text, ...]


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


class Original(Value):
    """An original file of the record. digest: SHA-256 in hex. refused: why it was not used.
    removed: the day on which it was taken out on request, or empty. with_words: and what was said
    in it too, but for the words that carry a value.
    """

    name: Text
    size: Text
    digest: Text
    refused: Text
    removed: Text
    with_words: bool


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


class Document(Value):
    """What every document in the look of the report has.

    language: of the wording, BCP 47. paper: 'A4' or 'Letter'. title: of the document. foot: what
    stands at the foot of each page: the job, the program, and the words before, between and after
    the number of a page and that of all.
    replaced: which characters the typeface lacks, in words; empty when it has them all.
    """

    language: str
    paper: str
    title: Text
    foot: tuple[str, ...]
    letterhead: Letterhead
    replaced: Text = ""


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
