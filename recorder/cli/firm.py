"""inventory, conveyors, length: what the firm owns, whom it serves, how long a belt is."""

from __future__ import annotations

import argparse
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from recorder.cli import lengths
from recorder.cli.finding import unit_option, units_in
from recorder.cli.terminal import (
    Commands,
    command,
    group,
    open_home,
    plain,
    print_json,
    settings_of,
    words_of,
)

if TYPE_CHECKING:
    from recorder.knowhow.preparing.proposal import Candidate

_INVENTORY = """\
The file is TOML with [[press]] and [[template]] entries, or a table (.csv) with
the same keys in its first line and a column 'kind'. Quantities have their unit,
spans two ends: width = "60 mm..600 mm". It is taken as a whole or not at all,
and takes the place of the list before, which stays beside it.

press:     name, platen_width, platen_length, top, pressure
template:  name, splice_type, finger_length, finger_pitch, guide_profiles, width,
           thickness
both:      last_check (2026-10-01), check_days (from one check to the next), note
"""
_CONVEYORS = """\
The file is TOML with [[conveyor]] entries, or a table (.csv) with the same keys
in its first line: customer, site, name, belt_material, belt_thickness,
belt_width, guide_profile, splice_type, finger_length, finger_pitch, pulley_1,
pulley_2, centres, press, template, note. Quantities have their unit. It is taken
as a whole or not at all, and takes the place of the list before, which stays
beside it.
"""


def add(commands: Commands, shared: argparse.ArgumentParser) -> None:
    owned = group(commands, "inventory", "the firm's presses and templates, and their checks")
    listed = command(
        owned, shared, "list", "presses and templates, and what is due for a check", _list
    )
    unit_option(listed)
    take = command(owned, shared, "take", "take a list of presses and templates", _take)
    take.formatter_class = argparse.RawDescriptionHelpFormatter
    take.epilog = _INVENTORY
    take.add_argument("file", type=Path, metavar="FILE", help="TOML, or a table as CSV")
    noted = command(owned, shared, "checked", "note that something was checked", _checked)
    noted.add_argument("name", metavar="NAME", help="of the press or template")
    noted.add_argument("--on", metavar="DATE", help="e.g. 2026-10-01 (default: today)")
    noted.add_argument(
        "--kind", choices=("press", "template"), help="where both have one of that name"
    )
    noted.add_argument(
        "--withdraw", action="store_true", help="the check that was noted for that day was none"
    )
    fit = command(owned, shared, "fit", "which template fits a belt, and why", _fit)
    fit.add_argument(
        "belt", nargs="+", metavar="JOB|FIELD=VALUE",
        help="a job or job.toml, or what is known: belt_width='450 mm' guide_profile=flat",
    )  # fmt: skip
    unit_option(fit)

    served = group(commands, "conveyors", "the customers' conveyors: belts and pulleys")
    listed = command(served, shared, "list", "the conveyors of customers", _conveyors)
    listed.add_argument("--customer", metavar="NAME", help="of this customer alone")
    unit_option(listed)
    take = command(served, shared, "take", "take a list of conveyors", _take_conveyors)
    take.formatter_class = argparse.RawDescriptionHelpFormatter
    take.epilog = _CONVEYORS
    take.add_argument("file", type=Path, metavar="FILE", help="TOML, or a table as CSV")

    lengths.add(commands, shared)


def _list(arguments: argparse.Namespace) -> int:
    from recorder.cli import firm_text
    from recorder.flows.knowhow import firm
    from recorder.knowhow.preparing.checks import late

    home = open_home(arguments)
    units = units_in(arguments, home)
    owned = firm.inventory(home)
    checks = {(check.kind, check.name): check for check in firm.checks_of(home)}
    if arguments.json:
        for line in firm_text.inventory_json(owned, checks):
            print_json(line)
    elif owned.presses or owned.templates:
        print("\n".join(firm_text.inventory_lines(owned, checks, units)))
    else:
        print("The inventory is empty: take a list with 'seamnote inventory take FILE'.")
    return 4 if any(late(check) for check in checks.values()) else 0


