"""Time stamps: an authority that answers, and every way in which one does not."""

import subprocess
import time
from pathlib import Path

import pytest
from asn1crypto import tsp

from recorder.report.identity.identity import Identity
from recorder.report.signing import revision
from recorder.report.signing.certify import certify
from recorder.report.signing.stamp import NoStamp, stamped
from recorder.report.verifying import container
from tests.report.signing.authority import Answer, answering, serving
from tests.report.signing.conftest import NOW
from tests.report.signing.test_certify import containers

VALUE = b"the value of a signature"


def test_a_stamp_is_for_the_value_and_openssl_agrees(tick: Path, tmp_path: Path) -> None:
    with serving(answering(tick)) as url:
        token = stamped(url, VALUE)
    (tmp_path / "token.der").write_bytes(token)
    (tmp_path / "value").write_bytes(VALUE)
    done = subprocess.run(
        ["openssl", "ts", "-verify", "-token_in", "-in", tmp_path / "token.der",
         "-data", tmp_path / "value", "-CAfile", tick / "tick-root.pem"],
        capture_output=True, text=True,
    )  # fmt: skip
    assert "Verification: OK" in done.stdout + done.stderr


def test_a_stamped_signature_carries_it_in_the_one_form(
    tick: Path, document: bytes, key: Identity
) -> None:
    with serving(answering(tick)) as url:
        signed = certify(document, key, "Record", "", NOW, lambda value: stamped(url, value))
    signature = container.read(containers(signed)[0])
    assert signature.stamp
    token = tsp.ContentInfo.load(signature.stamp)["content"]["encap_content_info"]["content"].parsed
    assert abs((token["gen_time"].native - NOW).total_seconds()) < 3600


def test_a_signature_without_the_wanted_stamp_is_whole(document: bytes, key: Identity) -> None:
    signed = certify(document, key, "Record", "", NOW, lambda value: b"")
    assert container.read(containers(signed)[0]).stamp == b""


def refusing(query: bytes) -> bytes:
    told = tsp.PKIStatusInfo({"status": "rejection", "status_string": ["come back\nlater"]}).dump()
    return bytes([0x30, len(told)]) + bytes(told)  # a response of its status alone


BROKEN: dict[str, tuple[Answer, str]] = {
    "nothing": (lambda query: b"", "no time stamp"),
    "a page": (lambda query: b"<html>Sign in to the wireless network</html>", "no time stamp"),
    "the query": (lambda query: query, "no time stamp"),
    "a refusal": (refusing, "it refused: come back later"),
    "no end": (lambda query: bytes(10_000_000), "no time stamp"),
}


@pytest.mark.parametrize(("answer", "said"), BROKEN.values(), ids=BROKEN.keys())
def test_an_answer_that_is_no_stamp(answer: Answer, said: str) -> None:
    with serving(answer) as url, pytest.raises(NoStamp, match=said):
        stamped(url, VALUE)


def test_an_answer_to_an_earlier_question(tick: Path) -> None:
    kept: list[bytes] = []

    def parrot(query: bytes) -> bytes:
        kept.append(answering(tick)(query))
        return kept[0]

    with serving(parrot) as url:
        stamped(url, VALUE)
        with pytest.raises(NoStamp, match="something else"):
            stamped(url, VALUE)
        with pytest.raises(NoStamp, match="something else"):
            stamped(url, b"another value")


def test_a_stamp_that_finds_no_room(tick: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("recorder.report.signing.stamp.LARGEST_STAMP", 1_000)
    with (
        serving(answering(tick)) as url,
        pytest.raises(NoStamp, match="no time stamp"),
    ):
        stamped(url, VALUE)


@pytest.mark.parametrize(
    "url",
    ["http://127.0.0.1:9/", "http://nowhere.invalid/", "https://127.0.0.1:9/", "http://[bad/", "x"],
)
def test_an_authority_that_is_not_there(url: str) -> None:
    with pytest.raises(NoStamp):
        stamped(url, VALUE)


def test_an_authority_that_never_answers_holds_nobody_up() -> None:
    def slow(query: bytes) -> bytes:
        time.sleep(1.5)
        return b""

    with serving(slow) as url:
        began = time.monotonic()
        with pytest.raises(NoStamp, match=r"no answer within 0\.3 s|timed out"):
            stamped(url, VALUE, patience_s=0.3)
        assert time.monotonic() - began < 1.2


def test_the_largest_stamp_fits_into_the_signature(document: bytes, key: Identity) -> None:
    """A token of whatever is DER, as large as one may be."""
    from asn1crypto import cms

    filler = bytes(revision.LARGEST_STAMP - 60)
    token = bytes(cms.ContentInfo({"content_type": "data", "content": filler}).dump())
    assert revision.LARGEST_STAMP - 60 < len(token) <= revision.LARGEST_STAMP
    signed = certify(document, key, "Record", "", NOW, lambda value: token)
    assert container.read(containers(signed)[0]).stamp == token
