"""A signed report read by other programs: its text, its code, and the files attached to it.

poppler (https://poppler.freedesktop.org): pdftotext for the text as it stands on the paper,
pdftoppm for the picture of page 1, pdfdetach for the attachments. qpdf
(https://qpdf.sourceforge.io) for these too. pypdf for the text as the structure tree orders it.
OpenCV's own decoder reads the code (ISO/IEC 18004).
"""

import hashlib
import json
import re
import shutil
import subprocess
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

import cv2
import pikepdf
import pytest
from pikepdf import Dictionary

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.record import dump
from recorder.cli import main
from recorder.flows import report
from recorder.model.characteristics import CHARACTERISTICS
from recorder.model.fields import FIELDS
from recorder.model.job import Job, in_force
from recorder.model.reading import Role, Spoken
from recorder.report.identity import identity
from recorder.settings import Settings
from tests.external.structure_text import in_order
from tests.flows.quiet import Quiet
from tests.report import jobs, sample
from tests.report.sample import told

PASSPHRASE = "a passphrase of the tests"
CORRECTED = told("pressure", 3.4, "bar", "pressure three point four", 29.0)


# Fields whose value the page tells in words of its own, or under a heading of its own.
OTHERWISE = {
    "job_number": "Job 5120",
    "isolation_confirmed": "The technician reported the conveyor isolated and locked out",
    "outcome": "Splice accepted",
    "finger_gap": "0.15 mm",
    "splice_width": "70 mm",
    "edge_offset": "0.2 mm",
    "arrived_at": "7:15",
    "left_at": "11:20",
}


def every_field(folder: Path, megapixels: float) -> Job:
    """A job in which every field has a value, one of them told wrongly at first, with the drawn
    photos of the sample job, all of one splice.
    """
    del megapixels
    drawn = sample.demo_job(folder)
    (folder / "original").rename(folder / "media")
    readings = list(jobs.every_field())
    used = [(reading.field, reading.role) for reading in readings]
    readings.insert(used.index(("pressure", Role.USED)), CORRECTED)
    return drawn.model_copy(
        update={
            "id": "20260304-061500-f6a5",
            "readings": tuple(readings),
            "transcripts": (jobs.transcript(readings, drawn.notes),),
            "media": tuple(
                media.model_copy(update={"path": f"media/{media.name}"}) for media in drawn.media
            ),
            "photos": tuple(note.model_copy(update={"splice": 1}) for note in drawn.photos),
        }
    )


@dataclass(frozen=True)
class Written:
    home: Home
    folder: JobFolder
    job: Job
    pdf: Path
    digest: str


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Written:
    home = Home.open(tmp_path_factory.mktemp("text") / "home")
    folder = jobs.into_home(home, every_field)
    key = identity.create(
        home.identity / "signer.p12", PASSPHRASE, "Imke Dorn", "Quillback Belt Service"
    )
    done = report.write(home, folder, Settings(report=jobs.METRIC), key, Quiet())
    return Written(home, folder, folder.load(), done.path, done.record.document_digest)


def run(*command: str | Path) -> str:
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout


def squeezed(text: str) -> str:
    """Without white space, which is how a line or a column broke, and zero-width spaces."""
    return re.sub(r"[\s\u200b]+", "", text)


@pytest.fixture(scope="module")
def on_page(written: Written) -> str:
    """The text in the order in which it stands on the paper."""
    return squeezed(run("pdftotext", written.pdf, "-"))


@pytest.fixture(scope="module")
def in_structure(written: Written) -> str:
    """The text in the order in which a screen reader tells it."""
    return squeezed("".join(in_order(written.pdf)))


@pytest.mark.parametrize("name", FIELDS)
def test_the_text_holds_every_field_in_force(
    written: Written, in_structure: str, on_page: str, name: str
) -> None:
    """With its label before it, in structure; a value in a column of its own, on the paper."""
    reading = in_force(written.job.readings)[name]
    value = squeezed(OTHERWISE.get(name) or reading.shown().partition(" (")[0])
    label = "" if name in OTHERWISE else re.escape(squeezed(FIELDS[name].label))
    assert re.search(f"{label}.{{0,60}}?{re.escape(value)}", in_structure)
    assert value in on_page


def test_the_text_holds_every_measurement_with_its_uncertainty(
    written: Written, in_structure: str, on_page: str
) -> None:
    shown = [
        value.shown()
        for seam in written.job.measurements
        for name in CHARACTERISTICS
        if (value := getattr(seam, name))
    ]
    assert len(shown) > 20
    for text in (in_structure, on_page):
        assert [value for value in shown if squeezed(value) not in text] == []


def test_the_text_holds_what_was_corrected_and_what_was_heard(
    written: Written, in_structure: str
) -> None:
    assert re.search(r"3\.4bar.{0,40}2bar", in_structure)
    said = [r.evidence.said for r in written.job.readings if isinstance(r.evidence, Spoken)]
    said += [note.text for note in written.job.notes]
    assert [words for words in said if squeezed(words) not in in_structure] == []