def _take(arguments: argparse.Namespace) -> int:
    from recorder.flows.knowhow import firm

    taken = firm.take_inventory(open_home(arguments), arguments.file)
    words = {"presses": "press", "templates": "template"}
    before = {
        many: {each.name: each for each in getattr(taken.before, many)} if taken.before else {}
        for many in words
    }
    now = {many: {each.name: each for each in getattr(taken.now, many)} for many in words}
    if arguments.json:
        print_json({many: len(owned) for many, owned in now.items()})
        return 0
    for many, owned in now.items():
        told = words[many] if len(owned) == 1 else many
        print(f"{len(owned)} {told}: {_changes(before[many], owned)}")
    return 0


def _changes(before: dict[str, object], now: dict[str, object]) -> str:
    """'2 new, 1 changed, gone: T30-10'."""
    new = sum(name not in before for name in now)
    changed = sum(name in before and before[name] != each for name, each in now.items())
    gone = [plain(name) for name in before if name not in now]
    told = [f"{new} new"] if new else []
    told += [f"{changed} changed"] if changed else []
    told += [f"gone: {', '.join(gone)}"] if gone else []
    return ", ".join(told) or "as before"


def _checked(arguments: argparse.Namespace) -> int:
    from recorder.errors import BadValue
    from recorder.flows.knowhow import firm
    from recorder.knowhow.preparing.checks import said

    try:
        day = date.fromisoformat(arguments.on) if arguments.on else None
    except ValueError as error:
        hint = "write it like 2026-10-01"
        raise BadValue(value=arguments.on, field="a day", hint=hint) from error
    home = open_home(arguments)
    check = firm.checked(home, arguments.kind, arguments.name, day, arguments.withdraw)
    if arguments.json:
        print_json(check.model_dump(mode="json") if check else {})
    else:
        told = said(check) if check else "no interval for its checks is listed"
        done = "withdrawn" if arguments.withdraw else "noted"
        print(f"{plain(check.name if check else arguments.name)}: {done}; {told}")
    return 0


def _fit(arguments: argparse.Namespace) -> int:
    from recorder.cli import firm_text
    from recorder.flows.knowhow import firm
    from recorder.flows.knowhow.recipe_asked import asked

    home = open_home(arguments)
    units = units_in(arguments, home)
    with words_of(home.root, settings_of(home.root)):
        wanted = asked(home, arguments.belt)
    but = wanted.job.id if wanted.job else None
    proposal = firm.proposal_for(home, wanted.belt, but=but, unit=units.get("length", "mm"))
    if arguments.json:
        print_json(proposal.model_dump(mode="json"))
    else:
        print("\n".join(firm_text.proposal_lines(proposal, units)))
    return 0 if proposal.best and not _late(proposal.best) else 4


def _late(candidate: Candidate) -> bool:
    from recorder.knowhow.preparing.checks import late

    return late(candidate.check)


def _conveyors(arguments: argparse.Namespace) -> int:
    from recorder.cli import firm_text
    from recorder.flows.knowhow import firm
    from recorder.model.belt import folded

    home = open_home(arguments)
    units = units_in(arguments, home)
    known = firm.conveyors(home)
    listed = [
        each
        for each in known
        if not arguments.customer or folded(each.customer) == folded(arguments.customer)
    ]
    if arguments.json:
        for each in listed:
            print_json(each.model_dump(mode="json"))
    elif listed:
        print("\n".join(firm_text.conveyor_lines(listed, units)))
    elif known:
        print(f"No conveyor of {plain(arguments.customer)} is listed.")
    else:
        print("No conveyor is listed: take a list with 'seamnote conveyors take FILE'.")
    return 0


def _take_conveyors(arguments: argparse.Namespace) -> int:
    from recorder.flows.knowhow import firm
    from recorder.model.plural import counted

    taken = firm.take_conveyors(open_home(arguments), arguments.file)
    before: dict[str, object] = {each.full_name: each for each in taken.before or ()}
    now: dict[str, object] = {each.full_name: each for each in taken.now}
    if arguments.json:
        print_json({"conveyors": len(now)})
    else:
        print(f"{counted(len(now), 'conveyor')}: {_changes(before, now)}")
    return 0
