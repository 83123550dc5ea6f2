"""A job as the values of its page."""

from pathlib import Path
from typing import Any

import pytest

from recorder.model.job import Job, MediaFile, MediaKind, PhotoNote, Removal
from recorder.model.length import BeltLength
from recorder.model.measurement import Decision, Limit, Measurement, SeamMeasurement
from recorder.model.quantity import Quantity
from recorder.model.reading import Reading, Role, Standing
from recorder.model.transcript import Transcript
from recorder.report.content.compose import compose
from recorder.report.content.context import Evidence, Report
from recorder.report.content.entries import also, clock
from recorder.report.content.formats import part, spell_out
from recorder.report.content.pictures import PictureTray
from tests.report import sample
from tests.report.sample import card, told


def composed(job: Job, folder: Path, **settings: Any) -> Report:
    chosen = sample.SETTINGS.model_copy(update=settings)
    edition = sample.EDITION.model_copy(update={"signer": "Imke Dorn"})
    return compose(job, PictureTray(folder), chosen, edition)


def evidence(job: Job, folder: Path, **settings: Any) -> Evidence:
    found = composed(job, folder, **settings).evidence
    assert found
    return found


def of(*readings: Reading, **more: Any) -> Job:
    return Job(id="j", created_at=sample.NOW, version="0", readings=readings, **more)


def test_a_correction_tells_from_and_to(tmp_path: Path) -> None:
    report = composed(sample.demo_job(tmp_path), tmp_path)
    (correction,) = report.evidence.corrections
    assert correction.where == "Splice 2: Top platen"
    assert (correction.before, correction.after) == ("175 °C", "172 °C")
    assert correction.said == "said at 1:02: “no, make that one seventy two”"


def test_what_the_job_card_said_is_corrected_where_it_was_replaced(tmp_path: Path) -> None:
    on_card = card("finger_pitch", 10.0, "mm")
    first = told("outcome", "rejected", None, "rejected", 1.0)
    said = told("finger_pitch", 12.0, "mm", "pitch is twelve", 9.0, splice=2)
    report = composed(of(on_card, first, said), tmp_path)
    (correction,) = report.evidence.corrections
    assert correction.where == "Splice 2: Finger pitch"
    assert (correction.before, correction.after) == ("10 mm", "12 mm")


def test_a_later_job_card_corrects_every_splice(tmp_path: Path) -> None:
    said = told("finger_pitch", 12.0, "mm", "pitch is twelve", 9.0, splice=2)
    other = told("finger_pitch", 8.0, "mm", "pitch is eight", 1.0)
    report = composed(of(other, said, card("finger_pitch", 10.0, "mm")), tmp_path)
    found = [(c.where, c.before, c.after) for c in report.evidence.corrections]
    assert found == [
        ("Splice 1: Finger pitch", "8 mm", "10 mm"),
        ("Splice 2: Finger pitch", "12 mm", "10 mm"),
    ]


def test_the_same_value_again_is_no_correction(tmp_path: Path) -> None:
    first = told("pressure", 2.2, "bar", "two point two", 1.0)
    again = told("pressure", 2.2, "bar", "two point two bar", 9.0, Standing.CONFIRMED)
    assert evidence(of(first, again), tmp_path).corrections == ()


def test_a_doubt_does_not_correct_what_a_person_confirmed(tmp_path: Path) -> None:
    sure = told("pressure", 2.2, "bar", "two point two", 1.0, Standing.CONFIRMED)
    doubt = told("pressure", 3.2, "bar", "three point two", 9.0, Standing.DOUBTFUL)
    report = composed(of(sure, doubt), tmp_path)
    assert report.evidence.corrections == ()
    assert [point.value for point in report.evidence.open_points] == ["3.2 bar"]
    used = report.evidence.splices[0].settings.rows[0].values[1]
    assert used.value == "2.2 bar"
    assert used.mark is not None
    assert used.mark.kind == "confirmed"


def test_asking_for_another_value_is_no_correction(tmp_path: Path) -> None:
    asked = card("pressure", 2.0, "bar", role=Role.ASKED)
    used = told("pressure", 2.2, "bar", "two point two", 1.0)
    report = composed(of(asked, used), tmp_path)
    assert report.evidence.corrections == ()
    row = report.evidence.splices[0].settings.rows[0]
    assert (row.values[0].value, row.values[1].value) == ("2 bar", "2.2 bar")


def test_a_recipe_has_its_column_where_the_record_has_one(tmp_path: Path) -> None:
    used = told("pressure", 2.2, "bar", "two point two", 1.0)
    recipe = card("pressure", 2.1, "bar", role=Role.RECIPE)
    table = evidence(of(recipe, used), tmp_path).splices[0].settings
    assert table.columns == ("Asked", "Recipe", "Used")
    assert [entry.value for entry in table.rows[0].values] == ["–", "2.1 bar", "2.2 bar"]
    assert evidence(of(used), tmp_path).splices[0].settings.columns == ("Asked", "Used")


