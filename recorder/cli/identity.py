"""identity: who signs here, until when, and whom this home knows."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from recorder.cli.terminal import (
    Commands,
    ask_secret,
    command,
    open_home,
    print_json,
    settings_of,
    warn,
)

if TYPE_CHECKING:
    from recorder.archive.disk.home import Home
    from recorder.flows.authority import Holder, State
    from recorder.report.identity.identity import Identity
    from recorder.settings import Settings

_ABOUT = """\
show      who signs here, until when, and whom this home knows (the default)
create    a signing key, and the firm's authority that vouches for it (--authority-only: no key)
renew     a new key and certificate by the authority in this home, for the same name or --name
export    write the authority's certificate to FILE, for customers (.der or .cer: DER, else PEM)
trust     know the authority of another firm in FILE: its reports then verify as trusted

An office that keeps the authority on its own machine:
request   on the technician's laptop: write a request for a certificate to FILE
issue     at the office: answer the request in FILE with a certificate, written beside it
install   on the laptop: take the answer in FILE

SEAMNOTE_PASSPHRASE opens the signing key, and the authority too unless
SEAMNOTE_AUTHORITY_PASSPHRASE is set.
"""
_WITHOUT_FILE = ("show", "create", "renew")
_WITH_FILE = ("export", "trust", "request", "issue", "install")


def add(commands: Commands, shared: argparse.ArgumentParser) -> None:
    parser = command(commands, shared, "identity", "who signs the reports", _identity)
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.epilog = _ABOUT
    parser.add_argument(
        "action", nargs="?", default="show", choices=(*_WITHOUT_FILE, *_WITH_FILE),
        metavar="ACTION", help="one of the below",
    )  # fmt: skip
    parser.add_argument("file", nargs="?", type=Path, metavar="FILE", help="as the action says")
    parser.add_argument(
        "--name", metavar="NAME",
        help="of the technician, for create and request (default: report.technician) and renew "
        "(default: as before)",
    )  # fmt: skip
    parser.add_argument(
        "--email", metavar="ADDRESS",
        help="of the technician, for create and request (default: identity.email) and renew "
        "(default: as before)",
    )  # fmt: skip
    parser.add_argument(
        "--firm", metavar="NAME", help="for create: the firm's name (default: report.firm)"
    )
    parser.add_argument(
        "--authority-only", action="store_true", help="for create: no signing key, as at an office"
    )
    parser.add_argument(
        "--time-stamps", action="store_true",
        help="for trust: FILE is of an authority that stamps times; it vouches for nobody else",
    )  # fmt: skip


def _identity(arguments: argparse.Namespace) -> int:
    from recorder.errors import WrongUse

    action: str = arguments.action
    if (arguments.file is None) == (action in _WITH_FILE):
        needs = "needs a FILE" if action in _WITH_FILE else "takes no FILE"
        raise WrongUse(detail=f"{action} {needs}", command="identity")
    home = open_home(arguments)
    settings = settings_of(home.root)
    if action == "show":
        return _show(home, settings, arguments.json)
    return _ACTIONS[action](home, settings, arguments)


def _create(home: Home, settings: Settings, arguments: argparse.Namespace) -> int:
    from recorder.flows import authority, identity

    firm = arguments.firm or settings.report.firm
    if arguments.authority_only:
        made = authority.found(home, firm, ask_secret())
        return _holders(arguments, "Authority", (made,))
    name = arguments.name or settings.report.technician
    email = arguments.email or settings.identity.email
    return _made(arguments, identity.create(home, ask_secret(), name, firm, email))


def _renew(home: Home, settings: Settings, arguments: argparse.Namespace) -> int:
    from recorder.flows import identity

    email = arguments.email or ""
    made = identity.renew(home, settings, ask_secret(), arguments.name or "", email)
    return _made(arguments, made)


def _export(home: Home, settings: Settings, arguments: argparse.Namespace) -> int:
    from recorder.flows import authority

    above = authority.export(home, settings.identity, arguments.file)
    code = _holders(arguments, "Authority", (above,))
    warn(f"{arguments.file} is for your customers; tell them the fingerprint by another way")
    return code


def _trust(home: Home, settings: Settings, arguments: argparse.Namespace) -> int:
    from recorder.flows import authority

    taken = authority.trust(home, arguments.file, arguments.time_stamps)
    code = _holders(arguments, "Trusted", taken)
    warn("compare the fingerprint with the one that its owner tells you")
    return code


def _request(home: Home, settings: Settings, arguments: argparse.Namespace) -> int:
    from recorder.flows import identity

    name = arguments.name or settings.report.technician
    email = arguments.email or settings.identity.email
    asked = identity.ask_office(home, settings, ask_secret(), name, email, arguments.file)
    if arguments.json:
        print_json({"request": str(arguments.file), "name": asked.common_name,
                    "email": asked.email, "public_key": asked.fingerprint})  # fmt: skip
    else:
        print(f"Request        {arguments.file}, for {_who(asked.common_name, '', asked.email)}")
        print(f"               key {_grouped(asked.fingerprint)}")
    warn("send it to your office, and take its answer with 'seamnote identity install FILE'")
    return 0


def _issue(home: Home, settings: Settings, arguments: argparse.Namespace) -> int:
    from recorder.flows import authority

    issued = authority.issue(home, arguments.file, ask_secret())
    holder = issued.holder
    if arguments.json:
        print_json(issued.model_dump(mode="json"))
    else:
        print(f"Issued         {issued.answer}")
        print(f"               for {_who(holder.common_name, holder.organization, holder.email)}")
        print(f"               key {_grouped(issued.requested)}")
    warn("compare the key with the one that the technician's laptop shows, then send the answer")
    return 0


def _install(home: Home, settings: Settings, arguments: argparse.Namespace) -> int:
    from recorder.flows import identity

    return _made(arguments, identity.install(home, arguments.file, ask_secret()))


_ACTIONS = {
    "create": _create,
    "renew": _renew,
    "export": _export,
    "trust": _trust,
    "request": _request,
    "issue": _issue,
    "install": _install,
}


def _made(arguments: argparse.Namespace, made: Identity) -> int:
    from recorder.flows.authority import Holder
    from recorder.report.identity.certificates import Certificate

    above = (Certificate.from_der(each) for each in made.chain)
    holders = (Holder.of(made.certificate), *map(Holder.of, above))
    return _holders(arguments, "Signer", holders)


def _holders(arguments: argparse.Namespace, what: str, holders: tuple[Holder, ...]) -> int:
    for holder in holders:
        if arguments.json:
            print_json(holder.model_dump(mode="json"))
        else:
            _print("Authority" if holder.authority and what == "Signer" else what, holder)
    return 0


def _show(home: Home, settings: Settings, as_json: bool) -> int:
    from recorder.flows import authority

    state = authority.state(home, settings.identity)
    if as_json:
        print_json(state.model_dump(mode="json"))
        return 0
    if state.signer:
        _print("Signer", state.signer)
    else:
        print("Signer         none yet; the first 'seamnote report' makes a key")
    for note in _notes(state):
        print(f"               {note}")
    if state.authority:
        _print("Authority", state.authority)
        if state.issuing:
            print("               its key is in this home; keep a backup of the folder identity")
    for holder in state.known:
        _print("Known", holder)
    for holder in state.time_stamps:
        _print("Stamps times", holder)
    return 0


def _notes(state: State) -> list[str]:
    notes = [f"key: {state.key}"] if state.key else []
    if state.self_signed:
        notes.append("of an earlier version, vouches for itself: 'seamnote identity renew'")
    if state.waiting:
        notes.append("a request waits for the office: 'seamnote identity install FILE'")
    return notes


def _print(what: str, holder: Holder) -> None:
    print(f"{what:14} {_who(holder.common_name, holder.organization, holder.email)}")
    kind = "" if holder.authority or not holder.issuer else f", issued by {holder.issuer}"
    print(f"               until {holder.until:%Y-%m-%d}{kind}")
    print(f"               SHA-256 {_grouped(holder.fingerprint)}")


def _who(common_name: str, organization: str, email: str) -> str:
    return ", ".join(filter(None, (common_name, organization, email)))


def _grouped(fingerprint: str) -> str:
    """In eights, so that two people can compare it by telephone."""
    return " ".join(fingerprint[at : at + 8] for at in range(0, len(fingerprint), 8))
