"""Which engines of this stage are installed, and in which version; apart from their use."""

from __future__ import annotations

import sys
from importlib.metadata import version

from recorder.errors import EngineMissing


def vision() -> str:
    """What finds and fits shapes: name and version. Raises EngineMissing."""
    try:
        import cv2  # noqa: F401
    except (ImportError, OSError) as error:
        raise _missing("opencv-python-headless", error) from error
    return f"opencv-python-headless {version('opencv-python-headless')}"


def pictures() -> str:
    """The reader of jpg and png: name and version. Raises EngineMissing."""
    try:
        import PIL  # noqa: F401
    except (ImportError, OSError) as error:
        raise _missing("pillow", error) from error
    return f"pillow {version('pillow')}"


def heic() -> str:
    """The reader of heic: name and version. Raises EngineMissing."""
    try:
        import pillow_heif  # noqa: F401
    except (ImportError, OSError) as error:
        raise _missing("pillow-heif", error) from error
    return f"pillow-heif {version('pillow-heif')}"


def _missing(distribution: str, error: Exception) -> EngineMissing:
    detail = str(error) or type(error).__name__
    install = f"{sys.executable} -m pip install {distribution}"
    return EngineMissing(engine=distribution, detail=detail, install=install)