def test_what_is_missing_is_told_by_splice_and_run(tmp_path: Path) -> None:
    settings = {"pressure": "bar", "top_temperature": "degC", "bottom_temperature": "degC"}
    rest = [
        told(name, 100.0, unit, name, 1.0, splice=2, run=run)
        for run in (1, 2)
        for name, unit in {**settings, "dwell_time": "s"}.items()
    ]
    report = composed(of(card("job_number", "1"), *rest), tmp_path)
    assert [(group.where, group.labels) for group in report.evidence.missing] == [
        ("Job", "Customer, Belt width, Isolation confirmed"),
        ("Splice 2, press run 1", "Cool-down, Bubbles, Outcome"),
        ("Splice 2, press run 2", "Cool-down"),
    ]
    assert report.overview.summary[3].word == "7 values missing"
    assert report.evidence.splices[0].settings.columns == (
        "Asked",
        "Used, run 1",
        "Used, run 2",
    )


def test_the_outcome_is_that_of_the_last_splice(tmp_path: Path) -> None:
    first = told("outcome", "accepted", None, "accepted", 1.0)
    second = told("outcome", "rejected", None, "rejected", 5.0, Standing.DOUBTFUL, splice=2)
    report = composed(of(first, second), tmp_path)
    page = report.overview
    assert (page.outcome.word, page.headline) == ("rejected", "Splice 2 rejected")
    assert [(step.heading, step.outcome.word) for step in page.steps] == [
        ("Splice 1", "accepted"),
        ("Splice 2", "rejected"),
    ]
    assert page.standing is not None
    assert page.standing.word == "not confirmed"


@pytest.mark.parametrize(
    ("gap", "word"),
    [
        (0.15, "Its last photo measures within every limit in force."),
        (0.45, "Its last photo is too near the limit to decide: finger gap."),
        (0.9, "Its last photo measures outside the limit: finger gap."),
    ],
)
def test_an_accepted_splice_still_shows_what_its_photo_says(
    tmp_path: Path, gap: float, word: str
) -> None:
    job = sample.demo_job(tmp_path)
    last = sample.measurement("photo_3.jpg", gap, 70.1)
    changed = job.model_copy(update={"measurements": (*job.measurements[:2], last)})
    assert composed(changed, tmp_path).overview.verdict.word == word


def test_a_refused_photo_gives_its_reason(tmp_path: Path) -> None:
    job = sample.demo_job(tmp_path)
    refused = SeamMeasurement(file="photo_3.jpg", status="refused", reason="no card in sight")
    changed = job.model_copy(update={"measurements": (*job.measurements[:2], refused)})
    splice = evidence(changed, tmp_path).splices[1]
    assert splice.remarks == (
        f"photo_2.jpg: {sample.NEVER_MEASURED}",
        "photo_3.jpg: not measured, no card in sight",
    )
    assert splice.measurements is not None
    assert [row.heading for row in splice.measurements.photos] == ["Before pressing"]
    assert all(picture.src for picture in splice.pictures)


def test_a_refused_last_photo_is_not_excused_by_an_earlier_one(tmp_path: Path) -> None:
    job = sample.demo_job(tmp_path)
    refused = SeamMeasurement(file="photo_3.jpg", status="refused", reason="no card in sight")
    changed = job.model_copy(update={"measurements": (*job.measurements[:2], refused)})
    verdict = composed(changed, tmp_path).overview.verdict
    assert verdict.word == "Its last photo could not be measured; an earlier one was."
    assert verdict.kind == "unmeasured"


def test_of_several_photos_the_worst_counts(tmp_path: Path) -> None:
    job = sample.demo_job(tmp_path)
    again = job.media[3].model_copy(update={"name": "again.jpg"})
    changed = job.model_copy(
        update={
            "media": (*job.media, again),
            "photos": (*job.photos, PhotoNote(file="again.jpg", stage="after", splice=2)),
            "measurements": (
                *job.measurements[:2],
                sample.measurement("photo_3.jpg", 0.45, 70.1),
                sample.measurement("again.jpg", 0.1, 70.1),
            ),
        }
    )
    verdict = composed(changed, tmp_path).overview.verdict
    assert verdict.kind == "undecided"
    assert verdict.word == (
        "Its 2 last photos are too near the limit to decide, by the worst of them: finger gap."
    )


