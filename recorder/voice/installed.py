"""Which engines of this stage are installed, and in which version; apart from their use."""

from __future__ import annotations

import sys
from importlib.metadata import version

from recorder.errors import EngineMissing


def sound() -> str:
    """The decoder of sound files: name and version. Raises EngineMissing."""
    try:
        import av  # noqa: F401
    except (ImportError, OSError) as error:
        raise _missing("av", error) from error
    return f"av {version('av')}"


def speech() -> str:
    """The speech recogniser: name and version. Raises EngineMissing."""
    try:
        import faster_whisper  # noqa: F401
    except (ImportError, OSError) as error:
        raise _missing("faster-whisper", error) from error
    return f"faster-whisper {version('faster-whisper')}"


def _missing(distribution: str, error: Exception) -> EngineMissing:
    detail = str(error) or type(error).__name__
    install = f"{sys.executable} -m pip install {distribution}"
    return EngineMissing(engine=distribution, detail=detail, install=install)
