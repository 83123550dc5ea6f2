"""Two empty signature fields, where the page has left room for them.

The page holds, for each field, one empty link to itself that covers the room:
``<a id="TechnicianSignature" href="#TechnicianSignature"></a>``. The engine that sets the page
gives such a link a rectangle and a place in the structure of the document; both become the
field's. So the template alone says where a field lies, how big it is and when it is read out.
"""

from __future__ import annotations

from collections.abc import Mapping

import pikepdf
from pikepdf import Array, Dictionary, Name, NumberTree, Stream

from recorder.errors import PageFailed

_PRINTED = 4  # annotation flag (ISO 32000-1, table 165); PDF/A wants it on every visible one


def place(pdf: pikepdf.Pdf, labels: Mapping[str, str]) -> None:
    """Make a signature field of the link that bears its name, for every name in ``labels``.

    Raises PageFailed when the page does not have exactly one such link.
    """
    links: dict[str, list[tuple[pikepdf.Page, pikepdf.Object]]] = {name: [] for name in labels}
    for page in pdf.pages:
        for annotation in page.get("/Annots", ()):
            name = str(annotation.get("/Dest", ""))
            if annotation.get("/Subtype") == Name.Link and name in links:
                links[name].append((page, annotation))
    fields = []
    for name, found in links.items():
        if len(found) != 1:
            detail = f"its template has {len(found)} elements <a id={name}>, and needs one"
            raise PageFailed(detail=detail)
        ((page, link),) = found
        _make_field(pdf, page, link, name, labels[name])
        fields.append(link)
    pdf.Root.AcroForm = Dictionary(Fields=Array(fields))


def _make_field(
    pdf: pikepdf.Pdf, page: pikepdf.Page, link: pikepdf.Object, name: str, label: str
) -> None:
    """Turn a link into a field and its only widget (ISO 32000-1, 12.5.6.19 and 12.7.4.5)."""
    for key in ("/Dest", "/Contents", "/BS"):
        del link[key]
    one, two, three, four = (float(number) for number in link.Rect)
    left, right = sorted((one, three))
    bottom, top = sorted((two, four))
    link.Rect = Array([left, bottom, right, top])
    link.Subtype = Name.Widget
    link.FT = Name.Sig
    link.T = name
    link.TU = label
    link.F = _PRINTED
    link.P = page.obj
    blank = Stream(pdf, b"")
    blank.Type = Name.XObject
    blank.Subtype = Name.Form
    blank.BBox = Array([0, 0, right - left, top - bottom])
    blank.Resources = Dictionary()
    link.AP = Dictionary(N=blank)
    element = NumberTree(pdf.Root.StructTreeRoot.ParentTree)[int(link.StructParent)]
    element.S = Name.Form
    # The reference itself and not a list of one (ISO 32000-1, table 323): pyHanko's difference
    # analysis knows a field by this form alone, and would condemn its filling otherwise.
    (element.K,) = element.K