def test_a_limit_on_what_is_no_field_of_the_catalogue_is_shown(tmp_path: Path) -> None:
    """Skew and bow are measured and never said."""
    job = sample.demo_job(tmp_path)
    limits = (
        Limit(name="skew", high=0.1, unit="deg", source="drawing 12"),
        Limit(name="bow", high=0.2),
    )
    last = job.measurements[2].model_copy(
        update={
            "limits": limits,
            "bow": None,
            "decisions": {"skew": Decision.OUTSIDE, "bow": Decision.UNDECIDED},
            "decision": Decision.OUTSIDE,
        }
    )
    changed = job.model_copy(update={"measurements": (*job.measurements[:2], last)})
    report = composed(changed, tmp_path)
    assert report.overview.verdict.word == "Its last photo measures outside the limit: skew."
    assert [(p.mark.kind, p.where, p.value, p.why) for p in report.evidence.photo_points] == [
        ("outside", "Skew in photo_3.jpg", "0.20 ± 0.11°", "at most 0.1°"),
        ("undecided", "Bow in photo_3.jpg", "not measured", "at most 0.2 mm"),
    ]
    table = report.evidence.splices[1].measurements
    assert table is not None
    columns = {column.label: n for n, column in enumerate(table.columns)}
    skew = table.photos[1].values[columns["Skew"]]
    assert skew.decision is not None
    assert (skew.value, skew.decision.kind) == ("0.20 ± 0.11°", "outside")
    assert "Limit (Skew): drawing 12" in table.sources


def test_photos_that_nobody_placed_are_shown_apart(tmp_path: Path) -> None:
    job = sample.demo_job(tmp_path)
    changed = job.model_copy(update={"photos": job.photos[:2]})
    report = composed(changed, tmp_path)
    assert [picture.caption for picture in report.evidence.unassigned] == ["photo_3.jpg"]
    assert report.evidence.unassigned[0].src


def test_photos_of_the_only_splice_need_no_note(tmp_path: Path) -> None:
    job = sample.demo_job(tmp_path)
    one = tuple(r for r in job.readings if r.splice == 1)
    report = composed(job.model_copy(update={"photos": (), "readings": one}), tmp_path)
    assert report.evidence.unassigned == ()
    assert len(report.evidence.splices) == 1
    assert [p.heading for p in report.evidence.splices[0].pictures] == ["Photo"] * 3
    assert report.evidence.splices[0].measurements is not None
    assert report.evidence.splices[0].measurements.photos[0].heading == "Photo, photo_1.jpg"


def test_a_splice_that_only_a_photo_shows(tmp_path: Path) -> None:
    job = of(photos=(PhotoNote(file="x.jpg", splice=2),))
    assert [s.heading for s in evidence(job, tmp_path).splices] == ["Splice 2"]


def test_the_settings_know_the_technician(tmp_path: Path) -> None:
    def name(job: Job, **settings: Any) -> str:
        return composed(job, tmp_path, **settings).overview.facts[3].value

    assert name(of()) == "Imke Dorn"
    assert name(of(), technician="") == "not recorded"
    told_otherwise = of(card("technician", "Ruben Aster"))
    assert name(told_otherwise) == "Ruben Aster"


@pytest.mark.parametrize(
    ("reading", "customer", "text"),
    [
        (card("pressure", 2.2, "bar"), {}, ""),
        (card("pressure", 2.2, "bar"), {"pressure": "psi"}, "31.9 psi"),
        (card("dwell_time", 180.0, "s"), {}, "3 min"),
        (card("dwell_time", 180.0, "s"), {"time": "min"}, "3 min"),
        (card("dwell_time", 45.0, "s"), {}, ""),
        (card("customer", "Larkfield"), {"pressure": "psi"}, ""),
    ],
)
def test_other_units_beside_si(reading: Reading, customer: dict[str, str], text: str) -> None:
    assert also(reading, customer) == text


def test_what_was_said_stands_beside_the_customers_unit() -> None:
    said = Quantity(value=32.0, unit="psi")
    reading = told("pressure", 2.206, "bar", "thirty two p s i", 1.0, as_said=said)
    assert also(reading, {"pressure": "psi"}) == "said 32 psi"
    assert also(reading, {"pressure": "kPa"}) == "said 32 psi, 221 kPa"
    written = card("pressure", 2.206, "bar", as_said=said)
    assert also(written, {}) == "typed 32 psi"


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(59, ""), (60, "1 min"), (95, "1 min 35 s"), (660, "11 min"), (10200, "2 h 50 min"),
     (7200, "2 h"), (3599.6, "1 h")],
)  # fmt: skip
def test_durations_in_words(seconds: float, text: str) -> None:
    assert spell_out(seconds) == text


def test_the_clock_of_a_recording() -> None:
    assert [clock(s) for s in (None, 0.0, 64.2, 3605.0)] == ["", "0:00", "1:04", "60:05"]


