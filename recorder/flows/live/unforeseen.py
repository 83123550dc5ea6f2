"""What nobody foresaw, in a thread of a session: one line, and all of it with SEAMNOTE_DEBUG."""

from __future__ import annotations

import logging
import os

_log = logging.getLogger("seamnote.live")


def note(what: str, error: Exception) -> str:
    """The line for a person; the log of the server gets it too. what: 'x could not be done'."""
    line = f"{what} ({type(error).__name__})"
    _log.error(line, exc_info=error if os.environ.get("SEAMNOTE_DEBUG") else None)
    return line
