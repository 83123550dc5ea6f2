"""How a report looks: the shipped templates, style sheets, fonts and pictures, or the firm's own.

A file in the home's ``report_templates`` stands in for the shipped one of the same name, and one
with a new name joins them. Everything is read here once, so that nothing later opens a file.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from recorder.errors import BadTemplate
from recorder.resources import shipped

FOLDER = "report_templates"
STYLE = ("report.css", "summary.css", "job_card.css", "firm.css")  # the later one counts more
MOST_BYTES = 20_000_000  # of one file: a font for Chinese has as many
_KINDS = {".html", ".css", ".svg", ".png", ".jpg", ".jpeg"}
_FONTS = {".otf", ".ttf"}


@dataclass(frozen=True)
class Look:
    """digest: of everything, by which two looks are the same. files: content by name, as
    'report.css' or 'fonts/Inter-Regular.otf'. paths: where each lies. own: names of the firm's.
    folders: of templates, the first one counts most.
    """

    digest: bytes
    files: Mapping[str, bytes] = field(compare=False)
    paths: Mapping[str, Path] = field(compare=False)
    own: frozenset[str] = field(compare=False)
    folders: tuple[Path, ...] = field(compare=False)

    @property
    def fonts(self) -> tuple[str, ...]:
        return tuple(name for name in self.files if name.startswith("fonts/"))

    def text(self, name: str) -> str:
        """Raises BadTemplate when a file of the firm is not UTF-8."""
        try:
            return self.files[name].decode("utf-8-sig")
        except UnicodeDecodeError as error:
            line = error.object[: error.start].count(b"\n") + 1
            raise BadTemplate(path=self.paths[name], line=line, detail="not UTF-8") from error


def read(overrides: Path | None) -> Look:
    """overrides: folder of the firm's own files; it need not exist. Raises BadTemplate."""
    ours = shipped(FOLDER)
    folders = (ours,) if overrides is None else (overrides, ours)
    paths: dict[str, Path] = {}
    for folder in reversed(folders):
        paths.update(_files_in(folder))
    own = frozenset(name for name, path in paths.items() if not path.is_relative_to(ours))
    files = {name: _content(path) for name, path in sorted(paths.items())}
    every = hashlib.sha256()
    for name, content in files.items():
        every.update(f"{paths[name]}\n{len(content)}\n".encode())
        every.update(content)
    return Look(every.digest(), files, paths, own, folders)


def _files_in(folder: Path) -> dict[str, Path]:
    found = [path for path in folder.glob("*") if path.suffix.lower() in _KINDS]
    found += [path for path in folder.glob("fonts/*") if path.suffix.lower() in _FONTS]
    return {path.relative_to(folder).as_posix(): path for path in found if path.is_file()}


def _content(path: Path) -> bytes:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise BadTemplate(path=path, line=1, detail="larger than 20 MB")
        return path.read_bytes()
    except OSError as error:
        raise BadTemplate(path=path, line=1, detail=error.strerror or str(error)) from error