def test_a_photo_outside_its_limit_is_told_on_the_first_page(tmp_path: Path) -> None:
    gap = Measurement(value=0.89, unit="mm", U=0.02)
    seam = SeamMeasurement(
        file="p.jpg", status="measured", gap_max=gap, decision=Decision.OUTSIDE,
        decisions={"finger_gap": Decision.OUTSIDE},
        limits=(Limit(name="finger_gap", high=0.5),),
    )  # fmt: skip
    job = of(told("bubbles", False, None, "no bubbles", 1.0, splice=2))
    job = job.model_copy(update={"measurements": (seam,)})
    (point,) = evidence(job, tmp_path).photo_points
    assert (point.where, point.value, point.why) == (
        "Largest finger gap in p.jpg", "0.89 ± 0.02 mm", "at most 0.5 mm",
    )  # fmt: skip
    settled = told("outcome", "rejected", None, "rejected", 2.0)
    note = PhotoNote(file="p.jpg")
    media = MediaFile(name="p.jpg", path="p.jpg", kind=MediaKind.PHOTO, sha256="0" * 64,
                      size_bytes=1)  # fmt: skip
    job = job.model_copy(
        update={"photos": (note,), "media": (media,), "readings": (*job.readings, settled)}
    )
    assert evidence(job, tmp_path).photo_points == ()


@pytest.mark.parametrize(
    ("said_mm", "below", "told_of"),
    [(0.5, False, True), (0.38, False, False), (0.2, False, True), (0.1, True, False)],
)
def test_what_was_said_and_measures_otherwise_is_to_be_judged(
    tmp_path: Path, said_mm: float, below: bool, told_of: bool
) -> None:
    gap = Measurement(value=0.35, unit="mm", U=0.04, below=below)
    seam = SeamMeasurement(file="p.jpg", status="measured", gap_max=gap)
    media = MediaFile(name="p.jpg", path="p.jpg", kind=MediaKind.PHOTO, sha256="0" * 64,
                      size_bytes=1)  # fmt: skip
    job = of(told("finger_gap", said_mm, "mm", "gap", 61.0))
    job = job.model_copy(update={"measurements": (seam,), "media": (media,)})
    points = evidence(job, tmp_path).photo_points
    assert len(points) == told_of
    for point in points:
        assert point.mark.word == "differs from photo"
        assert point.where == "Largest finger gap in p.jpg"
        assert point.value == f"{said_mm:g} mm told, 0.35 ± 0.04 mm measured"
        assert point.why == "said at 1:01: “gap”"


def test_what_was_removed_on_request_is_listed_as_such(tmp_path: Path) -> None:
    job = sample.demo_job(tmp_path)
    gone = Removal(at=sample.NOW, by="Imke Dorn", reason="asked by letter")
    sound, *others = job.media
    job = job.model_copy(
        update={"media": (sound.model_copy(update={"removed": gone}), *others), "transcripts": ()}
    )
    shown = evidence(job, tmp_path).originals
    assert [bool(each.removed) for each in shown] == [True] + [False] * len(others)
    assert (shown[0].digest, shown[0].with_words) == (sound.sha256, False)
    assert str(sample.NOW.year) in shown[0].removed
    emptied = job.model_copy(update={"transcripts": (Transcript(file=sound.name, utterances=()),)})
    assert evidence(emptied, tmp_path).originals[0].with_words
    assert evidence(emptied, tmp_path).recordings == ()


def test_the_length_of_the_belt_stands_with_what_was_cut_and_marked(tmp_path: Path) -> None:
    belt = BeltLength(
        endless=9113.29, joined=9070.7, punched=9150.7, cut=9190.74, mark_spacing=1000.0,
        elongation=0.8, mark_tensioned=1008.0,
    )  # fmt: skip
    groups = evidence(of(belt_length=belt), tmp_path, units={"length": "inch"}).groups
    (group,) = [group for group in groups if group.heading == "Length of the belt, worked out"]
    shown = {each.label: (each.value, each.also) for each in group.entries}
    assert shown["Cut, square to square"] == ("9190.7 mm", "361.84 in")
    assert shown["Marks apart, tensioned"] == ("1008 mm", "39.685 in")
    without = evidence(of(), tmp_path).groups
    assert "Length of the belt, worked out" not in [group.heading for group in without]


def test_the_marks_tell_the_elongation(tmp_path: Path) -> None:
    before, after = (
        card(f"tension_mark_{when}", mm, "mm")
        for when, mm in (("before", 1000.0), ("after", 1012.0))
    )
    groups = evidence(of(before, after), tmp_path).groups
    (group,) = [group for group in groups if group.heading == "Belt and tension"]
    assert [each.value for each in group.entries] == ["1000 mm", "1012 mm", "1.2 %"]


@pytest.mark.parametrize(
    ("share", "told"),
    [(0.0, "0 %"), (0.004, "under 1 %"), (0.5, "50 %"), (0.996, "over 99 %"), (1.0, "100 %")],
)
def test_a_share_that_is_not_all_does_not_read_as_all(share: float, told: str) -> None:
    assert part(share) == told
