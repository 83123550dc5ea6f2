"""recipe: what gave good splices on such a belt, and what the firm keeps of it."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from recorder.cli import windows
from recorder.cli.finding import unit_option, units_in
from recorder.cli.terminal import (
    Commands,
    at_least_one,
    command,
    group,
    open_home,
    plain,
    print_json,
    settings_of,
    warn,
    words_of,
)

if TYPE_CHECKING:
    from recorder.archive.disk.home import Home
    from recorder.archive.sharing.table import Units
    from recorder.errors import SeamnoteError
    from recorder.flows.knowhow.recipe_asked import Asked
    from recorder.model.base import Value

_BELT = "a job (id, start of an id, job number, or 'last'), a job.toml, or FIELD=VALUE of the belt"
_EXAMPLES = """\
A belt is told by belt_material, belt_thickness, belt_width, guide_profile,
splice_type, finger_length and finger_pitch; what is left out may be anything,
but the material must be told.

examples:
  seamnote recipe find last
  seamnote recipe find 'belt_material=TPU CV-120A' 'belt_thickness=2 mm'
  seamnote recipe find 4817 'belt_width=24 inch' --unit degF --unit psi
"""

_FILE = """\
  [[recipe]]
  name = "Slicer 120"                  one that is kept: its next version
  belt_material = "TPU CV-120A"        belt_width and so on as for 'recipe find'
  belt_thickness = "2 mm"
  press = "P2"                         left out: any

  [recipe.settings]
  pressure = "2.2 bar"
  top_temperature = { use = "172 degC", range = "170 degC..175 degC" }

