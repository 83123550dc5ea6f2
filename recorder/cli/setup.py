"""doctor: what is installed and what is missing. schema: the form of what lies on disk."""

from __future__ import annotations

import argparse
import json

from recorder.cli.terminal import Commands, command, home_path, print_json

_KINDS = ("job", "event", "evidence", "report-record")  # flows.schema, which --help does not load


def add(commands: Commands, shared: argparse.ArgumentParser) -> None:
    command(commands, shared, "doctor", "what is installed, missing, and how to get it", _doctor)
    schema = command(
        commands, shared, "schema", "JSON Schema of the files in a job folder", _schema
    )
    schema.add_argument(
        "kind", nargs="?", choices=_KINDS, default="job",
        help="of job.json, a line of events.jsonl, evidence.json in a report, or the .json beside "
        "a report (default: job)",
    )  # fmt: skip


def _doctor(arguments: argparse.Namespace) -> int:
    from recorder.flows.doctor import examine

    findings = examine(home_path(arguments))
    for finding in findings:
        if arguments.json:
            print_json(finding.model_dump())
            continue
        print(f"{'ok     ' if finding.ok else 'MISSING'}  {finding.name:24} {finding.detail}")
        if finding.mend:
            print(f"         {'':24} → {finding.mend}")
    return 0 if all(finding.ok for finding in findings) else 4


def _schema(arguments: argparse.Namespace) -> int:
    from recorder.flows.schema import schema_of

    schema = schema_of(arguments.kind)
    if arguments.json:
        print_json(schema)
    else:
        print(json.dumps(schema, ensure_ascii=False, indent=2))
    return 0
