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
    """One setting: what was asked, and what each press run used, in the order of ``runs``."""

    label: Text
    asked: Entry
    used: tuple[Entry, ...]


class Settings(Value):
    """runs: heading of each column of used values."""

    runs: tuple[Text, ...]
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
    measured: Text


class Splice(Value):
    """One splice. heading: 'Splice 2'. remarks: refused photos and what widened an uncertainty."""

    heading: Text
    outcome: Mark
    outcome_standing: Mark | None
    facts: tuple[Entry, ...]
    settings: Settings
    measurements: Measurements | None
    pictures: tuple[Picture, ...]
    remarks: tuple[Text, ...]


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


class SpokenNote(Value):
    """at: minutes and seconds in the recording, or empty."""

    at: Text
    text: Text


class Original(Value):
    """An original file of the record. digest: SHA-256 in hex. refused: why it was not used."""

    name: Text
    size: Text
    digest: Text
    refused: Text


class Signature(Value):
    """signer: common name on the key; empty on a draft. organization: the service firm.
    at: as the device's clock claims.
    """

    signer: Text
    organization: Text
    at: Text


class Report(Value):
    """The whole page. All times are ISO 8601 with zone.

    language: of the wording. firm, address: of the service firm. number: of the job, or empty.
    job_id: name of the job folder. recorded_at: start of the record. written_at: of this page.
    created: ``written_at`` for the PDF's metadata. version: of the program.
    draft: not signed. demo: signed with a throw-away key.
    outcome: of the splice that is in the belt now. outcome_of: which one. verdict: what the last
    photo of it says. earlier: outcomes of the other splices.
    summary: counts of what needs a look. isolation: what the record says about it.
    where, belt, work, advice: values of the job; ``belt`` with the press.
    open_points, photo_points, corrections, missing: to be read before signing.
    unassigned: photos that belong to no splice of the record. legend: the standing marks.
    """

    language: str
    firm: Text
    address: Text
    number: Text
    job_id: Text
    recorded_at: Text
    written_at: Text
    created: str
    version: Text
    draft: bool
    demo: bool
    outcome: Mark
    outcome_of: Text
    outcome_standing: Mark | None
    verdict: Mark
    earlier: tuple[Text, ...]
    summary: tuple[Mark, ...]
    isolation: Mark
    where: tuple[Entry, ...]
    belt: tuple[Entry, ...]
    work: tuple[Entry, ...]
    advice: tuple[Entry, ...]
    splices: tuple[Splice, ...]
    unassigned: tuple[Picture, ...]
    open_points: tuple[OpenPoint, ...]
    photo_points: tuple[PhotoPoint, ...]
    corrections: tuple[Correction, ...]
    missing: tuple[MissingValues, ...]
    notes: tuple[SpokenNote, ...]
    originals: tuple[Original, ...]
    signature: Signature
    legend: tuple[Mark, ...]
    annex: tuple[Annex, ...]
