"""A job to its certified report, and from there to the one that the customer approved."""

import contextlib
import hashlib
import os
import re
import shutil
import subprocess
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from PIL import Image

from recorder.archive.disk.home import Home
from recorder.archive.jobs.reports import reports
from recorder.cli import main
from recorder.errors import (
    BadTemplate,
    BadValue,
    CannotApprove,
    FileEmpty,
    FileMissing,
    FileTooLarge,
    InputRefused,
    NotADrawing,
    NotAReport,
    PageFailed,
    UnknownJob,
    VerificationFailed,
)
from recorder.flows import approve, confirm, draft, report, verify
from recorder.model.job import Job
from recorder.report.document.attachments import attached
from recorder.report.identity import identity
from recorder.settings import Settings
from tests.flows.firm import PASSPHRASE, SETTINGS, Firm
from tests.flows.quiet import Quiet
from tests.report import jobs, sample
from tests.report.signing import authority
from tests.report.signing.drawings import as_bytes, scribble


def test_the_report_holds_the_record_and_its_evidence(firm: Firm) -> None:
    record = firm.written.record
    files = attached(firm.written.path.read_bytes(), firm.written.path)
    assert files["job.json"] == firm.folder.record.read_bytes()
    assert hashlib.sha256(files["evidence.json"]).hexdigest() == record.document_digest
    assert (record.signatures, record.signer, record.variant) == (1, "Imke Dorn", "full")
    assert reports(firm.folder) == (record,)
    found = verify.check(firm.home, firm.written.path)
    assert (found.faults, found.doubts) == ((), ())
    assert found.archive.recorded
    assert firm.written.unstamped == ""


HOSTILE = (
    "<b>x</b> & \u202eleft \x00\x07\ufeff 日本 🙂 \U000e0041 a\u0301 (\\) /M (D:2001) " + "W" * 5000
)


def test_hostile_words_break_neither_signature_nor_description(tmp_path: Path) -> None:
    """Job number, customer and site go into the name of the file, the title and the signature."""

    def hostile(folder: Path, megapixels: float) -> Job:
        job = jobs.no_photo(folder, megapixels)
        told = tuple(sample.card(name, HOSTILE) for name in ("job_number", "customer", "site"))
        return job.model_copy(update={"readings": (*job.readings, *told)})

    home = Home.open(tmp_path / "home")
    folder = jobs.into_home(home, hostile)
    key = identity.create(home.identity / "signer.p12", PASSPHRASE, "Imke Dorn", "")
    written = report.write(home, folder, Settings(), key, Quiet(), "short")
    drawing = tmp_path / "drawing.png"
    drawing.write_bytes(as_bytes(scribble()))
    found = approve.find(home, str(written.path))
    done = approve.write(home, found, drawing, "Tilda Brannock", Settings(), key, Quiet())
    for path in (written.path, done.path):
        judged = verify.check(home, path, 1 if path == written.path else None)
        assert judged.faults == ()
        assert judged.metadata_consistent


def test_approving_adds_a_file_and_its_record(firm: Firm) -> None:
    before = firm.written.path.read_bytes()
    record = firm.folder.record.read_bytes()
    done = firm.approve(firm.folder.id)
    assert firm.written.path.read_bytes() == before
    assert firm.folder.record.read_bytes() == record
    assert done.path == firm.written.path.with_name(f"{firm.written.path.stem}-approved.pdf")
    assert done.kept
    first, second = reports(firm.folder)
    assert first == firm.written.record
    assert second.signatures == 2
    assert second.sha256 == done.sha256 == hashlib.sha256(done.path.read_bytes()).hexdigest()
    assert second.document_digest == first.document_digest
    found = verify.check(firm.home, done.path)
    assert (found.faults, found.doubts) == ((), ())
    assert found.customer_signed
    assert found.expected.number == 2


