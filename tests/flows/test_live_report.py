"""The report of a live session: signed by hand on glass, and its gaps a part of the record."""

import json
from pathlib import Path

import pytest
from pypdf import PdfReader

from recorder.archive.disk.home import Home
from recorder.archive.jobs.reports import reports
from recorder.errors import NotADrawing, RecordChanged
from recorder.flows import approve, report, verify
from recorder.report.document.about import CUSTOMER, TECHNICIAN
from recorder.report.document.attachments import attached
from recorder.report.identity import identity
from recorder.report.verifying.reasons import Doubt
from tests.external import verapdf
from tests.flows.firm import PASSPHRASE, SETTINGS, Firm
from tests.flows.quiet import Quiet
from tests.report import jobs
from tests.report.signing.drawings import as_bytes, scribble


@pytest.fixture(scope="module")
def live(tmp_path_factory: pytest.TempPathFactory) -> Firm:
    home = Home.open(tmp_path_factory.mktemp("live") / "home")
    folder = jobs.into_home(home, jobs.live)
    key = identity.create(home.identity / "signer.p12", PASSPHRASE, "Imke Dorn", "Quillback")
    drawing = home.root / "drawing.png"
    drawing.write_bytes(as_bytes(scribble()))
    written = report.write(
        home, folder, SETTINGS, key, Quiet(), drawing=as_bytes(scribble(ground=240, ink=20))
    )
    return Firm(home, folder, key, written, drawing)


def words_on(pdf: Path) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(pdf).pages).split())


def test_the_field_shows_the_drawing_and_the_page_says_how_it_came_about(live: Firm) -> None:
    fields = {
        field.get_object()["/T"]: field.get_object()
        for field in PdfReader(live.written.path).root_object["/AcroForm"]["/Fields"]
    }
    shown = fields[TECHNICIAN]["/AP"]["/N"]
    (picture,) = (each.get_object() for each in shown["/Resources"]["/XObject"].values())
    assert picture["/ColorSpace"] == "/DeviceGray"
    assert (
        "/Resources" not in fields[CUSTOMER]["/AP"]["/N"]
        or not (fields[CUSTOMER]["/AP"]["/N"]["/Resources"])
    )
    assert "drawn on the device, and signed digitally at" in words_on(live.written.path)


def test_it_is_sound_archival_and_accessible_with_both_drawings(live: Firm) -> None:
    assert verify.check(live.home, live.written.path).faults == ()
    found = approve.find(live.home, str(live.written.path))
    done = approve.write(
        live.home, found, live.drawing, "Tilda Brannock", SETTINGS, live.key, Quiet()
    )
    judged = verify.check(live.home, done.path)
    assert (judged.faults, judged.doubts) == ((), ())
    assert judged.customer_signed
    for flavour in verapdf.FLAVOURS:
        assert verapdf.failures(done.path, flavour) == []


def test_its_gaps_are_on_the_page_and_in_the_attached_record(live: Firm) -> None:
    words = words_on(live.written.path)
    assert "2 gaps in the sound" in words
    assert "07:23:30 to 07:26:40 3:10 min another device became the microphone" in words
    content = live.written.path.read_bytes()
    record = json.loads(attached(content, live.written.path)["job.json"])
    assert [each["after"] for each in record["recordings"]] == ["first", "hidden", "taken_over"]


def test_what_is_no_drawing_leaves_no_report(live: Firm) -> None:
    before = reports(live.folder)
    with pytest.raises(NotADrawing):
        report.write(live.home, live.folder, SETTINGS, live.key, Quiet(), drawing=b"<svg/>")
    assert reports(live.folder) == before


def test_a_gap_that_somebody_hid_in_the_record_is_a_changed_record(live: Firm) -> None:
    known = live.folder.record.read_bytes()
    values = json.loads(known)
    first = values["recordings"][0]
    first["samples"] += 20 * first["rate_hz"]
    try:
        live.folder.record.write_text(json.dumps(values))
        assert live.folder.record_faults()
        with pytest.raises(RecordChanged):
            live.folder.update(lambda job: job.model_copy(update={"notes": ()}))
        found = verify.check(live.home, live.written.path, 1)
        assert found.faults == ()
        assert [doubt.reason for doubt in found.doubts] == [Doubt.EVENTS_DIFFER]
    finally:
        live.folder.record.write_bytes(known)
