"""doctor: what is installed and what is missing."""

from __future__ import annotations

import argparse

from recorder.cli.terminal import Commands, command, home_path, print_json


def add(commands: Commands, shared: argparse.ArgumentParser) -> None:
    command(commands, shared, "doctor", "what is installed, missing, and how to get it", _doctor)


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
