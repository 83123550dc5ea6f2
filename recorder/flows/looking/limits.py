"""What a looker may use of the machine. It sets its own limits before it opens anything.

Where the system has no such limits (Windows has no ``resource``; macOS ignores that of memory), the
time that the program waits for an answer is the one limit: see ``recorder.flows.looking.seat``.
"""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

try:
    import resource
except ImportError:  # Windows
    resource = None  # type: ignore[assignment]

_MOST_FILE_BYTES = 64_000_000  # of a picture that it writes
_MOST_FILES = 64  # open at once


def settle(memory_bytes: int) -> None:
    """No more memory than it has now and ``memory_bytes`` besides; no core, no large file."""
    if resource is None:
        return
    _lower(resource.RLIMIT_CORE, 0)
    _lower(resource.RLIMIT_FSIZE, _MOST_FILE_BYTES)
    _lower(resource.RLIMIT_NOFILE, _MOST_FILES)
    _lower(resource.RLIMIT_AS, _used_bytes() + memory_bytes)


def allow(cpu_s: float) -> None:
    """So much time of the processor from now on; then the system ends the process."""
    if resource is None:
        return
    used = resource.getrusage(resource.RUSAGE_SELF)
    soft = int(used.ru_utime + used.ru_stime + cpu_s) + 1
    _, hard = resource.getrlimit(resource.RLIMIT_CPU)
    with contextlib.suppress(ValueError, OSError):  # more than the whole service may use
        resource.setrlimit(resource.RLIMIT_CPU, (soft, hard))


def _lower(kind: int, to: int) -> None:
    _, hard = resource.getrlimit(kind)
    if hard == resource.RLIM_INFINITY or to < hard:
        with contextlib.suppress(ValueError, OSError):  # a system that knows the limit by name only
            resource.setrlimit(kind, (to, to))


def _used_bytes() -> int:
    """Of the address space, now; 0 where the system does not say it in a file."""
    with contextlib.suppress(OSError, ValueError, IndexError):
        pages = Path("/proc/self/statm").read_text(encoding="ascii").split()[0]
        return int(pages) * os.sysconf("SC_PAGE_SIZE")
    return 0
