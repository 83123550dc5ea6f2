"""What lies on disk against the published JSON Schema, by the library jsonschema.

Source: JSON Schema, draft 2020-12 (https://json-schema.org/draft/2020-12), as python-jsonschema
implements it.
"""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.reports import keep_report
from recorder.cli import main
from recorder.flows import evidence
from recorder.flows.schema import DIALECT, KINDS
from recorder.model import evidence as manifest
from tests.archive.sample_jobs import NOW, add_job, reading

Values = dict[str, Any]


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[Values]]:
    """By kind: what a home holds in which a job was made, changed and reported on."""
    place = tmp_path_factory.mktemp("schema")
    home = Home.open(place / "home")
    folder = JobFolder(home.jobs / add_job(home, place / "from the camera").id)
    folder.update(lambda j: j.model_copy(update={"readings": (*j.readings, reading("press", "P"))}))
    record, events = folder.proven()
    proof = manifest.dump(evidence.gather(folder.load(), record, events, NOW, "full"))
    kept = keep_report(
        folder, "4817", b"%PDF-1.7 invented", written_at=NOW, signer="Imke Dorn", signatures=1,
        document_digest=manifest.digest(proof), variant="full",
    )  # fmt: skip
    beside = (folder.path / kept.path).with_suffix(".json").read_bytes()
    return {
        "job": [json.loads(folder.record.read_bytes())],
        "event": [json.loads(line) for line in folder.events.read_bytes().splitlines()],
        "evidence": [json.loads(proof)],
        "report-record": [json.loads(beside)],
    }


def published(kind: str, capsys: pytest.CaptureFixture[str]) -> Draft202012Validator:
    assert main(["schema", kind]) == 0
    schema = json.loads(capsys.readouterr().out)
    assert schema["$schema"] == DIALECT
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)


@pytest.mark.parametrize("kind", KINDS)
def test_what_was_written_fits(
    kind: str, written: dict[str, list[Values]], capsys: pytest.CaptureFixture[str]
) -> None:
    validator = published(kind, capsys)
    assert written[kind]
    for values in written[kind]:
        assert not list(validator.iter_errors(values))


def _without(name: str) -> Callable[[Values], object]:
    return lambda values: values.pop(name)


def _with(**more: object) -> Callable[[Values], object]:
    return lambda values: values.update(more)


@pytest.mark.parametrize(
    ("kind", "damage"),
    [
        *(("job", _without(name)) for name in ("id", "media", "readings", "schema_version")),
        ("job", _with(schema_version=2)),
        ("job", _with(unheard_of=1)),
        ("job", lambda values: values["media"][0].pop("sha256")),
        ("job", lambda values: values["readings"][0].update(standing="sure")),
        *(("event", _without(name)) for name in ("seq", "who", "record", "previous", "hash")),
        ("event", _with(what="happened")),
        ("event", _with(hash="0a" * 31)),
        ("event", _with(record="0A" * 32)),
        ("event", _with(previous="0a" * 32 + "\nx")),
        ("event", _with(more=-1)),
        *(("evidence", _without(name)) for name in ("record", "events", "originals")),
        ("evidence", _with(schema_version=3)),
        ("report-record", _without("sha256")),
        ("report-record", _with(variant="long")),
    ],
)
def test_what_is_damaged_does_not(
    kind: str,
    damage: Callable[[Values], object],
    written: dict[str, list[Values]],
    capsys: pytest.CaptureFixture[str],
) -> None:
    values = json.loads(json.dumps(written[kind][0]))
    damage(values)
    assert list(published(kind, capsys).iter_errors(values))


def test_an_unknown_kind_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema", "dream"]) == 2
    assert "report-record" in capsys.readouterr().err


def test_the_schema_as_one_line(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert main(["schema", "--json", "--home", str(tmp_path / "none")]) == 0
    (line,) = capsys.readouterr().out.splitlines()
    assert json.loads(line)["title"] == "Job"
    assert not (tmp_path / "none").exists()
