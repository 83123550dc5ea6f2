"""search: past jobs by words and ranges; searches that have a name."""

from __future__ import annotations

import argparse
import os
import shlex
import shutil
import sys
import textwrap
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from recorder.cli.terminal import (
    Commands,
    StageLines,
    as_written,
    at_least_one,
    command,
    open_home,
    plain,
    print_json,
    settings_of,
    warn,
    words_of,
)
from recorder.model.plural import counted

if TYPE_CHECKING:
    from recorder.archive.disk.home import Home
    from recorder.archive.finding.saved import Asked
    from recorder.flows.find import Found

_MORE = """\
Every word must occur, also as the beginning of a longer one; trade synonyms
are looked for too, and near words where no job holds one. "In quotation marks"
it is looked for as it stands. Of a field of words a condition takes the whole
text: --where 'customer=Larkfield Bakery'.

fields:
{fields}

examples:
  seamnote search forklift larkfield
  seamnote search '"left hose"' --since 2026-03
  seamnote search --where 'belt_width=60mm..80mm' --where 'top_temperature>180'
  seamnote search --where bubbles=yes --where 'finger_gap>0.5' --sort finger_gap
  seamnote search --outcome rejected --sort -finger_gap --csv > rejected.csv
  seamnote search --save hot --where 'top_temperature>=350degF' --unit degF
  seamnote search --saved hot larkfield
"""


def add(commands: Commands, shared: argparse.ArgumentParser) -> None:
    search = command(commands, shared, "search", "past jobs by words and ranges", _search)
    search.formatter_class = argparse.RawDescriptionHelpFormatter
    search.ending = _more
    search.add_argument("words", nargs="*", metavar="WORD", help="every word must occur")
    selection(search)
    search.add_argument(
        "--sort", metavar="ORDER",
        help="newest (default), oldest, relevance, a field, or -FIELD for its highest first",
    )  # fmt: skip
    search.dashed = frozenset({"--sort"})
    search.add_argument(
        "--limit", type=at_least_one, metavar="N",
        help="at most so many (default: 50, with --csv all)",
    )  # fmt: skip
    unit_option(search)
    search.add_argument(
        "--csv",
        action="store_true",
        help="print a table for other programs, one row a job",
    )
    named = search.add_mutually_exclusive_group()
    named.add_argument("--save", metavar="NAME", help="keep this search under a name")
    named.add_argument("--list-saved", action="store_true", help="the searches that have a name")
    named.add_argument("--forget", metavar="NAME", help="forget the search of that name")


def _more() -> str:
    from recorder.model.fields import FIELDS

    fields = textwrap.fill(", ".join(FIELDS), 78, initial_indent="  ", subsequent_indent="  ")
    return _MORE.format(fields=fields)


def selection(parser: argparse.ArgumentParser) -> None:
    """Add the options that say which jobs are meant; ``asked_of`` reads them."""
    parser.add_argument(
        "--where", action="append", default=[], metavar="CONDITION",
        help="FIELD, one of = >= <= > <, and a value or LOW..HIGH, in any unit; may be repeated",
    )  # fmt: skip
    parser.add_argument("--outcome", metavar="WORD", help="accepted, rework or rejected")
    parser.add_argument("--since", metavar="DATE", help="e.g. 2026, 2026-03 or 2026-03-09")
    parser.add_argument("--until", metavar="DATE", help="up to the end of that day, month or year")
    parser.add_argument(
        "--saved",
        metavar="NAME",
        help="begin with the search of that name; the rest narrows it",
    )


def unit_option(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--unit", action="append", default=[], metavar="UNIT",
        help="show what can be in this unit in it, e.g. psi, degF, inch; may be repeated",
    )  # fmt: skip


def units_in(arguments: argparse.Namespace, home: Home) -> dict[str, str]:
    """What ``unit_option`` asks for: units by dimension. Raises UnknownUnit."""
    from recorder.flows.wanted_units import wanted_units

    with words_of(home.root, settings_of(home.root)):
        return wanted_units(arguments.unit)


def asked_of(arguments: argparse.Namespace, home: Home, words: str) -> Asked:
    """What the options of ``selection`` ask for, on top of the saved search that they name."""
    from recorder.flows.find import with_saved

    return with_saved(home, arguments.saved, _typed_here(arguments, words))


