"""Whole pages, read back by poppler."""

import io
import logging
import os
import re
import subprocess
import sys
from pathlib import Path

import pypdf
import pytest

from recorder.model.fields import FIELDS, Kind
from recorder.model.job import Job
from recorder.model.measurement import BudgetTerm
from recorder.model.reading import Reading, Spoken, Standing
from recorder.report.page.render import render
from tests.report import sample

DIGEST = "00112233445566778899aabbccddeeff" * 2

HOSTILE = {
    "html": "<script>alert(1)</script><img src='file:///etc/passwd'>&amp;{{ 7 * 7 }}",
    "long word": "x" * 300,
    "right to left": "مخبز لاركفيلد 172",
    "turned around": "\u202e271 °C\u202c",
    "emoji": "👩‍🔧🔥" * 40,
    "controls": "a\x00b\x07c\ud800d\uffff",
    "css": "} * { display: none } /* <style>",
}


def text_of(pdf: bytes, tmp_path: Path, *options: str) -> str:
    path = tmp_path / "page.pdf"
    path.write_bytes(pdf)
    command = ["pdftotext", *options, str(path), "-"]
    return subprocess.run(
        command, capture_output=True, encoding="utf-8", errors="replace", check=True
    ).stdout


def pages(pdf: bytes, tmp_path: Path) -> int:
    return text_of(pdf, tmp_path).count("\f")


