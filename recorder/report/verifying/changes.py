"""What came into a file after a signature, and the one thing that may: the customer's signature.

Two states of the file are read by themselves and compared from the trailer down. Where they differ
is told by the way to the place, and the way says what kind of change it is.
"""

from __future__ import annotations

from collections.abc import Iterable

from recorder.errors import NotAReport
from recorder.model.plural import counted
from recorder.report.document.about import CUSTOMER
from recorder.report.document.differences import Difference, Path, differences
from recorder.report.verifying import ambiguity
from recorder.report.verifying.pdf import Document
from recorder.report.verifying.reasons import Fault, Finding

FILLED_IN = "the customer's signature was filled in"

_FONTS = {"/Font", "/FontDescriptor", "/DescendantFonts", "/FontFile", "/FontFile2", "/FontFile3"}
_EMBEDDED = {"/AF", "/EmbeddedFiles", "/EF"}
_NAME = "the report"
_SECOND_IDENTIFIER = ("/ID", "1")  # ISO 32000-1, 14.4: another one with every revision


def appended(content: bytes, stop: int) -> tuple[Finding, ...]:
    """What the bytes behind the last signature, which ends at ``stop``, do to the document."""
    nothing = Finding.of(Fault.BYTES_APPENDED, counted(len(content) - stop, "byte"))
    try:
        found = _told(differences(content[:stop], content, _NAME))
    except NotAReport:
        return (nothing,)
    return found or (nothing,)


def between(content: bytes, first: int, second: int) -> tuple[Finding, ...]:
    """What is wrong with the revision that ends at ``second``, made on the one at ``first``.

    Nothing is, when it fills in the empty field of the customer's signature, draws its appearance,
    and defines no object but for these. Raises Unreadable, NotAReport.
    """
    after = Document(content[:second])
    fields = after.fields()
    place = next((n for n, each in enumerate(fields) if each.name == CUSTOMER), None)
    way = ("/Root", "/AcroForm", "/Fields", str(place))
    filling = {
        Difference((*way, "/V"), "added"),
        Difference((*way, "/AP", "/N"), "changed"),
    }
    found = differences(content[:first], content[:second], _NAME)
    wrong = _told(each for each in found if each not in filling)
    if wrong:
        return wrong
    if place is None or not filling <= set(found):
        return (Finding.of(Fault.STRUCTURE_CHANGED, "it did not fill the customer's field"),)
    number = fields[place].number
    leads = after.reachable_from(number, ("/V", "/AP"))
    idle = after.changed_numbers(first) - leads - {number}
    if idle:
        return (Finding.of(Fault.STRUCTURE_CHANGED, "it holds objects that belong to nothing"),)
    return ambiguity.of_revision(content[:second], first, after)


def _told(differences: Iterable[Difference]) -> tuple[Finding, ...]:
    """One finding a kind of change, with the first place where it was made; the vaguest last."""
    found: dict[Fault, Finding] = {}
    for each in differences:
        if each.path != _SECOND_IDENTIFIER:
            fault = _kind(each)
            found.setdefault(fault, Finding.of(fault, f"{_shown(each.path)} was {each.kind}"))
    vague = found.pop(Fault.STRUCTURE_CHANGED, None)
    return (*found.values(), *([vague] if vague else []))


def _kind(difference: Difference) -> Fault:
    path = difference.path
    if path[:3] == ("/Root", "/AcroForm", "/Fields"):
        if "/AP" in path:
            return Fault.APPEARANCE_CHANGED
        taken = path[-1] == "/V" and difference.kind == "removed"
        return Fault.SIGNATURE_REMOVED if taken else Fault.STRUCTURE_CHANGED
    if not _FONTS.isdisjoint(path):
        return Fault.FONT_CHANGED
    if not _EMBEDDED.isdisjoint(path):
        return Fault.ATTACHMENT_CHANGED
    if path[:2] == ("/Root", "/Metadata") or path[0] == "/Info":
        return Fault.METADATA_CHANGED
    if path[:2] == ("/Root", "/Pages"):
        if "/Annots" in path:
            return Fault.ANNOTATION_CHANGED
        more = "/Contents" in path and difference.kind in ("added", "extended")
        return Fault.PAGE_DRAWN_OVER if more else Fault.PAGE_CHANGED
    return Fault.STRUCTURE_CHANGED


def _shown(path: Path) -> str:
    """'Pages.Kids.0.Contents'."""
    return ".".join(step.removeprefix("/") for step in path if step != "/Root")
