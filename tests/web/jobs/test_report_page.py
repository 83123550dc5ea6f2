"""The report on screen, and signing it: who signs has the newest one before them."""

import hashlib
import io
import re
import shutil

import pytest
from httpx2 import Response
from PIL import Image
from starlette.testclient import TestClient

from recorder.archive.disk.home import Home
from recorder.archive.jobs.reports import reports
from recorder.flows import verify
from tests.report.signing.drawings import as_bytes, scribble
from tests.web.jobs.places import Made

JOB = "/jobs/20260304-061500-e5b4"
SIGNED = "/jobs/20261123-093000-6ab6"  # has a report
NAME = "Tilda Brannock"


def text_of(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", html))


def signed(
    client: TestClient,
    who: str,
    drawing: bytes | None = None,
    accept: str = "text/html",
    job: str = JOB,
    **sent: str,
) -> Response:
    content = as_bytes(scribble()) if drawing is None else drawing
    files = {"drawing": ("drawing.png", content, "image/png")}
    if who == "technician" and "record" not in sent:
        sent["record"] = record_in(client, job)
    return client.post(f"{job}/sign/{who}", data=sent, files=files, headers={"accept": accept})


def record_in(client: TestClient, job: str = JOB) -> str:
    """SHA-256 of the record that the technician's form shows, '' where it shows none."""
    page = client.get(f"{job}/sign/technician").text
    found = re.search(r'name="record" value="([0-9a-f]{64})"', page)
    return found[1] if found else ""


def seen(client: TestClient, job: str = JOB) -> str:
    """SHA-256 of the report that the customer's form shows."""
    found = re.search(
        r'name="report" value="([0-9a-f]{64})"', client.get(f"{job}/sign/customer").text
    )
    assert found
    return found[1]


def test_a_whole_signing_from_no_report_to_the_customers(client: TestClient, made: Made) -> None:
    assert "There is no report of this job yet" in client.get(f"{JOB}/report").text
    assert "Sign as technician first" in client.get(f"{JOB}/sign/customer").text

    assert signed(client, "technician").headers["location"] == f"{JOB}/report"
    page = client.get(f"{JOB}/report").text
    assert "The report is as it was signed" in page
    assert "has not signed this report" in page
    assert "The customer signs" in page

    shown = client.get(f"{JOB}/report/page/1")
    with Image.open(io.BytesIO(shown.content)) as picture:
        assert picture.format == "PNG"
        assert max(picture.size) == pytest.approx(1800, abs=1)
    pages = len(set(re.findall(r"/report/page/(\d+)", page)))
    assert client.get(f"{JOB}/report/page/{pages}").status_code == 200
    for number in (0, pages + 1):
        assert client.get(f"{JOB}/report/page/{number}").status_code == 422

    assert signed(client, "customer", name=NAME, report=seen(client)).status_code == 303
    page = client.get(f"{JOB}/report").text
    assert NAME not in page or "has not signed" not in page
    assert "The customer signs" not in page
    assert "The customer has signed this report" in client.get(f"{JOB}/sign/customer").text

    pdf = client.get(f"{JOB}/report.pdf")
    assert pdf.headers["content-disposition"].startswith("attachment; filename=")
    record = reports(made.jobs["no_photo"])[-1]
    assert hashlib.sha256(pdf.content).hexdigest() == record.sha256
    found = verify.check(made.home, made.jobs["no_photo"].path_of(record.path))
    assert (found.faults, len(found.signatures), found.customer_signed) == ((), 2, True)


def test_nobody_signs_a_report_that_the_job_has_left_behind(client: TestClient, made: Made) -> None:
    before = seen(client, SIGNED)
    sent = {"field": "ambient_temperature", "text": "20 degC", "splice": 1, "run": 1}
    assert client.post(f"{SIGNED}/enter", data=sent).status_code == 303
    assert "Write the report anew" in text_of(client.get(SIGNED).text)
    assert "Nobody signs what is not in force" in client.get(f"{SIGNED}/sign/customer").text

    late = signed(client, "customer", job=SIGNED, name=NAME, report=before)
    assert late.status_code == 422
    assert len(reports(made.jobs["signed"])) == 1

    assert client.post(f"{SIGNED}/report").status_code == 303
    other = signed(client, "customer", job=SIGNED, name=NAME, report=before)  # of the one before
    assert other.status_code == 422
    assert "there is a newer report" in other.text
    assert str(made.home.root) not in other.text
    assert (
        signed(client, "customer", job=SIGNED, name=NAME, report=seen(client, SIGNED)).status_code
        == 303
    )


def test_no_technician_signs_what_came_in_meanwhile(client: TestClient, made: Made) -> None:
    before = record_in(client)
    answer = client.post(
        f"{JOB}/enter", data={"field": "materials", "text": "film", "splice": "1", "run": "1"}
    )
    assert answer.status_code == 303
    for record in (before, "", "0" * 64):
        late = signed(client, "technician", record=record)
        assert late.status_code == 422
        assert "came in meanwhile" in late.text
    assert "There is no report of this job yet" in client.get(f"{JOB}/report").text
    assert signed(client, "technician").status_code == 303


def test_what_is_no_drawing_signs_nothing(client: TestClient, made: Made) -> None:
    blank = as_bytes(Image.new("L", (300, 100), 255))
    for drawing, reason in ((b"", "nothing was drawn"), (blank, "blank"), (b"%PDF-1.7", "")):
        answer = signed(client, "technician", drawing)
        assert answer.status_code == 422
        assert "Nothing was signed" in answer.text
        assert reason in answer.text
    told = signed(client, "technician", blank, accept="application/json")
    assert set(told.json()) == {"error", "remedy"}
    assert not reports(made.jobs["no_photo"])


def test_a_customer_without_a_name_signs_nothing(client: TestClient, made: Made) -> None:
    answer = signed(client, "customer", job=SIGNED, name="  ", report=seen(client, SIGNED))
    assert answer.status_code == 422
    assert "type the name" in answer.text
    assert len(reports(made.jobs["signed"])) == 1


def test_a_script_is_told_where_to_go(client: TestClient) -> None:
    answer = signed(client, "technician", accept="application/json")
    assert answer.json() == {"goto": f"{JOB}/report"}


def test_a_report_with_another_byte_is_not_relied_on(client: TestClient, made: Made) -> None:
    folder = made.jobs["signed"]
    path = folder.path_of(reports(folder)[-1].path)
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 1
    path.write_bytes(content)
    page = client.get(f"{SIGNED}/report")
    assert page.status_code == 200
    assert 'class="trouble verdict"' in page.text
    assert "Do not rely on this report" in page.text
    assert signed(client, "customer", job=SIGNED, name=NAME, report="0" * 64).status_code == 422


def test_a_report_that_is_no_pdf_any_more_says_so(client: TestClient, made: Made) -> None:
    folder = made.jobs["signed"]
    folder.path_of(reports(folder)[-1].path).write_bytes(b"gone")
    page = client.get(f"{SIGNED}/report")
    assert page.status_code == 200
    assert "Do not rely on this report" in page.text
    assert client.get(f"{SIGNED}/report/page/1").status_code == 422


def test_without_a_key_nothing_is_signed(device: TestClient, home: Home, furniture: Made) -> None:
    """The server of ``device`` was started without the passphrase."""
    folder = furniture.jobs["no_photo"]
    shutil.copytree(folder.path, home.jobs / folder.id)
    assert "started without the passphrase" in text_of(device.get(f"{JOB}/report").text)
    assert device.post(f"{JOB}/report").status_code == 503
    assert signed(device, "technician").status_code == 503


def test_an_unfinished_job_has_no_report(client: TestClient) -> None:
    job = client.post("/jobs").headers["location"].removeprefix("/live/")
    answer = client.post(f"/jobs/{job}/report")
    assert answer.status_code == 422
    assert "interrupted" in answer.text or "finish" in answer.text


@pytest.mark.parametrize("address", ["report.pdf", "report/page/1"])
def test_without_a_report_there_is_no_file(client: TestClient, address: str) -> None:
    assert client.get(f"{JOB}/{address}").status_code == 404