def _typed_here(arguments: argparse.Namespace, words: str) -> Asked:
    from recorder.archive.finding.saved import Asked

    return Asked(
        words=words,
        where=tuple(arguments.where),
        outcome=arguments.outcome,
        since=arguments.since,
        until=arguments.until,
        sort=getattr(arguments, "sort", None),
        units=tuple(arguments.unit),
        limit=getattr(arguments, "limit", None),
    )


def _search(arguments: argparse.Namespace) -> int:
    from recorder.archive.finding.saved import save_search
    from recorder.errors import WrongUse
    from recorder.flows.find import find

    if arguments.csv and arguments.json:
        raise WrongUse(detail="--csv and --json are two forms of one answer", command="search")
    words = " ".join(arguments.words)
    if arguments.list_saved or arguments.forget is not None:
        return _look_after_saved(arguments, words)
    home = open_home(arguments)
    with words_of(home.root, settings_of(home.root)):
        asked = asked_of(arguments, home, words)
        progress = StageLines()
        found = find(home, asked, everything=arguments.csv, progress=progress)
        progress.close()
    if arguments.save is not None:
        instead = " in place of an earlier one" if save_search(home, arguments.save, asked) else ""
        name = shlex.quote(arguments.save)
        warn(f"saved{instead}; ask again with: seamnote search --saved {name}")
    if not found.hits and not any(home.jobs.iterdir()):
        warn(f"there are no jobs in {home.root}")
    else:
        _print(found, arguments)
    return 0


def _print(found: Found, arguments: argparse.Namespace) -> None:
    from recorder.cli import hits_text

    if arguments.csv:
        from recorder.archive.sharing.hit_table import write_hits

        as_written(sys.stdout)
        write_hits(sys.stdout, found.hits, found.fields, found.units)
    elif arguments.json:
        for hit in found.hits:
            print_json(hits_text.as_json(hit, found))
    elif found.hits:
        screen = sys.stdout.isatty()
        width = shutil.get_terminal_size().columns if screen else None
        bold = screen and os.environ.get("TERM") != "dumb"
        print("\n".join(hits_text.table(found, width, bold)))
    _remark(found, quiet=arguments.json or arguments.csv)


def _remark(found: Found, quiet: bool) -> None:
    remark_searched(found.instead, found.unread)
    if found.more:
        warn(f"more jobs match; --limit shows more than {len(found.hits)}")
    if quiet:
        return
    if not found.hits:
        warn("no job matches")
        for condition, number in found.without.items():
            warn(f"without {condition!r} {number} {'does' if number == 1 else 'do'}")
    for said, others in found.also.items():
        warn(f"for {said!r} also found {', '.join(others)}")


def remark_searched(instead: Mapping[str, Sequence[str]], unread: int) -> None:
    """Say which other words were looked for, and which jobs could not be looked at."""
    for word, near in instead.items():
        warn(f"no job holds {word!r}: searched {' and '.join(near)}")
    if unread:
        folders = counted(unread, "job folder")
        warn(f"{folders} cannot be read: 'seamnote archive check' tells more")


def _look_after_saved(arguments: argparse.Namespace, words: str) -> int:
    from recorder.archive.finding.saved import Asked, forget_search, saved_searches
    from recorder.errors import WrongUse

    asks = _typed_here(arguments, words) != Asked() or arguments.saved is not None
    if asks or arguments.csv:
        alone = "--list-saved" if arguments.list_saved else "--forget NAME"
        raise WrongUse(detail=f"{alone} stands by itself", command="search")
    home = open_home(arguments)
    if arguments.forget is not None:
        forget_search(home, arguments.forget)
        warn(f"the search {arguments.forget!r} is forgotten")
        return 0
    for name, asked in saved_searches(home).items():
        if arguments.json:
            print_json({"name": name, **asked.model_dump(mode="json")})
        else:
            print(f"{plain(name)}: seamnote search {plain(shlex.join(_options(asked)))}")
    return 0


def _options(asked: Asked) -> list[str]:
    """The words and options that ask the same."""
    single = {
        "--outcome": asked.outcome, "--since": asked.since, "--until": asked.until,
        "--sort": asked.sort, "--limit": asked.limit,
    }  # fmt: skip
    return [
        *([asked.words] if asked.words else []),
        *(part for text in asked.where for part in ("--where", text)),
        *(part for unit in asked.units for part in ("--unit", unit)),
        *(part for name, said in single.items() if said is not None for part in (name, str(said))),
    ]