def test_who_approves_a_report_is_told_that_the_job_was_changed_since(firm: Firm) -> None:
    assert not approve.find(firm.home, firm.folder.id).outdated
    confirm.keep(firm.home, firm.folder, confirm.enter("press", "P9", 1, 1))
    assert approve.find(firm.home, firm.folder.id).outdated


def test_an_approved_report_is_not_approved_again(firm: Firm) -> None:
    done = firm.approve(firm.folder.id)
    for wanted in (firm.folder.id, done.path, firm.written.path):
        with pytest.raises(CannotApprove, match="the customer has signed it already"):
            firm.approve(wanted)
    assert len(reports(firm.folder)) == 2


def test_of_two_who_approve_a_report_at_once_one_does(firm: Firm, tmp_path: Path) -> None:
    """Both have looked at it before either has signed."""
    copy = Path(shutil.copy(firm.written.path, tmp_path / "copy.pdf"))
    looked = [approve.find(firm.home, str(each)) for each in (firm.folder.id, copy)]

    def sign(name: str, found: approve.Certified) -> str:
        with contextlib.suppress(CannotApprove):
            approve.write(firm.home, found, firm.drawing, name, SETTINGS, firm.key, Quiet())
            return name
        return ""

    with ThreadPoolExecutor() as pool:
        done = list(pool.map(sign, ("Tilda Brannock", "Somebody else"), looked))
    assert sorted(map(bool, done)) == [False, True]
    assert [each.signatures for each in reports(firm.folder)] == [1, 2]


def test_a_copy_of_a_report_on_record_is_approved_into_the_archive(
    firm: Firm, tmp_path: Path
) -> None:
    copy = Path(shutil.copy(firm.written.path, tmp_path / "from mail.PDF"))
    done = firm.approve(copy)
    assert done.kept
    assert done.path.parent == firm.folder.reports
    assert list(tmp_path.glob("*.[Pp]*[Ff]")) == [copy]


def test_a_report_of_a_job_that_is_elsewhere_is_approved_beside_it(
    firm: Firm, tmp_path: Path
) -> None:
    copy = Path(shutil.copy(firm.written.path, tmp_path / "r.pdf"))
    shutil.rmtree(firm.folder.path)
    done = firm.approve(copy)
    assert (done.path, done.kept) == (tmp_path / "r-approved.pdf", False)
    assert verify.check(firm.home, done.path).faults == ()
    approved = done.path.read_bytes()
    with pytest.raises(CannotApprove, match=r"r-approved\.pdf is there already"):
        firm.approve(copy)
    done.path.unlink()
    found = approve.find(firm.home, str(copy))
    done.path.write_bytes(approved)  # by another process, meanwhile
    with pytest.raises(CannotApprove, match=r"r-approved\.pdf is there already"):
        approve.write(firm.home, found, firm.drawing, "T. B.", SETTINGS, firm.key, Quiet())
    assert done.path.read_bytes() == approved


def test_a_draft_cannot_be_approved(firm: Firm) -> None:
    path = draft.write(firm.home, firm.folder.load(), firm.folder, SETTINGS)
    with pytest.raises(CannotApprove, match="it is a draft or was not signed"):
        firm.approve(path)


