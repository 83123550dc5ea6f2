"""XMP and document information must say the same, and the XMP be what a report's is."""

import pytest

from recorder.report.document import xmp
from recorder.report.document.about import About
from recorder.report.document.told import Description
from recorder.report.verifying.description import contradictions
from recorder.report.verifying.reasons import Fault
from tests.report.verifying import reports

ABOUT = About(
    title="Splice report 4817 <&> ü",
    author="Quillback Belt Service",
    subject="",
    language="en",
    written_at=reports.NOW,
    creator="Seamnote",
    labels={},
)
PACKET = xmp.packet(ABOUT, "WeasyPrint")
INFORMATION = {
    "/Title": ABOUT.title,
    "/CreationDate": f"D:{reports.NOW:%Y%m%d%H%M%S}+00'00'",
}


def words(packet: bytes, information: dict[str, str], complete: bool = True) -> list[str]:
    found = contradictions(Description(packet, information), complete)
    assert {each.reason for each in found} <= {Fault.METADATA_INCONSISTENT}
    return [each.words for each in found]


def test_both_say_the_same() -> None:
    assert words(PACKET, INFORMATION) == []


def test_another_zone_is_the_same_moment() -> None:
    moment = reports.NOW.timestamp()
    from datetime import UTC, datetime, timedelta, timezone

    zone = timezone(timedelta(hours=5, minutes=30))
    there = datetime.fromtimestamp(moment, UTC).astimezone(zone)
    date = f"D:{there:%Y%m%d%H%M%S}+05'30'"
    assert words(PACKET, {**INFORMATION, "/CreationDate": date}) == []


@pytest.mark.parametrize(
    ("information", "said"),
    [
        ({"/Title": "Splice report 4818"}, "two titles"),
        ({"/Title": ""}, "two titles"),
        ({"/CreationDate": "D:19991231235959Z"}, "two dates"),
        ({"/CreationDate": "yesterday"}, "two dates"),
    ],
)
def test_what_differs_is_named(information: dict[str, str], said: str) -> None:
    (text,) = words(PACKET, {**INFORMATION, **information})
    assert said in text


def test_a_packet_that_claims_less() -> None:
    packet = PACKET.replace(b"<pdfaid:part>3<", b"<pdfaid:part>2<")
    (text,) = words(packet, INFORMATION)
    assert "does not claim" in text


def test_a_packet_that_contradicts_itself() -> None:
    twice = b"<dc:format>application/pdf</dc:format>"
    packet = PACKET.replace(twice, twice + b"<dc:format>text/plain</dc:format>")
    (text,) = words(packet, INFORMATION)
    assert "tells format twice" in text


@pytest.mark.parametrize("packet", [b"", b"no XML", b"<a>", b"<!DOCTYPE a [<!ENTITY b 'c'>]><a/>"])
def test_a_packet_that_cannot_be_read(packet: bytes) -> None:
    (text,) = words(packet, INFORMATION)
    assert "cannot be read" in text


def test_an_earlier_version_wrote_none() -> None:
    assert words(b"", {"/Title": "Splice report 4817"}, complete=False) == []
