"""What the commands share: the home and settings, JSON lines, progress lines and questions."""

from __future__ import annotations

import argparse
import getpass
import io
import json
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from contextlib import AbstractContextManager
from typing import TYPE_CHECKING, Any, NoReturn, TextIO

if TYPE_CHECKING:
    from pathlib import Path

    from recorder.archive.disk.home import Home
    from recorder.settings import Settings

MOST = 1_000_000_000
Commands = Any  # argparse's own type for sub-commands is private


class Parser(argparse.ArgumentParser):
    """Complains in one line, like everything else; takes options also between two files."""

    dashed: frozenset[str] = frozenset()  # options whose value may begin with a dash
    ending: Callable[[], str] | None = None  # of the help, where it is dear to make
    _second = False

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        if self.dashed and args is not None:
            args = _with_values(args, self.dashed)
        if self._subparsers or self._second:
            return super().parse_known_args(args, namespace)
        # argparse alone gives up files that follow an option: 'archive import --home DIR PDF'.
        self._second = True
        try:
            return self.parse_known_intermixed_args(args, namespace)
        finally:
            self._second = False

    def format_help(self) -> str:
        if self.ending:
            self.epilog = self.ending()
        return super().format_help()

    def error(self, message: str) -> NoReturn:
        from recorder.errors import WrongUse

        raise WrongUse(detail=message, command=self.prog.partition(" ")[2] or "COMMAND")


def _with_values(words: Sequence[str], options: frozenset[str]) -> list[str]:
    """Each of these options joined with what follows it, which argparse would take for another."""
    joined: list[str] = []
    for word in words:
        if joined and joined[-1] in options and "--" not in joined:
            joined[-1] += f"={word}"
        else:
            joined.append(word)
    return joined


def command(
    commands: Commands, shared: argparse.ArgumentParser, name: str, summary: str,
    run: Callable[[argparse.Namespace], int],
) -> Parser:  # fmt: skip
    about = summary[0].upper() + summary[1:] + "."
    parser: Parser = commands.add_parser(
        name, parents=[shared], help=summary.replace("%", "%%"), description=about
    )
    parser.set_defaults(run=run)
    return parser


def group(commands: Commands, name: str, summary: str) -> Commands:
    """A command that has commands of its own, to be added to what this returns."""
    about = summary[0].upper() + summary[1:] + "."
    parser = commands.add_parser(name, help=summary, description=about)
    return parser.add_subparsers(title="commands", metavar="COMMAND", required=True)


def home_path(arguments: argparse.Namespace) -> Path:
    from recorder.archive.disk.home import default_home

    path: Path = arguments.home or default_home()
    try:
        return path.expanduser()
    except RuntimeError:  # nobody's ~name; opening it will say so
        return path


def as_written(stream: TextIO) -> None:
    """For a table that another program reads: UTF-8, and line ends as they are written."""
    if isinstance(stream, io.TextIOWrapper):
        stream.reconfigure(encoding="utf-8", newline="")


def open_home(arguments: argparse.Namespace) -> Home:
    from recorder.archive.disk.home import Home

    return Home.open(home_path(arguments))


def settings_of(home: Path) -> Settings:
    from recorder.archive.disk.home import Home
    from recorder.settings import load

    return load(Home(home).settings)


def spoken_language(parser: argparse.ArgumentParser) -> None:
    """Add the option to speak another language than the settings say."""
    parser.add_argument(
        "--language", metavar="CODE",
        help="the language that is spoken: en or de (default: speech.language of the settings)",
    )  # fmt: skip


def in_language(settings: Settings, language: str | None) -> Settings:
    """The settings with the language of the command line where it names one."""
    if language is None:
        return settings
    speech = settings.speech.model_copy(update={"language": language})
    return settings.model_copy(update={"speech": speech})


def words_of(home: Path, settings: Settings) -> AbstractContextManager[None]:
    """Inside, the words of the settings' language and of the firm are in force."""
    from recorder.archive.disk.home import Home
    from recorder.notes.languages import vocabulary_of
    from recorder.notes.words.speaking import speaking

    return speaking(vocabulary_of(settings.speech.language, Home(home).vocabulary))


def at_least_one(text: str) -> int:
    """A type for argparse: a whole number from 1 up to what any list can hold."""
    if not (text.isdecimal() and 1 <= int(text[:11]) <= MOST):
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number from 1 to {MOST:,}")
    return int(text)


def each(paths: Iterable[Path], take: Callable[[Path], int]) -> int:
    """Take one file after another; a refused one is told and does not stop the rest.

    Returns the exit code that matters most: 3 before 4 before 0.
    """
    from recorder.errors import InputRefused

    codes = {0}
    for path in paths:
        try:
            codes.add(take(path))
        except InputRefused as error:
            warn(str(error))
            codes.add(error.exit_code)
    return next(code for code in (3, 4, 0) if code in codes)


def print_json(value: dict[str, Any] | list[Any]) -> None:
    print(json.dumps(value, ensure_ascii=False), flush=True)


def warn(text: str) -> None:
    print(f"seamnote: {plain(text)}", file=sys.stderr)


def plain(text: str) -> str:
    """In one line, and without what could steer a terminal: the text may be a stranger's."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def ask_secret() -> Callable[[str], str] | None:
    """A prompt that does not echo, or None where nobody can be asked."""
    return getpass.getpass if sys.stdin.isatty() else None


class StageLines:
    """Progress on standard error: a line a stage with its seconds, a running share on a screen.

    Where nobody watches, stages of less than a second are not worth a line, unless ``every``.
    """

    def __init__(self, every: bool = False) -> None:
        self._screen = sys.stderr.isatty()
        self._every = every or self._screen
        self._text = ""
        self._began = 0.0

    def stage(self, text: str) -> None:
        self.close()
        text = " ".join(text.split())  # a file name may hold a line break
        self._text, self._began = text, time.monotonic()
        if self._screen:
            print(f"\r  … {text}", end="", file=sys.stderr, flush=True)

    def share(self, done: float) -> None:
        if self._screen:
            print(f"\r  … {self._text} {done:4.0%}", end="", file=sys.stderr, flush=True)

    def clear(self) -> None:
        """Take the running line off the screen, so that a line of results stands by itself."""
        if self._screen:
            print("\r\x1b[K", end="", file=sys.stderr, flush=True)

    def close(self) -> None:
        took_s = time.monotonic() - self._began
        if self._text and (self._every or took_s >= 1.0):
            line = f"  ✓ {self._text} ({took_s:.1f} s)"
            start, rest = ("\r", " " * 8) if self._screen else ("", "")
            print(f"{start}{line}{rest}", file=sys.stderr, flush=True)
        self._text = ""