def test_a_changed_report_cannot_be_approved(firm: Firm) -> None:
    content = bytearray(firm.written.path.read_bytes())
    content[len(content) // 3] ^= 1
    firm.written.path.write_bytes(content)
    with pytest.raises(VerificationFailed, match="not the report that was signed"):
        firm.approve(firm.written.path)


def test_a_report_by_strangers_cannot_be_approved(firm: Firm, tmp_path: Path) -> None:
    other = Home.open(tmp_path / "other")
    key = identity.create(other.identity / "signer.p12", PASSPHRASE, "Bo Hart", "Someone else")
    with pytest.raises(CannotApprove, match="this home does not know who signed it"):
        approve.find(other, str(firm.written.path))
    with pytest.raises(CannotApprove, match="Imke Dorn, whom another authority vouches for"):
        firm.approve(firm.folder.id, key=key)
    assert len(reports(firm.folder)) == 1


def test_a_job_without_a_report_cannot_be_approved(firm: Firm) -> None:
    shutil.rmtree(firm.folder.reports)
    with pytest.raises(CannotApprove, match="the job has no report yet"):
        firm.approve(firm.folder.id)


@pytest.mark.parametrize(
    ("content", "error"),
    [
        (None, FileMissing),
        (b"", FileEmpty),
        (b"no PDF", NotAReport),
        (b"%PDF-1.7\n", CannotApprove),
    ],
)
def test_what_is_no_report_cannot_be_approved(
    firm: Firm, tmp_path: Path, content: bytes | None, error: type[Exception]
) -> None:
    path = tmp_path / "x.pdf"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(error):
        firm.approve(path)


def test_a_job_that_is_not_there(firm: Firm) -> None:
    with pytest.raises(UnknownJob):
        firm.approve("nobody knows it")


def test_drawings_that_cannot_be_used_leave_nothing(firm: Firm, tmp_path: Path) -> None:
    blank, large = tmp_path / "blank.png", tmp_path / "large.png"
    blank.write_bytes(as_bytes(Image.new("L", (400, 100), 255)))
    large.write_bytes(bytes(10_000_001))
    for path, error in (
        (blank, NotADrawing),
        (large, FileTooLarge),
        (tmp_path, InputRefused),
        (tmp_path / "gone.png", FileMissing),
    ):
        with pytest.raises(error):
            firm.approve(firm.folder.id, drawing=path)
    with pytest.raises(InputRefused, match="not a regular file"):  # it would be read without end
        firm.approve(firm.folder.id, drawing=Path(os.devnull))
    with pytest.raises(BadValue, match="name of the person"):
        firm.approve(firm.folder.id, name=" \u200b")
    assert len(list(firm.folder.reports.iterdir())) == 2, "the report and its record"


def stamping(url: str) -> Settings:
    of_report = SETTINGS.report.model_copy(update={"timestamp_url": url})
    return SETTINGS.model_copy(update={"report": of_report})


def test_an_authority_stamps_report_and_approval(firm: Firm, tmp_path: Path) -> None:
    (tmp_path / "tick").mkdir()
    root = authority.make(tmp_path / "tick")
    with authority.serving(authority.answering(tmp_path / "tick")) as url:
        settings = stamping(url)
        written = report.write(firm.home, firm.folder, settings, firm.key, Quiet(), "short")
        found = approve.find(firm.home, str(written.path))
        done = approve.write(
            firm.home, found, firm.drawing, "Tilda Brannock", settings, firm.key, Quiet()
        )
    assert written.unstamped == done.unstamped == ""
    place = firm.home.identity / "time"
    place.mkdir()
    shutil.copy(root, place)
    judged = verify.check(firm.home, done.path)
    assert (judged.faults, judged.doubts) == ((), ())
    for each in judged.signatures:
        assert each.time.stamped is not None
        assert each.time.stamp_trusted
        assert each.time.authority == "Tick time stamping"


def forging(folder: Path) -> authority.Answer:
    """Answers whose time somebody set back on the way."""

    def answer(query: bytes) -> bytes:
        reply = authority.answering(folder)(query)
        year = time.strftime("%Y").encode()
        return reply.replace(year, b"2001", 1)

    return answer


@pytest.mark.parametrize("answer", ["nobody", "nonsense", "forged"])
def test_without_a_stamp_the_report_is_written_and_the_person_told(
    firm: Firm, tmp_path: Path, answer: str, capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.setenv("SEAMNOTE_PASSPHRASE", PASSPHRASE)
    authority.make(tmp_path)
    answers = forging(tmp_path) if answer == "forged" else lambda query: b"nonsense"
    with authority.serving(answers) as url:
        shown = "http://127.0.0.1:9/" if answer == "nobody" else url
        firm.home.settings.write_text(f'[report]\ntimestamp_url = "{shown}"\n')
        began = time.monotonic()
        home = str(firm.home.root)
        code = main(["report", "last", "--home", home, "--json", "--variant", "short"])
        assert time.monotonic() - began < 60
    out, err = capsys.readouterr()
    assert code in (0, 4), err
    lines = [line for line in err.splitlines() if not line.startswith("  ✓ ")]
    assert len(lines) == 1
    assert lines[0].startswith(f"seamnote: no time stamp from {shown} (")
    assert "the time of this device's clock" in lines[0]
    assert '"sha256"' in out
    assert verify.check(firm.home, firm.folder.path_of(reports(firm.folder)[-1].path)).faults == ()


def test_the_commands_from_report_to_approval(
    firm: Firm, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SEAMNOTE_PASSPHRASE", PASSPHRASE)
    monkeypatch.setenv("SEAMNOTE_HOME", str(firm.home.root))
    assert main(["report", "last", "--variant", "short", "--paper", "letter"]) in (0, 4)
    path = reports(firm.folder)[-1].path
    assert reports(firm.folder)[-1].variant == "short"
    assert f"Signed report  {firm.folder.path_of(path)}" in capsys.readouterr().out
    drawing = ["--name", "Tilda Brannock", "--drawing", str(firm.drawing)]
    confirm.keep(firm.home, firm.folder, confirm.enter("press", "P9", 1, 1))
    assert main(["approve", "last", *drawing]) == 0
    out, err = capsys.readouterr()
    assert "was changed since this report was written" in err
    assert out.startswith("Approved report  ")
    assert out.strip().endswith(f"{Path(path).stem}-approved.pdf")
    assert main(["approve", "last", *drawing]) == 3
    assert "the customer has signed it already" in capsys.readouterr().err
    assert main(["approve", "last", "--name", "X"]) == 2
    assert "--drawing" in capsys.readouterr().err


def test_a_draft_has_the_look_of_the_firm_and_its_faults(firm: Firm) -> None:
    looks = firm.home.root / "report_templates"
    looks.mkdir()
    (looks / "report.html").write_text("<title>Ours</title><h1>{{ report.nothing }}</h1>")
    with pytest.raises(BadTemplate, match=r"report\.html, line 1"):
        draft.write(firm.home, firm.folder.load(), firm.folder, SETTINGS)
    (looks / "report.html").write_text("<title>Ours</title><h1>As we set it</h1>")
    path = draft.write(firm.home, firm.folder.load(), firm.folder, SETTINGS)
    text = subprocess.run(["pdftotext", path, "-"], capture_output=True, text=True, check=True)
    assert text.stdout.strip() == "As we set it"


def test_paper_is_that_of_the_settings_or_of_the_command(firm: Firm) -> None:
    on_letter = SETTINGS.report.model_copy(update={"paper": "Letter"})
    settings = SETTINGS.model_copy(update={"report": on_letter})
    paths = {
        "draft": draft.write(firm.home, firm.folder.load(), firm.folder, settings),
        "settings": report.write(firm.home, firm.folder, settings, firm.key, Quiet(), "short").path,
        "command": report.write(
            firm.home, firm.folder, settings, firm.key, Quiet(), "short", "A4"
        ).path,
    }
    sizes = {
        name: re.findall(r"Page size: +(.*)", subprocess.run(
            ["pdfinfo", path], capture_output=True, text=True, check=True).stdout)
        for name, path in paths.items()
    }  # fmt: skip
    letter = ["612 x 792 pts (letter)"]
    assert sizes["draft"] == sizes["settings"] == letter
    assert "A4" in sizes["command"][0]


def test_a_template_of_the_firm_without_room_for_signatures_is_refused(firm: Firm) -> None:
    looks = firm.home.root / "report_templates"
    looks.mkdir()
    (looks / "report.html").write_text("<title>Ours</title><h1>No room</h1>")
    with pytest.raises(PageFailed, match="TechnicianSignature"):
        report.write(firm.home, firm.folder, SETTINGS, firm.key, Quiet())
    assert len(reports(firm.folder)) == 1
