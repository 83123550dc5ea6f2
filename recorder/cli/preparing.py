"""prepare: a job card from what is known, asking for the rest."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from recorder.cli import lengths
from recorder.cli.terminal import (
    Commands,
    StageLines,
    command,
    in_language,
    open_home,
    plain,
    print_json,
    settings_of,
    spoken_language,
    words_of,
)

if TYPE_CHECKING:
    from recorder.archive.disk.home import Home
    from recorder.flows.knowhow.drafting import Draft, Source
    from recorder.settings import Settings

_HOW = """\
Sources combine: what is typed as FIELD=VALUE counts before all else; of the others
the first that says something, and later ones fill what is missing. Settings come
from accepted splices, kept recipes and what you say: nothing else proposes any.

examples:
  seamnote prepare --from 4817 job_number=4920
  seamnote prepare --conveyor 'Oven outfeed 3' --recipe 'Oven 70' --trim 20mm
  seamnote prepare --said 'Material white polyurethane, 600 mm wide, press P2.'
  seamnote prepare --from last --pulley 250mm --pulley 200mm --centres 4.2m \\
      --take-up 30mm --elongation 0.8% --out tomorrow

The folder then holds job.toml for 'seamnote process', and job_card.pdf to print.
"""
# What the card itself tells of the belt.
_ON_CARD = ("thickness", "finger-length")
_SOUND = (".wav", ".flac", ".mp3", ".m4a", ".ogg", ".opus", ".txt", ".md")


class _InOrder(argparse.Action):
    """All sources on one list, in the order in which they were named."""

    def __call__(
        self, parser: object, namespace: argparse.Namespace, values: Any, option: str | None = None
    ) -> None:
        # argparse has no other way to keep the order between two options.
        named = [*(getattr(namespace, "sources", None) or ()), (str(option), values)]
        namespace.sources = named


def add(commands: Commands, shared: argparse.ArgumentParser) -> None:
    prepare = command(
        commands, shared, "prepare", "a job card for the next job, from what is known", _prepare
    )
    prepare.formatter_class = argparse.RawDescriptionHelpFormatter
    prepare.epilog = _HOW
    prepare.add_argument(
        "values", nargs="*", metavar="FIELD=VALUE",
        help="with its unit, e.g. belt_width='450 mm'; settings are those asked for",
    )  # fmt: skip
    sources = {
        "--from": ("JOB", "a past job: id, start of an id, job number, or 'last'"),
        "--recipe": ("NAME", "a recipe that is kept"),
        "--conveyor": ("NAME", "a conveyor of the firm's list"),
        "--said": ("TEXT|FILE", "a description: words, a recording, a .txt, or - to read them"),
    }
    for option, (metavar, about) in sources.items():
        prepare.add_argument(
            option, action=_InOrder, dest="sources", metavar=metavar, help=about, default=[]
        )
    lengths.add_amounts(prepare, known=_ON_CARD)
    prepare.add_argument(
        "--out", type=Path, metavar="FOLDER", help="for the card (default: job_NUMBER here)"
    )
    prepare.add_argument("--replace", action="store_true", help="a card that is there already")
    prepare.add_argument(
        "--keep", action="store_true",
        help="let it wait in the home, for the page of 'seamnote serve'; no folder unless --out",
    )  # fmt: skip
    prepare.add_argument("--waiting", action="store_true", help="list the cards that wait")
    prepare.add_argument("--discard", metavar="NAME", help="take a card off that list")
    prepare.add_argument(
        "--yes", action="store_true",
        help="ask nothing: take the template that fits, mean every setting, leave the rest open",
    )  # fmt: skip
    spoken_language(prepare)


def _prepare(arguments: argparse.Namespace) -> int:
    from recorder.cli import draft_text
    from recorder.flows.knowhow import preparing

    values, length = _typed(arguments), lengths.told(arguments, "prepare")
    home = open_home(arguments)
    if arguments.waiting or arguments.discard:
        return _waiting(arguments, home)
    settings = in_language(settings_of(home.root), arguments.language)
    with words_of(home.root, settings):
        sources = [_source(option, text, settings) for option, text in arguments.sources]
        draft = preparing.begin(home, settings, sources, values, length)
        if arguments.yes:
            draft = _all_taken(home, draft)
        elif sys.stdin.isatty() and not arguments.json and "-" not in _texts(arguments):
            print("\n".join(draft_text.lines(draft)))
            draft = _ask(home, draft)
        made = _kept(arguments, home, settings, draft)
    if arguments.json:
        print_json({**draft_text.as_json(draft), **made})
    else:
        print("\n".join(draft_text.lines(draft)))
        print()
        for what, where in made.items():
            print(f"{what.capitalize():15}{plain(where)}")
    return 4 if draft.needs_person else 0


def _waiting(arguments: argparse.Namespace, home: Home) -> int:
    from recorder.flows.knowhow import prepared

    if arguments.discard:
        prepared.path_of(home, arguments.discard)
        prepared.discard(home, arguments.discard)
        if not arguments.json:
            print(f"{arguments.discard}: waits no more")
    for each in prepared.prepared(home) if arguments.waiting else ():
        if arguments.json:
            print_json(each.model_dump(mode="json"))
        else:
            print(f"{each.name}  {plain(each.title)}  {plain(each.belt)}".rstrip())
    return 0


def _kept(
    arguments: argparse.Namespace, home: Home, settings: Settings, draft: Draft
) -> dict[str, str]:
    """Write what was asked for; what was written, by its name."""
    from recorder.flows.knowhow import prepared, preparing

    made: dict[str, str] = {}
    if arguments.out or not arguments.keep:
        folder = arguments.out or _folder(draft)
        written = preparing.write(home, settings, draft, folder, arguments.replace)
        made |= {"card": str(written.card), "page": str(written.page)}
    if arguments.keep:
        made["waiting"] = prepared.keep(home, draft).name
    return made


def _folder(draft: Draft) -> Path:
    """'job_4920', or by the conveyor or customer where there is no number."""
    names = (draft.text(field) for field in ("job_number", "conveyor", "customer"))
    stem = next(filter(None, names), "card")
    letters = "".join(c if c.isalnum() else "-" for c in stem)[:40].strip("-")
    return Path(f"job_{letters or 'card'}")


def _typed(arguments: argparse.Namespace) -> dict[str, str]:
    from recorder.errors import WrongUse

    found: dict[str, str] = {}
    for pair in arguments.values:
        field, equals, text = pair.partition("=")
        if not equals:
            raise WrongUse(detail=f"{pair!r} is not FIELD=VALUE", command="prepare")
        if field.strip() in found:
            raise WrongUse(detail=f"{field.strip()} is told twice", command="prepare")
        found[field.strip()] = text.strip()
    return found


def _texts(arguments: argparse.Namespace) -> list[str]:
    return [text for _, text in arguments.sources]


def _source(option: str, text: str, settings: Settings) -> Source:
    from recorder.flows.knowhow import sources
    from recorder.flows.knowhow.drafting import Origin, Source

    if option == "--said":
        if text == "-":
            return sources.said(sys.stdin.read(), settings)
        if text.lower().endswith(_SOUND):
            progress = StageLines()
            found = sources.said_in_file(Path(text), settings, progress)
            progress.close()
            return found
        return sources.said(text, settings)
    kinds = {"--from": Origin.JOB, "--recipe": Origin.RECIPE, "--conveyor": Origin.CONVEYOR}
    return Source(kind=kinds[option], name=text)


def _all_taken(home: Home, draft: Draft) -> Draft:
    """Yes to what fits and to what was asked for, to nothing that was only half heard."""
    from recorder.flows.knowhow import preparing

    for question in draft.questions:
        if question.why in ("template", "deviation"):
            draft = preparing.answered(home, draft, question.field, "yes")
    return draft


def _ask(home: Home, draft: Draft) -> Draft:
    """One question after another until none is left. An answer may raise new ones."""
    from recorder.errors import WrongUse
    from recorder.flows.knowhow import preparing

    if draft.questions:
        print("\nAnswer with a value, y for what is proposed, Enter to leave it open.\n")
    asked: set[tuple[str, str]] = set()
    while True:
        waiting = (each for each in draft.questions if (each.field, each.why) not in asked)
        question = next(waiting, None)
        if question is None:
            return draft
        print(f"{question.text}\n     > ", end="", flush=True)
        line = sys.stdin.readline()
        if not line:
            return draft
        try:
            draft = preparing.answered(home, draft, question.field, line.strip())
        except WrongUse as error:
            print(f"     {error}")
            continue
        asked.add((question.field, question.why))
