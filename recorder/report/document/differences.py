"""Where two states of one file differ, as a reader that starts at the trailer sees them.

Both are read by themselves and walked in step, so that nothing depends on what an added
cross-reference section says that it changes.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from pikepdf import Array, Dictionary, Name, Object, Pdf, Stream, String

from recorder.errors import NotAReport
from recorder.report.document.pdf import opened

Path = tuple[str, ...]

# In this order every object is met where a reader of the document meets it first: a field as a
# field and not as an annotation of its page, a page as a page and not as the aim of a link.
_ROOT_ORDER = ("/AcroForm", "/Pages", "/Metadata", "/AF", "/Names")
# These lead back up or across; what they lead to is met on its own way down.
SIDEWAYS = frozenset(("/P", "/Parent", "/Pg", "/Data"))
# What a cross-reference section says of itself (ISO 32000-1, tables 15 and 17).
_XREF_KEYS = frozenset(
    ("/Size", "/Prev", "/Type", "/W", "/Index", "/Filter", "/DecodeParms", "/Length", "/XRefStm")
)
_MOST_OBJECTS = 200_000  # met in one walk


@dataclass(frozen=True)
class Difference:
    """path: the way from the trailer, by keys and indices. kind: 'added', 'removed', 'changed', or
    'extended' for a reference that is now one of several.
    """

    path: Path
    kind: str


def differences(old: bytes, new: bytes, name: str) -> tuple[Difference, ...]:
    """Each place by the way on which it is met first. old, new: content of two PDFs.

    name: of the file. Raises NotAReport when one of them cannot be read.
    """
    with opened(old, name) as before, opened(new, name) as after:
        return tuple(_differences(before, after, name))


def _differences(old: Pdf, new: Pdf, name: str) -> Iterator[Difference]:
    met: set[tuple[Any, Any]] = set()
    if old.Root.objgen != new.Root.objgen:
        yield Difference(("/Root",), "changed")
    pairs: list[tuple[Path, Object, Object]] = []
    pairs += [((key,), old.trailer, new.trailer) for key in _keys(old.trailer, new.trailer)]
    pairs = [each for each in pairs if each[0][0] not in (*_XREF_KEYS, "/Root")]
    keys = dict.fromkeys((*_ROOT_ORDER, *_keys(old.Root, new.Root)))
    pairs += [(("/Root", key), old.Root, new.Root) for key in keys]
    for path, before, after in pairs:
        yield from _walk(path, before, after, met)
        if len(met) > _MOST_OBJECTS:
            raise NotAReport(path=name, detail="it holds too many objects")


def _keys(*holders: Object) -> list[str]:
    return sorted({key for holder in holders for key in holder.keys()})  # noqa: SIM118


def _walk(path: Path, old: Object, new: Object, met: set[tuple[Any, Any]]) -> Iterator[Difference]:
    """Below one key of two dictionaries; breadth first, so that the shortest way is told."""
    key = path[-1]
    if key not in old or key not in new:
        if key in old or key in new:
            yield Difference(path, "removed" if key in old else "added")
        return
    queue = deque([(path, old[key], new[key])])
    while queue and len(met) <= _MOST_OBJECTS:
        path, before, after = queue.popleft()
        here, there = _number(before), _number(after)
        if here != there:
            several = here and any(_number(each) == here for _, each in _children(after))
            yield Difference(path, "extended" if several else "changed")
            if not here or not there:
                continue
        if here:
            if (here, there) in met or path[-1] in SIDEWAYS:
                continue
            met.add((here, there))
        if not _alike(before, after):
            yield Difference(path, "changed")
            continue
        below, beside = dict(_children(before)), dict(_children(after))
        for step in dict.fromkeys((*below, *beside)):
            if step in below and step in beside:
                queue.append(((*path, step), below[step], beside[step]))
            else:
                yield Difference((*path, step), "removed" if step in below else "added")


def _number(value: Any) -> tuple[int, int] | None:
    """Of an indirect object; None for a value that stands where it is used."""
    return value.objgen if isinstance(value, Object) and value.is_indirect else None


def _children(value: Any) -> list[tuple[str, Any]]:
    if isinstance(value, Array):
        return [(str(index), each) for index, each in enumerate(value)]
    if isinstance(value, Dictionary | Stream):
        return [(key, value[key]) for key in value.keys()]  # noqa: SIM118
    return []


def _alike(old: Any, new: Any) -> bool:
    """Whether two values are the same, but for what they hold."""
    if type(old) is not type(new) or _kind(old) is not _kind(new):
        return False
    if isinstance(old, Stream):
        return bool(old.read_raw_bytes() == new.read_raw_bytes())
    if isinstance(old, Array | Dictionary):
        return True
    if isinstance(old, String):
        return bytes(old) == bytes(new)
    return bool(old == new)


def _kind(value: Any) -> type:
    kinds = (Stream, Array, Dictionary, String, Name)
    return next((kind for kind in kinds if isinstance(value, kind)), type(value))
