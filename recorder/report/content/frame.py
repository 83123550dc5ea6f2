"""What every document in the look of the report has: marks, the firm at its head, its feet."""

from __future__ import annotations

from recorder.model.base import Value
from recorder.report.content.text import Text


class Mark(Value):
    """A standing, decision, outcome or count: never by colour alone.

    kind: style class. sign: one glyph, or empty. word: what it means; always printed with the
    sign where a person must act.
    """

    kind: str
    sign: str
    word: Text


class Letterhead(Value):
    """firm, address: of the service firm. logo: address of its picture, or empty. colour: of rules,
    headings and the seam. second_colour: of the second thread of the seam.
    """

    firm: Text
    address: Text
    logo: str
    logo_alt: Text
    colour: str
    second_colour: str


class Document(Value):
    """What every document in the look of the report has.

    language: of the wording, BCP 47. paper: 'A4' or 'Letter'. title: of the document. foot: what
    stands at the foot of each page: the job, the program, and the words before, between and after
    the number of a page and that of all.
    replaced: which characters the typeface lacks, in words; empty when it has them all.
    """

    language: str
    paper: str
    title: Text
    foot: tuple[str, ...]
    letterhead: Letterhead
    replaced: Text = ""