def squeezed(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture
def job(job_folder: Path) -> Job:
    return sample.without_annex(sample.demo_job(job_folder))


def draft(job: Job, folder: Path) -> bytes:
    return render(job, folder, sample.SETTINGS, sample.DRAFT)


def test_the_demo_is_one_page_the_evidence_and_an_annex_and_small(
    demo_pdf: bytes, tmp_path: Path
) -> None:
    each_page = text_of(demo_pdf, tmp_path).split("\f")[:-1]
    assert "signed digitally" in each_page[0]
    assert "signature, name and date" in each_page[0]
    assert [n for n, page in enumerate(each_page) if "What each photo measures" in page] == [3]
    assert len(each_page) <= 6
    assert len(demo_pdf) < 2_000_000


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_short_report_is_the_first_page_alone(
    job: Job, job_folder: Path, tmp_path: Path, paper: str
) -> None:
    edition = sample.EDITION.model_copy(
        update={"variant": "short", "paper": paper, "digest": DIGEST}
    )
    pdf = render(job, job_folder, sample.SETTINGS, edition)
    (page,) = pypdf.PdfReader(io.BytesIO(pdf)).pages
    sides = {"A4": (595.3, 841.9), "Letter": (612.0, 792.0)}[paper]
    assert (page.mediabox.width, page.mediabox.height) == pytest.approx(sides, abs=0.1)
    links = {str(note.get_object()["/Dest"]) for note in page["/Annots"]}
    assert links == {"TechnicianSignature", "CustomerSignature"}
    text = squeezed(text_of(pdf, tmp_path))
    for expected in (
        "Quillback Belt Service", "Job 4817", "Splice record of November 25, 2025",
        "Splice 2 accepted", "Splice 1 ✗ rejected", "outside limit: finger gap 0.90 ± 0.08 mm",
        "1 value not confirmed", "1 value corrected", "Larkfield Bakery", "polyurethane (TPU)",
        "2.21 bar ○ said 32 psi", "Splice width 70.10 ± 0.21 mm", "page 1 of 1",
        "SHA-256 of the evidence: 00112233 44556677",
    ):  # fmt: skip
        assert expected in text, expected
    assert "Annex" not in text


def test_the_code_says_itself_to_who_does_not_see_it(
    job: Job, job_folder: Path, tmp_path: Path
) -> None:
    edition = sample.EDITION.model_copy(update={"digest": DIGEST, "variant": "short"})
    pdf = render(job, job_folder, sample.SETTINGS, edition)
    code = f"seamnote:report?job=4817&date=2025-11-25&sha256={DIGEST}"
    assert f"Code for verification: {code}" in figures(pdf)
    assert not any("Code for" in each for each in figures(draft(job, job_folder)))


def figures(pdf: bytes) -> list[str]:
    """Alternative texts of all pictures."""
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    objects = (reader.get_object(n) for n in range(1, int(reader.trailer["/Size"])))
    return [str(each["/Alt"]) for each in objects if isinstance(each, dict) and "/Alt" in each]


def test_lines_of_the_first_page_stand_on_the_grid(demo_pdf: bytes, tmp_path: Path) -> None:
    """Values of the facts and of the measurements, whose columns are 4.5 mm a line."""
    boxes = text_of(demo_pdf, tmp_path, "-bbox", "-l", "1")
    pattern = r'yMax="([0-9.]+)">(Larkfield|Oven|Imke|polyurethane|flat|finger|P2|2\.2|180|660)<'
    feet = sorted(
        {float(foot) for foot, _ in re.findall(pattern, boxes) if 200 < float(foot) < 600}
    )
    assert len(feet) >= 8
    step = 4.5 / 25.4 * 72
    lines = [(foot - feet[0]) / step for foot in feet]
    assert all(abs(line - round(line)) < 0.13 for line in lines), lines  # 0.6 mm


def test_the_annex_lists_every_photo_with_its_budgets(demo_pdf: bytes, tmp_path: Path) -> None:
    pages_of_it = text_of(demo_pdf, tmp_path, "-raw").split("\f")[3:]
    text = squeezed(" ".join(pages_of_it))
    for heading in (
        "Splice 1, after pressing: photo_1.jpg",
        "Splice 2, before pressing: photo_2.jpg",
        "Splice 2, after pressing: photo_3.jpg",
    ):
        assert text.lower().count(heading.lower()) == 1, heading
    for expected in (
        "Edge offset, upper edge -0.08 ± 0.10 mm", "Bow 0.11 ± 0.09 mm",
        "Finger length 30.02 ± 0.12 mm", "Skew 0.20 ± 0.11°", "98.8 %", "over 99.9 %",
        "under 0.1 %", "Look: finger 3 stands open", "Lens: found from the card in the photo",
        "u = 0.0400: corner noise 0.0283 (50 %)", "7 fingers",
    ):  # fmt: skip
        assert expected in text, expected


def test_a_plot_that_is_missing_is_told(job: Job, job_folder: Path, tmp_path: Path) -> None:
    first = sample.measurement("photo_1.jpg", 0.9, 70.1)
    first = first.model_copy(update={"plot": "derived/nothing.png"})
    changed = job.model_copy(update={"measurements": (first, *job.measurements[1:])})
    text = squeezed(text_of(draft(changed, job_folder), tmp_path))
    assert "The plot of the gap along the seam is not shown: it is missing from the record" in text


def test_every_value_of_the_demo_is_on_the_page(demo_pdf: bytes, tmp_path: Path) -> None:
    text = squeezed(text_of(demo_pdf, tmp_path))
    for expected in (
        "Quillback Belt Service", "14 Tannery Row, Larkfield", "Job 4817",
        "2025-11-25T12:32+01:00", "2025-11-25T14:32+01:00",
        "Larkfield Bakery", "Larkfield, packing hall 2", "Oven outfeed 3", "Imke Dorn",
        "polyurethane (TPU)", "70 mm", "2 mm", "flat", "P2", "T30-10", "30 mm", "10 mm",
        "Splice 2 accepted", "✗ rejected",
        "2.2 bar ● 31.9 psi", "2.21 bar ○ said 32 psi", "172 °C ○ 342 °F", "168 °C ○ 334 °F",
        "180 s ○ said 3 min", "55 °C ▲ not confirmed 131 °F", "660 s ○ said 11 min",
        "175 °C → 172 °C", "said at 1:02: “no, make that one seventy two”",
        "the two hearings differ", "may also be 45 °C", "Course of the press run",
        "0.90 ± 0.08 mm", "✗ outside limit", "0.35 ± 0.08 mm", "0.15 ± 0.08 mm", "0.1 mm ○",
        "at most 0.5 mm", "69.3 to 70.7 mm", "below 0.12 mm", "✓ within limit", "k = 2",
        "Meshed, in the press (photo_2.jpg)",
        "The technician reported the conveyor isolated and locked out.",
        "belt is clean and dry", "after one week of running",
        "DEMO Imke Dorn", "signed digitally at 2025-11-25T14:32:05+01:00",
        "DEMO, not for real work", "20251125-4817-larkfield-bakery", "page 2 of",
    ):  # fmt: skip
        assert expected in text, expected


def test_hashes_of_all_originals(demo_pdf: bytes, job: Job, tmp_path: Path) -> None:
    text = text_of(demo_pdf, tmp_path)
    assert len(job.media) == 5
    for media in job.media:
        assert media.sha256 in text


def test_the_page_names_itself(demo_pdf: bytes) -> None:
    reader = pypdf.PdfReader(io.BytesIO(demo_pdf))
    assert reader.metadata is not None
    assert reader.metadata.title == "Splice record 4817"
    assert reader.metadata.author == "Quillback Belt Service"
    assert reader.root_object["/Lang"] == "en"


@pytest.mark.parametrize("fonts", ["installed", "none"])
def test_the_same_job_has_the_same_bytes_in_another_process(
    demo_pdf: bytes, tmp_path: Path, fonts: str
) -> None:
    """On a machine without any font too, because the page uses its own only."""
    config = tmp_path / "fonts.conf"
    config.write_text('<?xml version="1.0"?><fontconfig></fontconfig>')
    surroundings = os.environ | ({"FONTCONFIG_FILE": str(config)} if fonts == "none" else {})
    script = (
        "import sys, pathlib; from tests.report import sample;"
        "from recorder.report.page.render import render;"
        "folder = pathlib.Path(sys.argv[1]); job = sample.demo_job(folder);"
        "pdf = render(job, folder, sample.SETTINGS, sample.EDITION);"
        "sys.stdout.buffer.write(pdf)"
    )
    root = Path(__file__).parents[3]
    done = subprocess.run(
        [sys.executable, "-c", script, tmp_path / "job"],
        cwd=root, env=surroundings, capture_output=True, check=True,
    )  # fmt: skip
    assert done.stdout == demo_pdf
    assert done.stderr == b""


def test_the_engine_has_nothing_to_complain_of(
    job: Job, job_folder: Path, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.WARNING):
        draft(job, job_folder)
    assert caplog.records == []


def test_a_draft_says_so_on_every_page(job: Job, job_folder: Path, tmp_path: Path) -> None:
    pdf = draft(job, job_folder)
    each_page = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]
    assert len(each_page) >= 2
    assert all(page.count("DRAFT") >= 2 and "not signed" in page for page in each_page)
    assert "signed digitally" not in text_of(pdf, tmp_path)
    assert "DEMO" not in text_of(pdf, tmp_path)