def test_the_text_holds_the_hash_of_every_original(
    written: Written, in_structure: str, on_page: str
) -> None:
    for text in (in_structure, on_page):
        assert [m.name for m in written.job.media if m.sha256 not in text] == []
        assert written.digest in text


def test_it_is_read_in_the_order_of_the_work(in_structure: str, on_page: str) -> None:
    """Who and where, the belt, the settings, what was measured; then the evidence."""
    order = (
        "Job5120", "TinbrookMill", "Silofeed2", "V-guidedTPU", "Settings",
        "Pressure", "Topplaten", "Largestfingergap", "Splicewidth",
        "Splice1", "Meshed,inthepress", "Finishedsplice",
        "Elongation", "Originalfiles", "narration.flac",
    )  # fmt: skip
    for text in (in_structure, on_page):
        at = -1
        for words in order:
            at, before = text.find(words, at + 1), at
            assert at > before, f"{words} does not follow"


def test_the_code_on_page_1_names_job_date_and_evidence(written: Written, tmp_path: Path) -> None:
    run("pdftoppm", "-r", "200", "-f", "1", "-l", "1", "-png", written.pdf, tmp_path / "page")
    (page,) = tmp_path.glob("page*.png")
    picture = cv2.imread(str(page))
    assert picture is not None
    text, _, _ = cv2.QRCodeDetector().detectAndDecode(picture)
    evidence = _by_pdfdetach(written.pdf, tmp_path)["evidence.json"]
    told = json.loads(evidence)
    digest = hashlib.sha256(evidence).hexdigest()
    assert digest == written.digest
    number, date = quote(told["job_number"], safe=""), told["written_at"][:10]
    assert text == f"seamnote:report?job={number}&date={date}&sha256={digest}"
    with pikepdf.open(written.pdf) as pdf:
        told_aloud = [
            str(each.Alt) for each in pdf.objects if isinstance(each, Dictionary) and "/Alt" in each
        ]
    assert [alt for alt in told_aloud if alt.replace("\u200b", "").endswith(text)] != []


def _by_pdfdetach(pdf: Path, place: Path) -> dict[str, bytes]:
    folder = place / "detached"
    folder.mkdir()
    run("pdfdetach", "-saveall", "-o", folder, pdf)
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def _by_qpdf(pdf: Path, place: Path) -> dict[str, bytes]:
    listed = re.findall(r"^(\S+) ->", run("qpdf", "--list-attachments", pdf), re.MULTILINE)
    return {
        name: subprocess.run(
            ["qpdf", f"--show-attachment={name}", pdf], capture_output=True, check=True
        ).stdout
        for name in listed
    }


@pytest.mark.parametrize("program", [_by_pdfdetach, _by_qpdf])
def test_the_attached_record_is_the_archives_byte_for_byte(
    written: Written, tmp_path: Path, program: Callable[[Path, Path], dict[str, bytes]]
) -> None:
    files = program(written.pdf, tmp_path)
    assert set(files) == {"job.json", "evidence.json"}
    assert files["job.json"] == written.folder.record.read_bytes() == dump(written.job)
    told = json.loads(files["evidence.json"])
    assert told["record"]["sha256"] == hashlib.sha256(files["job.json"]).hexdigest()
    assert [o["sha256"] for o in told["originals"]] == [
        hashlib.sha256((written.folder.path / media.path).read_bytes()).hexdigest()
        for media in written.job.media
    ]


def test_the_report_alone_restores_the_job_in_another_home(
    written: Written, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    other = Home.open(tmp_path / "other home")
    report_file = str(shutil.copy(written.pdf, tmp_path / "from the customer.pdf"))
    at_home = ["--home", str(other.root)]
    assert main(["archive", "import", *at_home, report_file]) == 4
    told = capsys.readouterr()
    assert told.out.startswith("restored     5120, Tinbrook Mill ")
    assert "not known to this home" in told.err
    folder = JobFolder(other.jobs / written.job.id)
    assert folder.record.read_bytes() == written.folder.record.read_bytes()
    assert main(["search", *at_home, "--json", "tinbrook"]) == 0
    assert json.loads(capsys.readouterr().out)["id"] == written.job.id
    assert main(["show", *at_home, "--json", "5120"]) == 0
    shown = json.loads(capsys.readouterr().out)
    assert shown["readings"] == written.job.model_dump(mode="json")["readings"]
    assert shown["originals_elsewhere"] == [media.name for media in written.job.media]
    monkeypatch.setenv("SEAMNOTE_PASSPHRASE", PASSPHRASE)
    assert main(["report", *at_home, "5120"]) == 3
    assert "5 of its original files are not here" in capsys.readouterr().err

    for certificate in written.home.identity.glob("*.pem"):
        shutil.copy(certificate, other.identity)
    originals = str(written.folder.path / "media")
    assert main(["archive", "import", *at_home, report_file, "--originals", originals]) == 0
    assert "5 original files brought" in capsys.readouterr().out
    assert folder.changed_originals(written.job) == []
    assert main(["verify", *at_home, report_file]) == 0
