"""Which names can stand in a package: those that mean the same file on every system.

A package may come from anybody, so a name that leads out of the folder, or that some file system
takes for another file, is refused when it is read, and left out when a package is written.
"""

from __future__ import annotations

import unicodedata
from pathlib import PurePosixPath

LONGEST_PART_BYTES = 255  # what file systems take for one name
LONGEST_PATH_BYTES = 1024
TOPS = ("jobs", "home")
NOT_THE_HOMES_OWN = ("jobs", "index.sqlite")  # the first are apart, the second is derived

# https://learn.microsoft.com/windows/win32/fileio/naming-a-file
_NOT_IN_A_NAME = frozenset('<>:"|?*\\')
_DEVICES = frozenset({"con", "prn", "aux", "nul", "conin$", "conout$"}).union(
    f"{port}{number}" for port in ("com", "lpt") for number in "0123456789¹²³"
)


def fault_in(path: str) -> str:
    """Why a path cannot stand in a package; empty when it can."""
    try:
        size_bytes = len(path.encode())
    except UnicodeEncodeError:
        return "it is not UTF-8"
    parts = path.split("/")
    if size_bytes > LONGEST_PATH_BYTES:
        return "it is too long"
    if parts[0] not in TOPS or len(parts) < 2 + (parts[0] == "jobs"):
        return "it lies neither in a job nor in the home"
    if parts[0] == "home" and parts[1].casefold().startswith(NOT_THE_HOMES_OWN):
        return "it is no file of the home's own"
    return next((fault for part in parts if (fault := _fault_in_part(part))), "")


def _fault_in_part(part: str) -> str:
    if not part or part.startswith("."):
        return "it leads elsewhere or begins with a dot"
    if len(part.encode()) > LONGEST_PART_BYTES:
        return "it is too long"
    if _NOT_IN_A_NAME & set(part) or not part.isprintable() or part[-1] in ". ":
        return "it holds a character that not every system takes"
    if part.split(".")[0].rstrip(" ").casefold() in _DEVICES:
        return "it is the name of a device"
    return ""


class Names:
    """The paths taken so far, by what a file system that ignores case and composition sees."""

    def __init__(self) -> None:
        self._files: set[str] = set()
        self._folders: dict[str, str] = {}

    def take(self, path: str) -> str:
        """Take a path; why it cannot be, or empty. A refused path is not taken."""
        key = _seen(path)
        folders = {_seen(str(each)): str(each) for each in PurePosixPath(path).parents}
        if key in self._files:
            return "another file has that name, or one that differs only in case"
        if key in self._folders or self._files & folders.keys():
            return "it is a file and a folder"
        if any(self._folders.get(seen, spelt) != spelt for seen, spelt in folders.items()):
            return "its folder has another name that differs only in case"
        self._files.add(key)
        self._folders |= folders
        return ""


def _seen(path: str) -> str:
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", path).casefold())
