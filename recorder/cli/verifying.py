"""verify: what can be said of a signed report, each fact by itself."""

from __future__ import annotations

import argparse
from dataclasses import asdict
from pathlib import Path

from recorder.cli.terminal import Commands, command, home_path, print_json, warn


def add(commands: Commands, shared: argparse.ArgumentParser) -> None:
    verify = command(commands, shared, "verify", "check that a signed report is unchanged", _verify)
    verify.add_argument("pdf", type=Path, metavar="PDF")


def _verify(arguments: argparse.Namespace) -> int:
    from recorder.archive.home import Home
    from recorder.errors import VerificationFailed
    from recorder.flows.verify import check

    found, unreadable = check(Home(home_path(arguments)), arguments.pdf)
    for name in unreadable:
        warn(f"{name} in the home's identity folder holds no certificate; it was passed over")
    facts = {
        **asdict(found),
        "file": str(arguments.pdf),
        "signed_at": found.signed_at.isoformat() if found.signed_at else None,
    }
    if arguments.json:
        print_json({**facts, "failed": found.failed})
    else:
        for name, fact in facts.items():
            shown = {True: "yes", False: "no"}[fact] if isinstance(fact, bool) else fact or "-"
            print(f"{name.replace('_', ' '):18} {shown}")
    if found.failed:
        raise VerificationFailed(path=arguments.pdf, detail=found.failed)
    if not found.known:
        warn(
            "the signature is good, but this home does not know the signer: compare the "
            "fingerprint with the one that the firm gave you"
        )
        return 4
    return 0
