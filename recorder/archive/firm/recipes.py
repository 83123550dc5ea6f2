"""The recipes that a firm keeps: a file for each, which only grows.

::

    <home>/recipes/oven-70.jsonl        one version a line, the newest last

    {"previous":"<hash of the line before>","recipe":{…},"hash":"<SHA-256>"}

``hash`` is the SHA-256 of the bytes of the line before ``,"hash":"``, and each line names that of
the one before it, so that no version is changed, removed from among the others or put between
them without being noticed; that the newest ones were taken away is not. All files are written
under one lock, each as a whole.
"""

from __future__ import annotations

import hashlib
import re
import time
import unicodedata
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from pydantic import ValidationError

from recorder.archive.disk import atomic, lock
from recorder.archive.disk.home import Home, cause
from recorder.errors import BadRecipe, BadValue, InputRefused, RecipeChanged
from recorder.model.recipe import Recipe
from recorder.settings import first_fault

NOTHING_BEFORE = "0" * 64
LONGEST_NAME = 80
_LONGEST_FILE_NAME = 120  # bytes, so that it fits every file system with room for what is added
_ENDING = ".jsonl"
# Names that Windows keeps for itself, whatever their ending.
_RESERVED = re.compile(r"con|prn|aux|nul|(com|lpt)\d")

_LINE = re.compile(
    rb'(?P<told>\{"previous":"(?P<previous>[0-9a-f]{64})","recipe":(?P<recipe>\{.*\}))'
    rb',"hash":"(?P<hash>[0-9a-f]{64})"\}'
)

Versions = tuple[Recipe, ...]  # of one recipe, the oldest first
_SETTLED_NS = 2_000_000_000
_read_before: dict[Path, tuple[tuple[int, int, int], Versions]] = {}


def slug(name: str) -> str:
    """What makes a name the same as another: its letters and digits, whatever the case.

    'Oven 70', 'oven-70' and 'OVEN 70.' are one recipe. Raises BadValue for what cannot be a name.
    """
    plain = unicodedata.normalize("NFKC", " ".join(name.split())).casefold()
    words = re.findall(r"[^\W_]+", plain)
    if not words or not name.isprintable() or len(name) > LONGEST_NAME:
        hint = f"give up to {LONGEST_NAME} letters, digits and blanks"
        raise BadValue(value=name[:LONGEST_NAME], field="the name of a recipe", hint=hint)
    joined = "-".join(words)
    if len(joined.encode()) > _LONGEST_FILE_NAME or _RESERVED.fullmatch(joined):
        mark = hashlib.sha256(joined.encode()).hexdigest()[:12]
        start = joined.encode()[: _LONGEST_FILE_NAME - len(mark)].decode(errors="ignore")
        joined = f"{start}-{mark}"
    return joined


def versions(home: Home, name: str) -> Versions:
    """All of one recipe; none when there is no such recipe.

    Raises BadValue, BadRecipe, RecipeChanged.
    """
    return _read(_path(home, name))


def all_kept(home: Home) -> tuple[tuple[Versions, ...], tuple[InputRefused, ...]]:
    """All recipes by name, retired ones too, and what is wrong with those that cannot be read."""
    kept: list[Versions] = []
    faults: list[InputRefused] = []
    for path in sorted(home.recipes.glob(f"*{_ENDING}")):
        if path.name.startswith("."):
            continue
        try:
            found = _read(path)
        except (BadRecipe, RecipeChanged) as error:
            faults.append(error)
        else:
            kept += [found] if found else []
    return tuple(sorted(kept, key=lambda each: each[-1].name.casefold())), tuple(faults)


@contextmanager
def writing(home: Home) -> Iterator[Callable[[Recipe], Recipe]]:
    """Inside, no other process writes recipes; what is yielded adds a version to one. At the end
    all that were added take their places; none where one could not be brought to the disk.

    The number of the version is given to it here, and the name as it was first written. Raises
    Busy, and the adding BadValue, BadRecipe, RecipeChanged, OutputUnwritable.
    """
    staged: dict[Path, Path] = {}
    with lock.held(home.recipes):
        try:
            yield lambda recipe: _add(home, recipe, staged)
            for path, temporary in staged.items():
                atomic.put(temporary, path)
        finally:
            for temporary in staged.values():
                with suppress(OSError):
                    temporary.unlink(missing_ok=True)


def _add(home: Home, recipe: Recipe, staged: dict[Path, Path]) -> Recipe:
    path = _path(home, recipe.name)
    if path in staged:  # a version before, of which this is the next one
        atomic.put(staged.pop(path), path)
    before = _read(path)
    name = before[0].name if before else " ".join(recipe.name.split())
    recipe = recipe.model_copy(update={"version": len(before) + 1, "name": name})
    old = path.read_bytes() if before else b""
    previous = _hash_of(old.splitlines()[-1]) if old else NOTHING_BEFORE
    told = f'{{"previous":"{previous}","recipe":{recipe.model_dump_json()}'.encode()
    line = told + f',"hash":"{hashlib.sha256(told).hexdigest()}"}}\n'.encode()
    atomic.make_folder(home.recipes)
    atomic.sweep(path)
    staged[path] = atomic.stage(path, old + line)
    return recipe


def _path(home: Home, name: str) -> Path:
    return home.recipes / f"{slug(name)}{_ENDING}"


def _hash_of(line: bytes) -> str:
    found = _LINE.fullmatch(line)
    return found["hash"].decode() if found else NOTHING_BEFORE


def _read(path: Path) -> Versions:
    """What was read once is taken from memory until the file is another, which its time tells of
    where it lies ``_SETTLED_NS`` behind: clocks of file systems are coarse.
    """
    try:
        atomic.need_regular(path)
        found = path.stat()
        stamp = (found.st_mtime_ns, found.st_size, found.st_ino)
        known = _read_before.get(path)
        if known and known[0] == stamp:
            return known[1]
        content = path.read_bytes()
    except FileNotFoundError:
        return ()
    except OSError as error:
        raise BadRecipe(path=path, detail=cause(error)) from error
    read = _versions_in(path, content)
    if time.time_ns() - found.st_mtime_ns > _SETTLED_NS:
        _read_before[path] = (stamp, read)
    return read


def _versions_in(path: Path, content: bytes) -> Versions:
    read: list[Recipe] = []
    previous = NOTHING_BEFORE
    *lines, rest = content.split(b"\n")
    if rest or not lines:
        raise BadRecipe(path=path, detail="it ends within a line")
    for number, line in enumerate(lines, 1):
        found = _LINE.fullmatch(line)
        if not found:
            raise BadRecipe(path=path, detail=f"line {number} is no version of a recipe")
        same = hashlib.sha256(found["told"]).hexdigest() == found["hash"].decode()
        if not same or found["previous"].decode() != previous:
            name = read[0].name if read else path.stem
            raise RecipeChanged(version=number, name=name, path=path)
        previous = found["hash"].decode()
        read.append(_recipe_in(path, number, found["recipe"]))
    return tuple(read)


def _recipe_in(path: Path, number: int, content: bytes) -> Recipe:
    try:
        recipe = Recipe.model_validate_json(content)
    except ValidationError as error:
        raise BadRecipe(path=path, detail=f"line {number}: {first_fault(error)}") from error
    if recipe.version != number or f"{slug(recipe.name)}{_ENDING}" != path.name:
        raise RecipeChanged(version=number, name=recipe.name, path=path)
    return recipe
