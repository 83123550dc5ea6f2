"""serve: the hands-free page, and who may open it."""

from __future__ import annotations

import argparse
import os
import sys
from datetime import datetime
from typing import TYPE_CHECKING

from recorder.cli.terminal import (
    Commands,
    ask_secret,
    at_least_one,
    command,
    open_home,
    print_json,
    settings_of,
    warn,
)

if TYPE_CHECKING:
    from recorder.archive.disk.home import Home
    from recorder.report.identity.identity import Identity
    from recorder.settings import Settings
    from recorder.web.access.access import Access

HIGHEST_PORT = 65534

_ENDING = """\
It prints an address with a pairing code that is good once, for five minutes.
A browser that opened it stays paired: until it was not used for 30 days, for
180 days at most, or until somebody revokes it. Ctrl-C ends the server; a job
that was being recorded goes on when it is started again.

With --lan, phones and tablets on the same private network reach it by https,
with a certificate of an authority that is made on this machine; the page
'Devices' shows how a phone learns to trust it.
"""


def add(commands: Commands, shared: argparse.ArgumentParser) -> None:
    serve = command(
        commands, shared, "serve", "the hands-free page for phone, tablet or laptop", _serve
    )
    serve.epilog = _ENDING
    serve.formatter_class = argparse.RawDescriptionHelpFormatter
    serve.add_argument(
        "--port", type=_port, metavar="N",
        help="to serve from (default: serve.port of the settings, else 8750)",
    )  # fmt: skip
    serve.add_argument(
        "--lan", action="store_true",
        help="also to the private networks of this machine, by https, as with serve.lan of the "
        "settings",
    )  # fmt: skip
    serve.add_argument(
        "--no-open", action="store_true", help="open no browser, also where there is a screen"
    )
    instead = serve.add_mutually_exclusive_group()
    instead.add_argument(
        "--devices", action="store_true", help="list the paired devices, and serve nothing"
    )
    instead.add_argument(
        "--revoke", type=at_least_one, metavar="N",
        help="shut out the paired device of this number, at once, and serve nothing",
    )  # fmt: skip
    instead.add_argument(
        "--invite", action="store_true",
        help="print a new address with a pairing code of the server that runs, and serve nothing",
    )  # fmt: skip


def _port(text: str) -> int:
    """The port above it is that of the guide to trust."""
    if not (text.isascii() and text.isdecimal() and 0 < int(text[:6]) <= HIGHEST_PORT):
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number from 1 to {HIGHEST_PORT}")
    return int(text)


def _serve(arguments: argparse.Namespace) -> int:
    home = open_home(arguments)
    settings = settings_of(home.root)
    arguments.port = arguments.port or settings.serve.port
    arguments.lan = arguments.lan or settings.serve.lan
    if arguments.devices:
        return _list(home, arguments)
    if arguments.revoke:
        return _revoke(home, arguments)
    if arguments.invite:
        return _invite(home, arguments)
    from recorder.web import serving

    key = _key(home, settings)
    serving.serve(
        home, settings, key, arguments.port, arguments.lan, _log,
        ready=lambda access: _announce(home, access, arguments),
    )  # fmt: skip
    if not arguments.json:
        print("ended; what was recorded is kept")
    return 0


def _log(line: str) -> None:
    """What happened at the door, with its time; it goes to standard error and nowhere else."""
    warn(f"{datetime.now().astimezone().isoformat(' ', 'seconds')} {line}")


def _key(home: Home, settings: Settings) -> Identity | None:
    """Asked for once, so that nobody must type during the job."""
    from recorder.errors import IdentityUnfit, IdentityUnusable, PassphraseMissing, PassphraseWrong
    from recorder.flows import identity

    try:
        return identity.signer_of_jobs_to_come(home, settings, ask_secret(), warn)
    except (PassphraseMissing, PassphraseWrong, IdentityUnusable, IdentityUnfit) as error:
        warn(
            f"{error}; until then jobs are recorded, and their reports stay drafts: sign them "
            "later with 'seamnote report'"
        )
        return None


def _announce(home: Home, access: Access, arguments: argparse.Namespace) -> None:
    from recorder.web import opening
    from recorder.web.access import inviting, qr

    here = inviting.on_this_machine(access)
    away = inviting.on_the_network(access) if access.places.lan else ""
    if arguments.json:
        print_json({
            "address": here, "lan": away or None,
            "origins": sorted(access.places.origins),
            "guide": access.guide.address if access.guide else None,
            "sha256": access.guide.fingerprint if access.guide else None,
        })  # fmt: skip
        return
    print(f"On this machine       {here}")
    if access.guide:
        print(f"A phone, first time   {access.guide.address}")
        print(f"  SHA-256 to compare  {access.guide.spaced}")
        print(f"A phone, to pair it   {away}")
        if sys.stdout.isatty():
            print(qr.for_terminal(away), end="")
    print("Each address pairs one device within five minutes. Ctrl-C ends.", flush=True)
    if not arguments.no_open and sys.stdout.isatty() and _screen():
        opening.show(home, here)


def _screen() -> bool:
    """Whether there is one on which a browser could open."""
    if sys.platform in ("win32", "darwin"):
        return "SSH_CONNECTION" not in os.environ
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def _access(home: Home, arguments: argparse.Namespace) -> Access:
    from recorder.web.access.access import Access
    from recorder.web.access.networks import names
    from recorder.web.access.places import Places

    lan = names() if arguments.lan else ()
    return Access(home, Places(arguments.port, lan))


def _list(home: Home, arguments: argparse.Namespace) -> int:
    for device in _access(home, arguments).devices():
        if arguments.json:
            print_json(device.model_dump(mode="json", exclude={"digest"}))
        else:
            print(
                f"{device.number:4}  {device.name:30}  {device.browser:24}  "
                f"last seen {device.last_seen.astimezone():%Y-%m-%d %H:%M}"
            )
    return 0


def _revoke(home: Home, arguments: argparse.Namespace) -> int:
    gone = _access(home, arguments).revoke(arguments.revoke)
    if arguments.json:
        print_json({"revoked": gone.number, "name": gone.name})
    else:
        print(f"Revoked {gone.number}: {gone.name}")
    return 0


def _invite(home: Home, arguments: argparse.Namespace) -> int:
    from recorder.web.access import inviting

    access = _access(home, arguments)
    where = inviting.on_the_network if arguments.lan else inviting.on_this_machine
    address = where(access)
    if arguments.json:
        print_json({"address": address})
    else:
        print(address)
    return 0