def test_a_real_signer_has_no_demo_mark(job: Job, job_folder: Path, tmp_path: Path) -> None:
    edition = sample.EDITION.model_copy(update={"signer": "Imke Dorn"})
    pdf = render(job, job_folder, sample.SETTINGS, edition)
    text = text_of(pdf, tmp_path)
    assert "DEMO" not in text
    assert "DRAFT" not in text


@pytest.mark.parametrize("isolation", ["absent", "no", "doubtful"])
def test_open_isolation_is_said_plainly(
    job: Job, job_folder: Path, tmp_path: Path, isolation: str
) -> None:
    rest = tuple(r for r in job.readings if r.field != "isolation_confirmed")
    told = {
        "absent": (),
        "no": (sample.told("isolation_confirmed", False, None, "not locked", 3.0),),
        "doubtful": (
            sample.told("isolation_confirmed", True, None, "locked", 3.0, Standing.DOUBTFUL),
        ),
    }[isolation]
    changed = job.model_copy(update={"readings": rest + told})
    text = squeezed(text_of(draft(changed, job_folder), tmp_path))
    expected = {
        "absent": "▲ The record does not say that the conveyor was isolated",
        "no": "▲ The record says that the conveyor was NOT isolated",
        "doubtful": "▲ Isolation and lockout may have been reported, but nobody confirmed it",
    }[isolation]
    assert expected in text
    assert "reported the conveyor isolated" not in text


