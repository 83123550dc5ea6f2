"""windows: the settings that belt makers give."""

from __future__ import annotations

import argparse
from pathlib import Path

from recorder.cli.finding import unit_option, units_in
from recorder.cli.terminal import Commands, command, group, open_home, print_json, warn
from recorder.model.plural import counted

_FILE = """\
  [[window]]
  name = "TPU 2 mm"                    each once
  belt_material = "TPU"                words of the material
  belt_thickness = "1 mm..3 mm"        left out: any
  source = "Data sheet 12, 2026"       where it is written

  [window.settings]
  top_temperature = "170 degC..180 degC"
  pressure = "..2.5 bar"               from, to, or both, each with its unit

In a table (.csv) the settings are columns like the others. The file is taken as a
whole or not at all; the one before stays beside it.
"""


def add(commands: Commands, shared: argparse.ArgumentParser) -> None:
    makers = group(commands, "windows", "the settings that belt makers give")
    given = command(makers, shared, "list", "what belt makers give, as it was entered", _list)
    unit_option(given)
    entered = command(
        makers, shared, "take", "take what belt makers give, in place of the file before", _take
    )
    entered.formatter_class = argparse.RawDescriptionHelpFormatter
    entered.epilog = _FILE
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
