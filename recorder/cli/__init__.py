"""The command line: arguments in, one flow, text or JSON out, an exit code.

Exit codes: 0 done; 2 wrong use; 3 input refused; 4 done, but something needs a person;
5 verification failed; 1 anything unforeseen, which is a bug.
"""

from __future__ import annotations

import argparse
import io
import os
import sys
import traceback
from collections.abc import Sequence

from recorder.cli.parser import build
from recorder.cli.terminal import home_path, settings_of
from recorder.errors import SeamnoteError

DONE, UNFORESEEN, NOT_USABLE, INTERRUPTED = 0, 1, 3, 130


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code; never lets an exception out."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")  # a narrow terminal stops no command
    try:
        arguments = build().parse_args(argv)
        code = _run(arguments)
        sys.stdout.flush()
    except SeamnoteError as error:
        print(f"seamnote: {error}", file=sys.stderr)
        return error.exit_code
    except KeyboardInterrupt:
        print("seamnote: interrupted; what was saved stays saved", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        # The reader of our output has gone, as in 'seamnote search | head'.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except OSError as error:
        place = f"{error.filename}: " if error.filename else ""
        print(f"seamnote: {place}{error.strerror}; mend that and try again", file=sys.stderr)
        return NOT_USABLE
    except Exception as error:
        if os.environ.get("SEAMNOTE_DEBUG"):
            traceback.print_exc()
        text = " ".join(f"{type(error).__name__}: {error}".split())
        print(
            f"seamnote: unforeseen: {text}; nothing saved was lost, please report this "
            "(SEAMNOTE_DEBUG=1 shows where it happened)",
            file=sys.stderr,
        )
        return UNFORESEEN
    return code


def _run(arguments: argparse.Namespace) -> int:
    """Whatever is written to a job meanwhile is the work of the technician in the settings."""
    from recorder.archive.jobs.acting import acting

    with acting(lambda: settings_of(home_path(arguments)).report.technician):
        code: int = arguments.run(arguments)
        return code