@pytest.mark.parametrize("kind", HOSTILE)
def test_hostile_text_in_every_field(
    job: Job, job_folder: Path, tmp_path: Path, kind: str, caplog: pytest.LogCaptureFixture
) -> None:
    text = HOSTILE[kind]
    settings = sample.SETTINGS.model_copy(update={"firm": text, "address": text})
    with caplog.at_level(logging.WARNING):
        edition = sample.EDITION.model_copy(update={"signer": text, "digest": DIGEST})
        pdf = render(said_everywhere(job, text), job_folder, settings, edition)
    assert caplog.records == []
    read = text_of(pdf, tmp_path)
    assert "page 1 of" in read
    assert job.media[0].sha256 in read
    assert "root:" not in read
    assert right_edge(pdf, tmp_path) < 595.3 - 17 / 25.4 * 72 + 1


def test_hostile_text_in_the_annex(
    job_folder: Path, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """In names of files, limits' sources, flags, warnings, the lens and the terms of a budget."""
    text = " ".join(HOSTILE.values())
    seam = sample.measurement("photo_1.jpg", 0.9, 70.1)
    spoilt = seam.model_copy(
        update={
            "limits": tuple(x.model_copy(update={"source": text}) for x in seam.limits),
            "flags": tuple(x.model_copy(update={"text": text}) for x in seam.flags),
            "budget": {"skew": (BudgetTerm(name=text, u=0.05), BudgetTerm(name="x" * 300, u=0.01))},
            "flanks": (),
            "warnings": (text,),
            "lens": text,
        }
    )
    with caplog.at_level(logging.WARNING):
        job = sample.demo_job(job_folder).model_copy(update={"measurements": (spoilt,)})
        pdf = draft(job, job_folder)
    assert caplog.records == []
    assert "Annex" in text_of(pdf, tmp_path)
    assert right_edge(pdf, tmp_path) < 595.3 - 17 / 25.4 * 72 + 1


@pytest.mark.parametrize("text", ["x" * 5000, "lorem ipsum " * 420], ids=["word", "words"])
def test_five_thousand_characters(job: Job, job_folder: Path, tmp_path: Path, text: str) -> None:
    """In a fact, a doubt, a note, a caption and the advice: all of it, on as many pages."""
    long = {"customer", "next_check", "cool_down_temperature"}
    changed = said_everywhere(job, text, long)
    changed = changed.model_copy(update={"notes": changed.notes[:1], "photos": job.photos})
    pdf = draft(changed, job_folder)
    read = text_of(pdf, tmp_path)
    assert pages(pdf, tmp_path) > 2
    assert right_edge(pdf, tmp_path) < 595.3 - 17 / 25.4 * 72 + 1
    copies = 5  # customer, advice, why, what was said, note
    if "ipsum" in text:
        assert read.count("ipsum") >= copies * 420
    else:
        assert read.count("x") >= copies * 5000


def said_everywhere(job: Job, text: str, fields: set[str] | None = None) -> Job:
    """The job with ``text`` for every free text: values, doubts, words heard, notes, captions."""

    def spoilt(reading: Reading) -> Reading:
        if fields is not None and reading.field not in fields:
            return reading
        update: dict[str, object] = {"why": text}
        if FIELDS[reading.field].kind is Kind.TEXT:
            update["value"] = text
        if isinstance(reading.evidence, Spoken):
            update["evidence"] = reading.evidence.model_copy(update={"said": text})
        return reading.model_copy(update=update)

    return job.model_copy(
        update={
            "readings": tuple(map(spoilt, job.readings)),
            "notes": tuple(n.model_copy(update={"text": text}) for n in job.notes),
            "photos": tuple(p.model_copy(update={"caption": text}) for p in job.photos),
        }
    )


def right_edge(pdf: bytes, tmp_path: Path) -> float:
    """The rightmost letter on any page, in points."""
    boxes = text_of(pdf, tmp_path, "-bbox")
    return max(float(edge) for edge in re.findall(r'<word [^>]*xMax="([0-9.]+)"', boxes))


def test_a_job_with_nothing_in_it(tmp_path: Path) -> None:
    job = Job(id="empty", created_at=sample.NOW, version="0")
    text = squeezed(text_of(draft(job, tmp_path), tmp_path))
    assert "? Splice without an outcome" in text
    assert "not recorded" in text
    assert "No photo of it was measured." in text
    assert "Job number, Customer, Belt width, Isolation confirmed" in text


@pytest.mark.parametrize("damage", ["missing", "cut", "not a picture", "outside"])
def test_a_picture_that_cannot_be_shown_is_told(tmp_path: Path, damage: str) -> None:
    job = sample.without_annex(sample.demo_job(tmp_path))
    overlay = tmp_path / "derived/overlay/photo_1.jpg"
    whole = overlay.read_bytes()
    overlay.write_bytes({"cut": whole[:3000], "not a picture": b"hello"}.get(damage, whole))
    if damage == "missing":
        overlay.unlink()
    if damage == "outside":
        first = job.measurements[0].model_copy(update={"overlay": "../../outside.jpg"})
        sample.draw_belt(tmp_path.parent.parent / "outside.jpg", 3)
        job = job.model_copy(update={"measurements": (first, *job.measurements[1:])})
    expected = {
        "missing": "it is missing from the record",
        "cut": "its file is damaged",
        "not a picture": "its format cannot be shown here",
        "outside": "it lies outside of the record",
    }[damage]
    text = squeezed(text_of(draft(job, tmp_path), tmp_path))
    assert f"(photo_1.jpg): not shown, {expected}" in text
    assert "0.90 ± 0.08 mm" in text


def test_media_may_be_found_by_a_function(job_folder: Path, demo_pdf: bytes) -> None:
    job = sample.demo_job(job_folder)
    found = render(job, lambda name: job_folder / name, sample.SETTINGS, sample.EDITION)
    assert found == demo_pdf


def test_photos_without_a_splice_are_all_shown_on_as_many_pages_as_they_need(
    job: Job, job_folder: Path, tmp_path: Path
) -> None:
    media = [m for m in job.media if m.name.endswith(".jpg")]
    more = tuple(media[0].model_copy(update={"name": f"loose_{n}.jpg"}) for n in range(7))
    pdf = draft(job.model_copy(update={"media": (*job.media, *more)}), job_folder)
    text = text_of(pdf, tmp_path)
    assert "Photos without a splice" in text
    assert all(f"loose_{n}.jpg" in text for n in range(7))


CHINESE = "\u4e2d\u6587"


def test_what_the_typeface_lacks_is_replaced_and_told(
    job: Job, job_folder: Path, tmp_path: Path
) -> None:
    """On every machine alike, whatever fonts it has."""
    changed = said_everywhere(job, f"Hall {CHINESE}", {"customer"})
    text = squeezed(text_of(draft(changed, job_folder), tmp_path))
    assert "Hall □□" in text
    assert "lacks 2 characters of the record, shown as □: U+4E2D, U+6587." in text
