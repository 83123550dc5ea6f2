"""Which engines of this stage are installed, and in which version; apart from their use."""

from __future__ import annotations

import sys
from importlib.metadata import version

from recorder.errors import EngineMissing


def signing() -> str:
    """The signer of reports: name and version. Raises EngineMissing."""
    try:
        import pyhanko  # noqa: F401
    except (ImportError, OSError) as error:
        raise _missing("pyhanko", error) from error
    return f"pyhanko {version('pyhanko')}"


def _missing(distribution: str, error: Exception) -> EngineMissing:
    detail = str(error) or type(error).__name__
    install = f"{sys.executable} -m pip install {distribution}"
    return EngineMissing(engine=distribution, detail=detail, install=install)
