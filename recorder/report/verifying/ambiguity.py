"""What lets two readers find two documents in the same bytes, of which a signature proves one only.

A reader that finds no cross-reference where it looks for it searches the file for objects instead,
also inside of other ones; a reader of a linearised file (ISO 32000-1, annex F) looks for it at the
beginning. Which page such a reader shows is not what ``changes`` compares.
"""

from __future__ import annotations

import re
from collections import Counter

from recorder.report.verifying.pdf import Document
from recorder.report.verifying.reasons import Fault, Finding

# What this program writes at the end of a revision. Readers look for it from the end, and not all
# equally far.
_TAIL = re.compile(rb"startxref\n\d{1,10}\n%%EOF\n")
_BEGINNING = 1_024  # bytes in which readers look for the first object (ISO 32000-1, annex F.3.3)
_LINEARISED = b"/Linearized"
_ESCAPE = re.compile(rb"#([0-9A-Fa-f]{2})")  # in a name (ISO 32000-1, 7.3.5)
# Where a line or a token begins, and so not within the words of a string.
_OBJECT = re.compile(
    rb"(?:^|[\n\r<>\[\]{}%/])[\0\t\f ]*(\d{1,10})[\0\t\n\f\r ]+\d{1,5}[\0\t\n\f\r ]+obj"
)


def of_file(content: bytes, stops: tuple[int, ...]) -> tuple[Finding, ...]:
    """stops: where the revisions of the signatures end."""
    beginning = _ESCAPE.sub(lambda m: bytes([int(m[1], 16)]), content[:_BEGINNING])
    if _LINEARISED in beginning:
        return (Finding.of(Fault.AMBIGUOUS, "it is linearised"),)
    for stop in stops:
        tail = content.rfind(b"startxref", 0, stop)
        if tail < 0 or not _TAIL.fullmatch(content, tail, stop):
            return (Finding.of(Fault.AMBIGUOUS, "its end is not where every reader looks for it"),)
    return ()


def of_revision(content: bytes, first: int, document: Document) -> tuple[Finding, ...]:
    """document: of ``content``. first: where its last revision begins.

    Every object that stands there in words must be one of the cross-reference, and stand there
    once. The streams that this program writes are compressed.
    """
    there = Counter(int(number) for number in _OBJECT.findall(content, first))
    if max(there.values(), default=0) > 1 or not there.keys() <= document.written_numbers(first):
        return (Finding.of(Fault.AMBIGUOUS, "an object is hidden in another one"),)
    return ()
