"""A list that the firm wrote, TOML or a table as CSV, to entries that say where they stand.

::

    [[template]]                        kind,name,width
    name = "T30-10"                     template,T30-10,60 mm..600 mm
    width = "60 mm..600 mm"

The header of a table has the keys of the TOML; where a list holds several kinds, its column
``kind`` says which one a row is. An empty cell is a key that is not there.
"""

from __future__ import annotations

import csv
import io
import json
import tomllib
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from pydantic import ValidationError

from recorder.errors import BadFirmFile
from recorder.inputs import read_whole
from recorder.model.base import Value
from recorder.model.belt import folded
from recorder.settings import first_fault

MOST_BYTES = 5_000_000
_KIND = "kind"
_DELIMITERS = ",;\t"
_LARGEST = 10**15  # of a whole number, which no list needs
_LONGEST_NAME, _LONGEST_DETAIL = 80, 300  # characters, of what is told of a fault
_TABLES = (".csv", ".tsv", ".txt")  # as names end

# A value as it stands in the file to what it means; raises ValueError that says what to write.
Shape = Callable[[object], object]
Kind = TypeVar("Kind", bound=Value)


@dataclass(frozen=True)
class Entry:
    """place: where it stands, for people. kind: of the list's kinds. told: as it was written."""

    path: Path
    place: str
    kind: str
    told: Mapping[str, object]

    def named(self) -> str:
        """'template 2 (T30-10)', 'line 3 (T30-10)'."""
        name = self.told.get("name")
        if not isinstance(name, str) or not name.strip():
            return self.place
        return f"{self.place} ({_short(name, _LONGEST_NAME)})"

    def refused(self, detail: str) -> BadFirmFile:
        detail = f"{self.named()}: {_short(detail, _LONGEST_DETAIL)}"
        return BadFirmFile(path=self.path, detail=detail)


@dataclass(frozen=True)
class Listed:
    """entries: of a file, at least one. toml: the file as it was, or a table as TOML."""

    entries: tuple[Entry, ...]
    toml: bytes


def read_list(path: Path, kinds: tuple[str, ...]) -> Listed:
    """A list of the firm's: a table when its name ends in csv, tsv or txt, else TOML.

    Raises FileMissing, FileTooLarge, InputRefused, or BadFirmFile that names the place.
    """
    content = read_whole(path, MOST_BYTES)
    of_table = path.suffix.lower() in _TABLES
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        detail = f"line {line} is not UTF-8; save it as UTF-8"
        raise BadFirmFile(path=path, detail=detail) from error
    entries = _of_csv(path, text, kinds) if of_table else _of_toml(path, text, kinds)
    if not entries:
        wanted = " and no ".join(f"[[{kind}]]" for kind in kinds)
        raise BadFirmFile(path=path, detail=f"there is no {wanted} in it")
    return Listed(tuple(entries), as_toml(entries) if of_table else content)


def understood(entry: Entry, shapes: Mapping[str, Shape]) -> dict[str, object]:
    """The values of an entry by key. Raises BadFirmFile that names entry and key."""
    meant: dict[str, object] = {}
    for key, value in entry.told.items():
        if key not in shapes:
            raise entry.refused(f"there is no {key!r}; use {', '.join(shapes)}")
        if isinstance(value, int) and abs(value) > _LARGEST:
            raise entry.refused(f"{key}: this number is too large")
        try:
            meant[key] = shapes[key](value)
        except ValueError as error:
            raise entry.refused(f"{key}: {error}") from error
    return meant


def made(entry: Entry, kind: type[Kind], meant: Mapping[str, object]) -> Kind:
    """The value of the model. Raises BadFirmFile that names the entry."""
    try:
        return kind.model_validate(meant)
    except ValidationError as error:
        fault = first_fault(error).replace(": Field required", " is missing")
        raise entry.refused(fault) from error


def each_once(entries: Iterable[tuple[Entry, tuple[str, ...]]], what: str) -> None:
    """Raises BadFirmFile that names the second entry of one name, whatever its case."""
    seen: dict[tuple[str, ...], Entry] = {}
    for entry, names in entries:
        key = tuple(folded(name) for name in names)
        if key in seen:
            raise entry.refused(f"{what} is the same as in {seen[key].place}")
        seen[key] = entry


