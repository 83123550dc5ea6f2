"""The evidence manifest: the same value, the same bytes, and nothing else passes for one."""

import hashlib
import json
from datetime import UTC, datetime

import pytest

from recorder.model.evidence import Evidence, OriginalDigest, RecordDigest, digest, dump, parse
from recorder.model.job import MediaKind
from recorder.model.software import Software, Use

ONE = Evidence(
    job_id="20260304-061500-a1f0",
    job_number="5120",
    written_at=datetime(2026, 3, 4, 10, 40, 5, tzinfo=UTC),
    variant="full",
    record=RecordDigest(sha256="0a" * 32, size_bytes=12),
    originals=(
        OriginalDigest(
            name="Übersicht.jpg",
            kind=MediaKind.PHOTO,
            path="media/0a_Übersicht.jpg",
            sha256="0b" * 32,
            size_bytes=3,
        ),
    ),
    software=(Software(use=Use.REPORT, name="Seamnote", version="0.1.0"),),
)


def test_it_comes_back_from_its_bytes_which_are_always_the_same() -> None:
    content = dump(ONE)
    assert parse(content) == ONE
    assert dump(parse(content)) == content
    assert content.endswith(b"}\n")
    assert "Übersicht".encode() in content
    assert list(json.loads(content)) == sorted(json.loads(content))
    assert digest(content) == hashlib.sha256(content).hexdigest()


@pytest.mark.parametrize(
    "change",
    [
        {"schema_version": 3},
        {"unheard_of": 1},
        {"written_at": "2026-03-04T10:40:05"},
        {"record": {"sha256": "0A" * 32, "size_bytes": 12}},
        {"record": {"sha256": "0a" * 32 + "\n", "size_bytes": 12}},
        {"record": {"sha256": "0a" * 32, "size_bytes": -1}},
        {"variant": "long"},
        {"job_id": None},
    ],
)
def test_nothing_else_passes(change: dict[str, object]) -> None:
    with pytest.raises(ValueError, match=next(iter(change))):
        parse(json.dumps(json.loads(dump(ONE)) | change).encode())


@pytest.mark.parametrize("content", [b"", b"[]", b"\xff", b"[" * 100_000])
def test_what_is_no_manifest_is_refused_with_words(content: bytes) -> None:
    with pytest.raises(ValueError, match="Evidence"):
        parse(content)
