"""search: past jobs by words and ranges."""

from __future__ import annotations

import argparse

from recorder.cli.terminal import (
    Commands,
    at_least_one,
    command,
    open_home,
    print_json,
    settings_of,
    warn,
    words_of,
)


def add(commands: Commands, shared: argparse.ArgumentParser) -> None:
    search = command(commands, shared, "search", "past jobs by words and ranges", _search)
    search.add_argument("words", nargs="*", metavar="WORD", help="every word must occur")
    search.add_argument(
        "--where", action="append", default=[], metavar="CONDITION",
        help="e.g. 'top_temperature>=350degF' or 'belt_width=60mm..80mm'; may be repeated",
    )  # fmt: skip
    search.add_argument("--outcome", metavar="WORD", help="accepted, rework or rejected")
    search.add_argument("--since", metavar="DATE", help="e.g. 2026, 2026-03 or 2026-03-09")
    search.add_argument("--until", metavar="DATE", help="up to the end of that day, month or year")
    search.add_argument(
        "--limit", type=at_least_one, default=50, help="at most so many (default: 50)"
    )


def _search(arguments: argparse.Namespace) -> int:
    from recorder.flows.find import find

    home = open_home(arguments)
    with words_of(home.root, settings_of(home.root)):
        hits = find(
            home, " ".join(arguments.words), arguments.where, arguments.outcome,
            arguments.since, arguments.until, arguments.limit,
        )  # fmt: skip
    for hit in hits:
        if arguments.json:
            print_json(hit.model_dump(mode="json"))
        else:
            note = "" if hit.complete else "   (interrupted)"
            outcome = hit.outcome or "-"
            print(f"{hit.created_at:%Y-%m-%d}  {outcome:9} {hit.title}   [{hit.id}]{note}")
            if hit.sound_s is not None:
                print(f"            heard at {hit.sound_s:.0f} s of {hit.sound_file}")
            if hit.snippet:
                print(f"            {hit.snippet}")
    if not hits and not arguments.json:
        warn("no job matches")
    return 0
