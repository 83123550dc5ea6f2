"""The calibrated cameras of a home: one file each, ``cameras/<name>.toml``."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path

from pydantic import ValidationError

from recorder.archive.disk import atomic
from recorder.archive.disk.home import Home, cause
from recorder.errors import BadCamera, BadValue, FileMissing, OutputUnwritable, UnknownCamera
from recorder.model.camera import Camera
from recorder.settings import first_fault

_LONGEST_NAME = 80


def all_kept(home: Home) -> tuple[Camera, ...]:
    """All of a home, by name. Raises BadCamera for a file that was damaged."""
    return tuple(read(path) for path in sorted(home.cameras.glob("*.toml")))


def named(home: Home, text: str) -> Camera:
    """The camera that is kept under a name, or in the file of that path.

    Raises UnknownCamera, FileMissing, BadCamera.
    """
    if text.endswith(".toml") or "/" in text or "\\" in text:
        return read(Path(text))
    name = safe_name(text)
    path = home.cameras / f"{name}.toml"
    if not path.is_file() and Path(text).is_file():
        return read(Path(text))
    if not name or not path.is_file():
        known = ", ".join(sorted(other.stem for other in home.cameras.glob("*.toml")))
        near = f"use one of {known}" if known else "calibrate one with 'seamnote camera FOLDER'"
        raise UnknownCamera(wanted=text, near=near)
    return read(path)


def keep(home: Home, camera: Camera) -> tuple[Path, Path | None]:
    """Write a camera, and where another of its name stood, put that one aside.

    Returns where it lies, and where the one before lies now. Raises OutputUnwritable.
    """
    path = home.cameras / f"{camera.name}.toml"
    before = None
    try:
        home.cameras.mkdir(exist_ok=True)
        if path.is_file():
            before = path.with_name(f"{path.name}.before")
            atomic.write(before, path.read_bytes())
    except OSError as error:
        raise OutputUnwritable(path=home.cameras, detail=cause(error)) from error
    atomic.write(path, as_toml(camera).encode())
    return path, before


def checked_name(text: str) -> str:
    """A name that a person gave, as it is kept. Raises BadValue."""
    name = safe_name(text)
    if not name:
        hint = "use letters, digits, '-' and '.'"
        raise BadValue(value=text, field="the name of a camera", hint=hint)
    return name


def safe_name(text: str) -> str:
    """Small letters, digits, '-' and '.', which every file system takes."""
    plain = re.sub(r"[^a-z0-9.]+", "-", text.casefold().encode("ascii", "ignore").decode())
    return plain.strip("-.")[:_LONGEST_NAME].rstrip("-.")


def read(path: Path) -> Camera:
    """One file. Raises FileMissing, BadCamera."""
    try:
        return Camera.model_validate(tomllib.loads(path.read_text(encoding="utf-8-sig")))
    except FileNotFoundError as error:
        raise FileMissing(path=path) from error
    except ValidationError as error:
        raise BadCamera(path=path, detail=first_fault(error)) from error
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise BadCamera(path=path, detail=cause(error)) from error


def as_toml(camera: Camera) -> str:
    lines = ["# By 'seamnote camera'."]
    for name, value in camera.model_dump(exclude={"calibrated_at"}).items():
        if value is not None:
            shown = list(value) if isinstance(value, tuple) else value
            lines.append(f"{name} = {json.dumps(shown, ensure_ascii=False)}")
    lines.append(f"calibrated_at = {camera.calibrated_at.isoformat()}")
    return "\n".join(lines) + "\n"