In a table (.csv) the settings are columns like the others. The file is taken as a
whole or not at all.
"""


def add(commands: Commands, shared: argparse.ArgumentParser) -> None:
    actions = group(commands, "recipe", "settings that gave good splices, and those that are kept")
    find = command(actions, shared, "find", "what was used on such a belt", _find)
    find.formatter_class = argparse.RawDescriptionHelpFormatter
    find.epilog = _EXAMPLES
    _belt(find)
    check = command(
        actions, shared, "check", "hold the settings of a job against what is kept and known",
        _check,
    )  # fmt: skip
    check.epilog = "Exit code 4: something differs that nobody confirmed on the job card."
    check.add_argument("job", metavar="JOB", help="a job, or the path of a job.toml")
    check.add_argument("--splice", type=at_least_one, help="of which splice (default: the last)")
    unit_option(check)
    keep = command(actions, shared, "keep", "keep the settings of a good splice", _keep)
    keep.add_argument("job", metavar="JOB", help="id, start of an id, job number, or 'last'")
    keep.add_argument("name", metavar="NAME", help="of the recipe; again: its next version")
    keep.add_argument("--splice", type=at_least_one, help="of which splice (default: the last)")
    keep.add_argument("--reason", default="", metavar="TEXT", help="why it is kept or changed")
    unit_option(keep)
    take = command(actions, shared, "take", "take recipes that the firm wrote into a file", _take)
    take.formatter_class = argparse.RawDescriptionHelpFormatter
    take.epilog = _FILE
    take.add_argument("file", type=Path, metavar="FILE", help="TOML with [[recipe]], or CSV")
    listing = command(actions, shared, "list", "the recipes that are kept", _list)
    listing.add_argument("--all", action="store_true", help="those that are retired, too")
    unit_option(listing)
    show = command(actions, shared, "show", "one recipe with all of its versions", _show)
    show.add_argument("name", metavar="NAME", help="of the recipe")
    unit_option(show)
    compare = command(
        actions, shared, "compare", "two recipes, versions or jobs side by side", _compare
    )
    compare.add_argument("one", metavar="ONE", help="NAME, NAME:VERSION, or a job")
    compare.add_argument(
        "other", metavar="OTHER", help="the same; shown is how it differs from ONE"
    )
    unit_option(compare)
    retire = command(actions, shared, "retire", "take a recipe out of use; it stays readable",
                     _retire)  # fmt: skip
    retire.add_argument("name", metavar="NAME", help="of the recipe")
    retire.add_argument("--reason", required=True, metavar="TEXT", help="why")

    windows.add(commands, shared)


def _belt(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("belt", nargs="+", metavar="BELT", help=_BELT)
    parser.add_argument("--splice", type=at_least_one, help="of which splice of the job")
    unit_option(parser)


def _find(arguments: argparse.Namespace) -> int:
    from recorder.cli import recipes_text
    from recorder.errors import BadValue
    from recorder.flows.knowhow.recipes import look_up

    home = open_home(arguments)
    asked, units = _asked(arguments, home, arguments.belt)
    if asked.belt.belt_material is None:
        hint = "tell its material too, for example 'belt_material=TPU CV-120A'"
        raise BadValue(value=recipes_text.belt(asked.belt, units), field="asked for", hint=hint)
    found = look_up(home, asked.belt, asked.open_job, scanned=True)
    if arguments.json:
        _print_json(found, units)
    else:
        print("\n".join(recipes_text.answer_lines(found, units)))
    for line in found.unread:
        warn(line)
    return 3 if found.unread else 0


def _check(arguments: argparse.Namespace) -> int:
    from recorder.cli import recipes_text
    from recorder.errors import BadValue
    from recorder.flows.knowhow.recipes import check, settings_of

    home = open_home(arguments)
    asked, units = _asked(arguments, home, [arguments.job])
    if asked.job is None:
        hint = "name a job or the path of a job.toml"
        raise BadValue(value=arguments.job, field="checked", hint=hint)
    checked = check(home, asked.job, asked.splice, asked.run)
    found = checked.deviations
    if arguments.json:
        deviations = [
            {**recipes_text.as_json(each.model_dump(mode="json"), units), "meant": meant}
            for meant, those in ((False, found), (True, checked.meant))
            for each in those
        ]
        print_json({"deviations": deviations, "against": list(checked.against)})
        return 4 if found else 0
    for each in checked.meant:
        print(f"{recipes_text.deviation_line(each, units)} (confirmed on the job card)")
    if found:
        for each in found:
            print(recipes_text.deviation_line(each, units))
        print("Nothing is forbidden: ask whether it is meant, and go by the belt maker's data.")
    elif asked.belt.belt_material is None:
        print("The material of the belt is not told, so that nothing can be held against it.")
    elif not settings_of(asked.job, asked.splice, asked.run):
        print("No setting is asked for or told.")
    elif checked.against:
        what = "Nothing else differs" if checked.meant else "Nothing differs"
        print(f"{what}. Held against: {'; '.join(map(plain, checked.against))}.")
    else:
        print(
            "There is nothing to hold it against: no recipe, no window of a belt maker, and too "
            "few accepted runs on such a belt."
        )
    return 4 if found else 0


def _keep(arguments: argparse.Namespace) -> int:
    from recorder.archive.finding.lookup import find_job
    from recorder.errors import JobUnfinished
    from recorder.flows.knowhow.recipes import keep
    from recorder.model.job import last_splice

    home = open_home(arguments)
    job = find_job(home, arguments.job).load()
    if not job.complete:
        raise JobUnfinished(job=job.id)
    splice = arguments.splice or last_splice(job.readings)
    began = datetime.now(UTC)
    kept = keep(home, job, splice, arguments.name, reason=arguments.reason)
    if kept.kept_at < began:
        warn(f"{kept.name} is kept so already; no new version was made")
    return _tell(kept, units_in(arguments, home), arguments)


def _take(arguments: argparse.Namespace) -> int:
    from recorder.flows.knowhow.recipes import take

    home = open_home(arguments)
    with words_of(home.root, settings_of(home.root)):
        taken = take(home, arguments.file)
    if arguments.json:
        print_json([{**recipe.model_dump(mode="json"), "new": new} for recipe, new in taken])
        return 0
    for recipe, new in taken:
        state = "taken" if new else "is kept so already"
        print(f"{recipe.name}: version {recipe.version} {state}")
    return 0


def _list(arguments: argparse.Namespace) -> int:
    from recorder.archive.firm.recipes import all_kept
    from recorder.cli import recipes_text

    home = open_home(arguments)
    units = units_in(arguments, home)
    every, faults = all_kept(home)
    shown = [each[-1] for each in every if arguments.all or not each[-1].retired]
    if arguments.json:
        for recipe in shown:
            _print_json(recipe, units)
    elif shown:
        print("\n".join(recipes_text.listed(shown, units)))
    elif every:
        warn("every recipe is retired; --all shows them")
    elif not faults:
        warn("no recipe is kept yet: 'seamnote recipe keep JOB NAME' does it")
    return _tell_faults(faults)


def _tell_faults(faults: Sequence[SeamnoteError]) -> int:
    for fault in faults:
        warn(str(fault))
    return 3 if faults else 0


def _show(arguments: argparse.Namespace) -> int:
    from recorder.cli import recipes_text
    from recorder.flows.knowhow.recipes import versions

    home = open_home(arguments)
    units = units_in(arguments, home)
    every = versions(home, arguments.name)[::-1]
    if arguments.json:
        for recipe in every:
            _print_json(recipe, units)
        return 0
    print("\n\n".join("\n".join(recipes_text.recipe_lines(r, units)) for r in every))
    return 0


def _compare(arguments: argparse.Namespace) -> int:
    from recorder.cli import recipes_text
    from recorder.flows.knowhow.recipe_asked import side
    from recorder.knowhow.recipes.keeping import compare

    home = open_home(arguments)
    units = units_in(arguments, home)
    found = compare(side(home, arguments.one), side(home, arguments.other))
    if arguments.json:
        _print_json(found, units)
    else:
        print("\n".join(recipes_text.comparison_lines(found, units)))
    return 0


def _retire(arguments: argparse.Namespace) -> int:
    from recorder.flows.knowhow.recipes import retire

    home = open_home(arguments)
    retired = retire(home, arguments.name, reason=arguments.reason)
    if arguments.json:
        print_json(retired.model_dump(mode="json"))
    else:
        print(f"{retired.name} is retired since version {retired.version}: {retired.reason}")
    return 0


def _tell(recipe: Any, units: Units, arguments: argparse.Namespace) -> int:
    from recorder.cli import recipes_text

    if arguments.json:
        _print_json(recipe, units)
    else:
        print("\n".join(recipes_text.recipe_lines(recipe, units)))
    return 0


def _asked(arguments: argparse.Namespace, home: Home, words: Sequence[str]) -> tuple[Asked, Units]:
    from recorder.flows.knowhow.recipe_asked import asked

    with words_of(home.root, settings_of(home.root)):
        found = asked(home, words, arguments.splice)
    return found, units_in(arguments, home)


def _print_json(value: Value, units: Units) -> None:
    from recorder.cli import recipes_text

    print_json(recipes_text.whole_json(value, units))
