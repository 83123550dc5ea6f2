"""windows: the settings that belt makers give."""

from __future__ import annotations

import argparse
from pathlib import Path

from recorder.cli.finding import unit_option, units_in
from recorder.cli.terminal import Commands, command, group, open_home, print_json, warn
from recorder.model.plural import counted


def add(commands: Commands, shared: argparse.ArgumentParser) -> None:
    makers = group(commands, "windows", "the settings that belt makers give")
    given = command(makers, shared, "list", "what the firm entered", _list)
    unit_option(given)
    entered = command(makers, shared, "take", "take a file in place of the one before", _take)
    entered.add_argument("file", type=Path, metavar="FILE", help="TOML with [[window]], or CSV")


def _list(arguments: argparse.Namespace) -> int:
    from recorder.cli import recipes_text
    from recorder.flows.knowhow.recipes import windows

    home = open_home(arguments)
    units, found = units_in(arguments, home), windows(home)
    if arguments.json:
        for window in found:
            print_json(recipes_text.whole_json(window, units))
    elif found:
        print("\n\n".join("\n".join(recipes_text.window_lines(w, units)) for w in found))
    else:
        warn("no window is entered yet: 'seamnote windows take FILE' does it")
    return 0


def _take(arguments: argparse.Namespace) -> int:
    from recorder.flows.knowhow.recipes import take_windows

    taken = take_windows(open_home(arguments), arguments.file)
    if arguments.json:
        print_json([window.model_dump(mode="json") for window in taken])
    else:
        print(f"{counted(len(taken), 'window')} taken, in place of what was there")
    return 0
