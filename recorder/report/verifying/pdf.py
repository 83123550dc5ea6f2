"""A signed report as a PDF parser sees it: pyHanko's reader, closed to everything but questions.

pyHanko's own faults, of which a hostile file can provoke any, all become ``Unreadable`` here.
"""

from __future__ import annotations

import io
import logging
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from pyhanko.pdf_utils import generic
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.diff_analysis import (
    DiffResult,
    ModificationLevel,
    StandardDiffPolicy,
)
from pyhanko.sign.diff_analysis.form_rules_api import FormUpdatingRule
from pyhanko.sign.diff_analysis.rules.file_structure_rules import (
    CatalogModificationRule,
    ObjectStreamRule,
    XrefStreamRule,
)
from pyhanko.sign.diff_analysis.rules.form_field_rules import SigFieldModificationRule
from pyhanko.sign.fields import enumerate_sig_fields

from recorder.report.document.differences import SIDEWAYS

logging.getLogger("pyhanko").setLevel(logging.CRITICAL)

# Without pyHanko's rules that let metadata, the document's information and validation data change.
STRICT = StandardDiffPolicy(
    global_rules=[
        CatalogModificationRule(),  # type: ignore[no-untyped-call]
        XrefStreamRule().as_qualified(ModificationLevel.LTA_UPDATES),
        ObjectStreamRule().as_qualified(ModificationLevel.LTA_UPDATES),
    ],
    form_rule=FormUpdatingRule(field_rules=[SigFieldModificationRule()]),
    ignore_orphaned_objects=False,
)


class Unreadable(ValueError):
    """The file is no PDF as this program writes them; the reason in words."""


@dataclass(frozen=True)
class Field:
    """A signature field. number: of its object. covered: the four numbers of its byte range; None
    while it is empty. permission: what it lets be done afterwards (DocMDP, ISO 32000-2, table
    257); None where it does not certify.
    """

    name: str
    number: int
    covered: tuple[int, ...] | None
    permission: int | None


class Document:
    """One state of a file. Every method raises Unreadable and nothing else."""

    def __init__(self, content: bytes) -> None:
        with _translated():
            self._reader = PdfFileReader(io.BytesIO(content), strict=True)
            if self._reader.encrypted:
                raise Unreadable("it is encrypted")

    def fields(self) -> tuple[Field, ...]:
        with _translated():
            return tuple(
                _field(name, value, holder)
                for name, value, holder in enumerate_sig_fields(self._reader)
            )

    def changed_numbers(self, after: int) -> set[int]:
        """Of the objects that cross-reference sections behind byte ``after`` define anew."""
        with _translated():
            own = {ref.idnum for ref in self._reader.xrefs.xref_stream_refs}
            return self.written_numbers(after) - own

    def written_numbers(self, after: int) -> set[int]:
        """The same with those sections, where they are objects themselves."""
        with _translated():
            xrefs = self._reader.xrefs
            later = [
                revision
                for revision in range(xrefs.total_revisions)
                if xrefs.get_startxref_for_revision(revision) >= after
            ]
            return {ref.idnum for each in later for ref in xrefs.explicit_refs_in_revision(each)}

    def reachable_from(self, number: int, keys: tuple[str, ...]) -> set[int]:
        """Numbers of the objects to which these entries of a dictionary lead."""
        with _translated():
            start = self._reader.get_object(generic.Reference(number, 0, self._reader))  # type: ignore[no-untyped-call]
            queue = [start.raw_get(key) for key in keys if key in start]
            met: set[int] = set()
            while queue:
                value = queue.pop()
                if isinstance(value, generic.IndirectObject):
                    if value.idnum in met:
                        continue
                    met.add(value.idnum)
                    value = _followed(value)
                queue.extend(child for key, child in _children(value) if key not in SIDEWAYS)
            return met

    def second_opinion(self) -> str:
        """What pyHanko holds against what came after each signature; empty when nothing."""
        with _translated():
            for signature in self._reader.embedded_signatures:
                signature.compute_integrity_info(diff_policy=STRICT)
                found = signature.diff_result
                if not isinstance(found, DiffResult):
                    return str(found)
                if found.modification_level > ModificationLevel.FORM_FILLING:
                    return "more than a form was filled"
                if not signature.summarise_integrity_info()["docmdp_ok"]:
                    return "the certification does not permit it"
        return ""


@contextmanager
def _translated() -> Iterator[None]:
    try:
        yield
    except Unreadable:
        raise
    except Exception as error:  # any type can stand in any place of a hostile file
        raise Unreadable(" ".join(str(error).split()) or type(error).__name__) from error


def _value(holder: generic.DictionaryObject, key: str) -> Any:
    """What stands under a key, a reference followed; None without it."""
    try:
        return holder[key]
    except KeyError:
        return None


def _followed(reference: Any) -> Any:
    return reference.get_object()


def _field(name: str, value: Any, holder: generic.IndirectObject) -> Field:
    covered = permission = None
    if value is not None:
        signature = _followed(value)
        covered = tuple(int(number) for number in signature["/ByteRange"])
        for reference in _value(signature, "/Reference") or ():
            rule = _followed(reference)
            if rule["/TransformMethod"] == "/DocMDP":
                permission = int(rule["/TransformParams"]["/P"])
    return Field(name, holder.idnum, covered, permission)


def _children(value: Any) -> list[tuple[str, Any]]:
    if isinstance(value, generic.DictionaryObject):
        return [(str(key), value.raw_get(key)) for key in value]
    if isinstance(value, generic.ArrayObject):
        return [(str(index), value.raw_get(index)) for index in range(len(value))]
    return []