def as_toml(entries: Iterable[Entry]) -> bytes:
    """The same entries as a TOML file, every value as it was written."""
    blocks = [
        "\n".join(
            [
                f"[[{entry.kind}]]",
                *(f"{key} = {_quoted(value)}" for key, value in entry.told.items()),
            ]
        )
        for entry in entries
    ]
    return ("\n\n".join(blocks) + "\n").encode()


def _short(text: str, longest: int) -> str:
    """Its beginning and its end, which says what to do instead."""
    if len(text) <= longest:
        return text
    return f"{text[: longest // 2]} … {text[-longest // 2 :]}"


def _quoted(value: object) -> str:
    """A basic string of TOML is one of JSON, as long as nothing steers a terminal in it."""
    return json.dumps(str(value), ensure_ascii=False)


def _of_toml(path: Path, text: str, kinds: tuple[str, ...]) -> list[Entry]:
    try:
        content = tomllib.loads(text)
    except RecursionError as error:
        raise BadFirmFile(path=path, detail="it is nested too deeply") from error
    except tomllib.TOMLDecodeError as error:
        raise BadFirmFile(path=path, detail=str(error)) from error
    except ValueError as error:  # Python makes no integer of thousands of digits
        raise BadFirmFile(path=path, detail="a number in it has too many digits") from error
    stranger = next((key for key in content if key not in kinds), None)
    if stranger is not None:
        wanted = " or ".join(f"[[{kind}]]" for kind in kinds)
        raise BadFirmFile(path=path, detail=f"{stranger!r} is neither of {wanted}"
                          if len(kinds) > 1 else f"{stranger!r} is no {wanted}")  # fmt: skip
    entries = []
    for kind, listed in content.items():
        if not isinstance(listed, list) or not all(isinstance(each, dict) for each in listed):
            raise BadFirmFile(path=path, detail=f"write [[{kind}]] before each {kind}")
        entries += [
            Entry(path, f"{kind} {number}", kind, told) for number, told in enumerate(listed, 1)
        ]
    return entries


def _of_csv(path: Path, text: str, kinds: tuple[str, ...]) -> list[Entry]:
    head = text.partition("\n")[0]
    rows = csv.reader(
        io.StringIO(text, newline=""), delimiter=max(_DELIMITERS, key=head.count), strict=True
    )
    try:
        header = _header(path, next(rows, []), kinds)
        entries = []
        for cells in rows:
            line = f"line {rows.line_num}"
            if len(cells) > len(header) and any(cell.strip() for cell in cells[len(header) :]):
                detail = f"{line} has {len(cells)} cells, the header has {len(header)}"
                raise BadFirmFile(path=path, detail=detail)
            told: dict[str, object] = {
                key: cell.strip() for key, cell in zip(header, cells, strict=False) if cell.strip()
            }
            if told:
                kind = str(told.pop(_KIND, kinds[0] if len(kinds) == 1 else "")).casefold()
                if kind not in kinds:
                    raise BadFirmFile(path=path, detail=f"{line}: kind is {' or '.join(kinds)}")
                entries.append(Entry(path, line, kind, told))
    except csv.Error as error:
        raise BadFirmFile(path=path, detail=f"line {rows.line_num}: {error}") from error
    return entries


def _header(path: Path, cells: list[str], kinds: tuple[str, ...]) -> list[str]:
    header = [cell.strip().casefold().replace(" ", "_") for cell in cells]
    while header and not header[-1]:
        header.pop()
    if len(kinds) > 1 and _KIND not in header:
        detail = f"line 1: the header has no column 'kind' ({' or '.join(kinds)})"
        raise BadFirmFile(path=path, detail=detail)
    counts = Counter(header)
    double = next((key for key in header if counts[key] > 1), None)
    if double is not None:
        raise BadFirmFile(path=path, detail=f"line 1: the column {double!r} is there twice")
    return header
